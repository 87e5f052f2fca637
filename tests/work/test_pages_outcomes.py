"""What the pages say after a step that went otherwise than hoped."""


import pytest
from django.utils.timezone import now

from permits.people.models import Person
from permits.plant.actions import save_link
from permits.plant.models import Tag
from permits.work.models import OutOfUse
from permits.work.rules import commands as c
from permits.work.rules.words import CHECK_ITEMS, Position
from tests.cast import PIN
from tests.work.every_form import readings
from tests.work.reading_pages import page_of, send, text_of
from tests.work.the_job import FREED, TheJob


@pytest.fixture
def odo(works, phone):
    return phone("odo")


def after(client, answer) -> str:
    """The page to which a step that was done leads."""
    assert answer.status_code == 302, text_of(answer)
    return text_of(client.get(answer.url))


# ── tests of points ─────────────────────────────────────────────────────────────────────────────────────


def test_the_last_reading_says_that_the_machine_is_proven_dead(job, odo):
    job.to("released")
    answer = send(odo, f"{job.url}verify/C1/", **readings(job))
    assert "Readings recorded. Proven dead: whoever is named may sign on." in after(odo, answer)


def test_a_reading_over_its_limit_is_recorded_and_called_what_it_is(job, odo):
    job.to("released")
    before = len(job.entries())
    page = after(odo, send(odo, f"{job.url}verify/C1/", **readings(job) | {"r_C1-QB1_0": "231,5"}))
    point = "=L3.C1+H3-QB1 Cell main disconnector"
    assert f"Look Over the limit at {point}. It is not dead: nobody goes in." in page
    assert "test failed" in page
    assert len(job.entries()) == before + 8
    again = page_of(odo.get(f"{job.url}verify/C1/"))
    assert again.text.index("Cell main disconnector") < again.text.index("Proven already: test again")


def test_a_point_that_is_only_half_measured_is_refused_with_what_lacks(job, odo):
    job.to("released")
    answer = send(
        odo,
        f"{job.url}verify/C1/",
        **{"r_C1-QB1_0": "0", "instrument": "VT-07", "proven_before": "on", "proven_after": "on"},
    )
    assert answer.status_code == 409
    page = page_of(answer)
    assert "Cell main disconnector: no reading of L1-L3, L1-PE, L2-L3, L2-PE, L3-PE." in page.text
    assert page.posts["r_C1-QB1_0"] == ["0"]
    assert page.posts["instrument"] == ["VT-07"]


def test_a_page_of_readings_that_is_sent_empty_says_so(job, odo):
    job.to("released")
    answer = send(odo, f"{job.url}verify/C1/", instrument="VT-07")
    assert answer.status_code == 422
    assert "No reading is entered; what the instrument shows at each point would be right." in text_of(answer)


def test_without_an_electrical_reading_no_tester_is_asked_for(job, odo):
    job.to("released")
    answer = send(odo, f"{job.url}verify/C1/", **{"r_C1-QM1_0": "0"})
    assert "Readings recorded." in after(odo, answer)


def test_readings_are_not_called_optional(job, odo):
    job.to("released")
    html = odo.get(f"{job.url}verify/C1/").content.decode()
    from django.conf import settings

    css = (settings.BASE / "permits/static/form.css").read_text(encoding="utf-8")
    assert ".readings .optional" in css
    assert "display: none" in css[css.index(".readings .optional") :][:80]
    assert "Number on the voltage tester" in html


def test_a_store_that_runs_down_is_named_and_its_reading_is_not_asked_for(job, odo):
    job.to("locked")
    job.at = now()
    for n, point in enumerate(job.planned("release")):
        lock = {"padlock": f"N-{n}", "tag": f"T-{n}"}
        job.do(c.ReleaseStore, "odo", minutes=0, point=point, method="as on its plate", **lock)
    page = page_of(odo.get(f"{job.url}verify/C1/"))
    bus = job.look().permit.points.index("C1-CDC")
    assert "Still running down, to be tested later: =L3.C1+H7-CA1 Drive DC bus" in page.text
    assert f"r{bus}_0" not in page.posts


def test_controls_that_start_something_are_called_what_they_are(job, odo):
    job.to("released")
    told = {"nobody_in_reach": "on", "controls_live": "on", "back_to_neutral": "on", "result": "moved"}
    page = after(odo, send(odo, f"{job.url}try-start/C1/", **told))
    assert "Something started: it is not dead. Nobody goes in." in page


# ── others ──────────────────────────────────────────────────────────────────────────────────────────────


def test_a_lock_that_ends_anothers_test_says_so(job, phone):
    job.to("live")
    job.at = now()
    second = TheJob(job.site, begins=job.at)
    second.id = job.another("C1-INFEED")
    ruben, odo = Person.objects.get(sign_in="ruben").ref, Person.objects.get(sign_in="odo").ref
    second.at = job.at
    second.do(c.IssuePermit, "szczesny", minutes=0, holder=ruben, coordinator=odo)
    known = {"knows_energies": True, "knows_hazards": True, "knows_control": True}
    second.do(c.AcceptPermit, "ruben", minutes=0, **known)
    second.do(c.TellAffected, "ruben", minutes=0, whom="operators", how="by radio")
    point = second.planned("lock")[0]
    assert point in FREED
    url = f"/permits/{second.id}/lock/?code={Tag.objects.get(node__code=point, withdrawn_at=None).token}"
    client = phone("ruben")
    answer = send(client, url, padlock="R-1", tag="T-99", position="off")
    assert f"Locked. That ended the test of {job.id}." in after(client, answer)


def test_crew_inside_an_unproven_machine_are_called_out_by_name_with_the_path(job, odo):
    job.to("signed_on")
    maud = Person.objects.get(sign_in="maud").author
    save_link(site=job.site, link={"from": "B3-BAR", "to": "C1-RAIL"}, by=maud, at=now())
    page = text_of(odo.get(job.url))
    assert "Come out: not proven dead" in page
    assert "Come out now" in page
    assert "Odo Kestrelman" in page
    assert "How energy reaches people" in odo.get(job.url).content.decode()


def test_a_defect_is_described_or_the_check_is_refused(job, odo):
    job.to("signed_on")
    found = {item: "in order" for item, _ in CHECK_ITEMS} | {"wear": "defect"}
    answer = send(odo, f"{job.url}check/", **found)
    assert answer.status_code == 409
    assert "Wear of jaws, spikes and rollers: the defect is not described." in text_of(answer)
    assert page_of(answer).posts["wear"] == ["defect"]


LOOSE = "Cables, sensors, loose wires: loose plug at the encoder"


def test_the_check_lists_what_an_earlier_permit_left_open_and_ends_it(job, odo):
    OutOfUse.objects.create(
        site=job.site, machine="C1", permit="P-0", axes=["angle"], defects=[LOOSE], any_axis=False
    )
    job.to("signed_on")
    page = text_of(odo.get(f"{job.url}check/"))
    assert f"Look at these again {LOOSE} (C1, left by P-0) What is still wrong is entered below" in page
    found = {item: "in order" for item, _ in CHECK_ITEMS} | {"wear": "defect"}
    assert "Look at these again" in text_of(send(odo, f"{job.url}check/", **found))  # refused: not described
    found |= {"wear": "in order"}
    after(odo, send(odo, f"{job.url}check/", **found))
    assert "Look at these again" not in text_of(odo.get(f"{job.url}check/"))
    left = OutOfUse.objects.get()
    assert (left.axes, left.defects) == (["angle"], [])


def test_a_check_with_nothing_left_to_look_at_lists_nothing(job, odo):
    OutOfUse.objects.create(
        site=job.site, machine="C1", permit="P-0", axes=["angle"], defects=[], any_axis=False
    )
    job.to("signed_on")
    assert "Look at these again" not in text_of(odo.get(f"{job.url}check/"))


def test_an_officer_accepts_a_defect_and_a_technician_cannot(job, odo, phone):
    job.finds = "feed roller worn"
    job.to("checked")
    said = {"defect": "0", "ended": "accepted", "how": "runs until Friday"}
    refused = send(odo, f"{job.url}defects/", **said)
    assert refused.status_code == 409
    assert "Odo Kestrelman has not the role to accept a defect." in text_of(refused)
    maud = phone("maud")
    assert "Recorded." in after(maud, send(maud, f"{job.url}defects/", **said))
    assert job.look().permit.open_defects == ()


def test_what_is_still_open_is_listed_before_the_hand_back(job, odo):
    job.finds = "feed roller worn"
    job.to("checked")
    page = text_of(odo.get(f"{job.url}hand-back/"))
    assert "Still open Defect 1 is open: Wear of jaws, spikes and rollers: feed roller worn" in page


def test_both_signatures_close_the_permit_and_each_is_told_where_it_stands(job, odo, phone):
    job.to("reenergised")
    assert "Signed. The other signature closes it." in after(
        odo, send(odo, f"{job.url}close/", pin=PIN["odo"])
    )
    issuer = phone("szczesny")
    answer = send(issuer, f"{job.url}close/", pin=PIN["szczesny"])
    assert "Signed. The permit is closed." in after(issuer, answer)


def test_ones_own_locks_come_first_and_others_are_named(job, phone):
    job.to("told")
    for n, point in enumerate(job.planned("lock")):
        lock = {"padlock": f"X-{n}", "tag": f"T-{n}", "position": Position.OFF}
        job.do(c.ApplyLock, "wim" if n == 2 else "odo", point=point, **lock)
    job.stage = "locked"
    job.to("handed_back")
    answer = phone("wim").get(f"{job.url}remove-locks/")
    page = page_of(answer)
    assert page.offers["points"][0] == job.planned("lock")[2]
    assert "Cell main disconnector (Odo Kestrelman)" in page.text
    assert "Cell controls tie switch (Wim Ottergaard)" not in page.text
    assert "Cell controls tie switch" in page.text


def test_power_comes_back_point_by_point_in_the_reverse_order(job, odo):
    job.to("cleared_again")
    page = text_of(odo.get(f"{job.url}re-energise/"))
    names = [job.look().site.graph.name(point) for point in job.planned("lock")]
    assert sorted(names, key=page.index) == names[::-1]
