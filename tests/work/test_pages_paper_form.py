"""The printed form at its address: who gets one, when there is none, and that asking writes nothing."""

import re
from io import BytesIO

import pypdf
import pytest

from permits.people.rules.roles import Role
from permits.plant.models import Machine, Procedure
from tests.work.reading_pages import text_of

BLANK = "/machines/C1/paper/"


def words_of(answer):
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    pages = pypdf.PdfReader(BytesIO(answer.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).replace("\u00a0", " ").split())


@pytest.mark.parametrize("sign_in", ["odo", "szczesny", "maud", "pia"])
def test_anyone_of_the_site_gets_the_form_and_nothing_is_written(job, phone, sign_in):
    job.to("signed_on")
    before, row = len(job.entries()), job.row.last_entry
    words = words_of(phone(sign_in).get(f"{job.url}paper/"))
    assert len(job.entries()) == before
    assert job.row.last_entry == row
    assert f"At entry {before}" in words
    assert re.search(rf"Form {job.id}/\d{{4}}-\d\d-\d\d-\d{{4}}", words)


@pytest.mark.parametrize("stage", ["asked", "told", "released", "signed_on", "live", "handed_back"])
def test_there_is_one_at_every_stage_of_a_permit(job, phone, stage):
    job.to(stage)
    words = words_of(phone("odo").get(f"{job.url}paper/"))
    assert "Anything not written on this form has not happened." in words
    assert ("Issuer: plan and procedure are right" in words) == (stage == "asked")


def test_its_plates_are_those_that_hang_at_the_points(job, phone):
    job.to("told")
    answer = phone("odo").get(f"{job.url}paper/")
    assert len(re.findall(r"Plate [0-9A-Z]{3}-[0-9A-Z]{3}-[0-9A-Z]\b", words_of(answer))) >= 4
    assert "none issued" not in words_of(answer)


def test_a_permit_that_is_over_has_none_and_says_what_would_be_right(job, phone):
    job.to("closed")
    answer = phone("odo").get(f"{job.url}paper/")
    assert answer.status_code == 409
    assert f"{job.id} is closed: there is nothing to carry on with." in text_of(answer)
    assert "Paper form" not in text_of(phone("odo").get(job.url))


def test_nothing_is_posted_to_it(job, phone):
    job.to("told")
    assert phone("odo").post(f"{job.url}paper/").status_code == 405
    assert phone("odo").post(BLANK).status_code == 405


def test_another_sites_permit_and_machine_are_not_found(job, elsewhere):
    job.to("told")
    assert elsewhere(Role.TECHNICIAN).get(f"{job.url}paper/").status_code == 404
    assert elsewhere(Role.TECHNICIAN).get(BLANK).status_code == 404


def test_a_machine_has_a_blank_one_by_its_approved_procedure(works, phone):
    words = words_of(phone("odo").get(BLANK))
    procedure = Procedure.objects.get(machine__site=works, machine__code="C1", state="approved")
    assert f"revision {procedure.revision}" in words
    steps = [step for step in procedure.order if step["do"] in ("lock", "release")]
    assert len(re.findall(r"\bPlate [0-9A-Z]{3}-[0-9A-Z]{3}-[0-9A-Z]\b", words)) == 2 * len(steps)
    assert "Permit number, once the server is back" in words


def test_a_procedure_that_no_longer_holds_gives_none(works, phone):
    found = Procedure.objects.filter(machine__site=works, machine__code="C1", state="approved")
    found.update(flaws=[{"id": "C1-CHAMBER", "path": []}])
    answer = phone("odo").get(BLANK)
    assert answer.status_code == 409
    assert "procedure no longer holds: the plant has changed since." in text_of(answer)


def test_a_machine_without_a_procedure_has_none(works, phone):
    machine = Machine.objects.create(site=works, code="X/9", name="Bare machine")
    answer = phone("odo").get("/machines/X~19/paper/")
    assert answer.status_code == 409
    assert f"{machine.name} has no approved procedure" in text_of(answer)


def test_the_pages_lead_to_it(job, phone):
    job.to("told")
    assert f'href="{job.url}paper/"' in phone("odo").get(job.url).content.decode()
    assert f'href="{BLANK}"' in phone("odo").get("/machines/C1/").content.decode()
    assert "Paper form (PDF)" in text_of(phone("maud").get("/whole-site/"))
