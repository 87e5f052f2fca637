"""The pages at a point that takes a tag and no lock: what they say and ask, and what stops the permit."""

import json
from datetime import timedelta
from io import BytesIO
from uuid import uuid4

import pypdf
import pytest
from django.urls import reverse
from django.utils.timezone import now

from permits.ledger.models import Entry
from permits.plant.actions import save_demands, save_node
from permits.plant.models import Tag
from permits.plant.rules.codes import shown
from permits.plant.rules.noderows import write_node
from permits.plant.store import plant_file_of
from permits.work.models import Lock
from permits.work.rules import commands as c
from permits.work.rules.words import Phase, Position
from tests.factories_plant import CLERK
from tests.work.reading_pages import filled, page_of, send, text_of

STANDBY = "C1-QB2"
MEASURE = "Pull fuse holder F3 and keep it in the tool crib."
WAS_DONE = "Fuse holder F3 pulled, in the tool crib"


@pytest.fixture
def tags_taken(works):
    """The plant before the job: a tag may stand for a lock, and the standby feed takes nothing else."""
    at = now() - timedelta(minutes=160)
    save_demands(site=works, demands={}, tag_out=True, by=CLERK, at=at)
    tag_only = {"lockable": False, "tag_only": {"measure": MEASURE}}
    node = write_node(plant_file_of(works).graph[STANDBY]) | tag_only
    save_node(site=works, node=node, by=CLERK, at=at)
    return works


@pytest.fixture
def tagged(tags_taken, job):
    """The job, accepted and told, at a plant whose standby feed takes a tag; every lock before it is on."""
    job.to("told")
    before = job.planned("lock")[: job.planned("lock").index(STANDBY)]
    for number, point in enumerate(before, 1):
        job.do(
            c.ApplyLock, "odo", point=point, padlock=f"L-{number}", tag=f"D-{number}", position=Position.OFF
        )
    return job


@pytest.fixture
def plate():
    return Tag.objects.get(node__code=STANDBY, withdrawn_at=None)


def hanging(job):
    return Lock.objects.filter(permit=job.row, where=STANDBY, removed_at=None)


# ── at the point ────────────────────────────────────────────────────────────────────────────────────────


def test_the_points_page_says_that_it_takes_a_tag_and_what_else_is_done(tagged, plate, phone):
    answer = phone("odo").get(f"/T/{plate.token}")
    page = text_of(answer)
    assert "Takes a tag, not a lock" in page
    assert f"Do this as well: {MEASURE}" in page
    assert "Not tagged: take it as live" in page
    assert answer.context["step"].title.startswith("Tag ")


def test_the_form_asks_for_the_tags_number_and_the_measure_there_only(tagged, plate, phone, works):
    page = page_of(phone("odo").get(f"{tagged.url}lock/?code={plate.token}"))
    assert "Number on my danger tag" in page.text
    assert f"Do this as well: {MEASURE}" in page.text
    assert "measure_done" in page.posts
    assert "tag" not in page.posts
    other = Tag.objects.get(site=works, node__code="C1-QB1", withdrawn_at=None)
    page = page_of(phone("odo").get(f"{tagged.url}lock/?code={other.token}"))
    assert "Number on my padlock" in page.text
    assert "tag" in page.posts
    assert "measure_done" not in page.posts


def test_a_tag_without_its_measure_is_refused_and_what_was_typed_stays(tagged, plate, phone):
    url = f"{tagged.url}lock/?code={plate.token}"
    answer = send(phone("odo"), url, padlock="7301", position="off", measure_done="  ")
    assert answer.status_code == 422
    assert f"The plant demands: {MEASURE}" in text_of(answer)
    assert page_of(answer).posts["padlock"] == ["7301"]
    assert not hanging(tagged)


def test_a_tag_with_its_measure_is_recorded_and_shown(tagged, plate, phone):
    url = f"{tagged.url}lock/?code={plate.token}"
    answer = send(phone("odo"), url, padlock="7301", position="off", measure_done=WAS_DONE)
    assert answer.status_code == 302
    [row] = hanging(tagged)
    assert (row.padlock, row.tag, row.measure_done) == ("7301", "7301", WAS_DONE)
    assert f"a tag, no lock. Done besides: {WAS_DONE}" in text_of(phone("odo").get(tagged.url))
    at_point = text_of(phone("pia").get(f"/T/{plate.token}"))
    assert "Tagged, not proven dead" in at_point
    assert f"Done besides: {WAS_DONE}" in at_point


def test_the_same_by_the_short_code_typed_by_hand(tagged, plate, phone):
    typed = {"code": shown(plate.short_code), "padlock": "7301", "position": "off"}
    data = filled(phone("odo"), f"{tagged.url}lock/", **typed)
    data.pop("measure_done", None)  # a page that was opened before the point was known
    answer = phone("odo").post(f"{tagged.url}lock/", data)
    assert answer.status_code == 422
    assert f"The plant demands: {MEASURE}" in text_of(answer)
    answer = phone("odo").post(f"{tagged.url}lock/", data | {"measure_done": WAS_DONE})
    assert answer.status_code == 302
    assert hanging(tagged).get().typed


def test_a_wrong_code_is_still_said_where_a_tag_is_expected(tagged, phone):
    data = filled(phone("odo"), f"{tagged.url}lock/", code="no such", padlock="7301", position="off")
    answer = phone("odo").post(f"{tagged.url}lock/", data | {"measure_done": WAS_DONE})
    assert answer.status_code == 422
    assert "code" in answer.context["form"].errors
    assert not hanging(tagged)


# ── under the permit ────────────────────────────────────────────────────────────────────────────────────


@pytest.fixture
def isolated(tags_taken, job):
    """The same job, proven dead with a tag at the standby feed."""
    return job.to("signed_on")


def test_the_plan_before_it_is_signed_names_the_tag_and_its_measure(tags_taken, job, phone):
    job.to("issued")
    page = text_of(phone("odo").get(f"{job.url}accept/"))
    assert f"Takes a tag, not a lock. Do this as well: {MEASURE}" in page


def test_a_permit_with_a_tag_comes_through_to_isolated(isolated):
    assert isolated.row.phase == Phase.ISOLATED
    assert hanging(isolated).get().measure_done == f"Done: {MEASURE}"


def test_switching_tags_off_stops_the_permit_and_calls_its_crew_out(isolated, works, phone):
    answer = phone("maud").post(reverse("plant:demands"), {"key": str(uuid4())})  # unticked
    assert answer.status_code == 302
    assert isolated.row.phase == Phase.ISOLATING
    entry = Entry.objects.filter(head=works.head_id, kind="ISOLATION_LOST").latest("number")
    lost = json.loads(entry.body)["data"]
    assert "Cell standby feed disconnector" in lost["path"]
    assert len(lost["crew"]) == 1
    assert "Come out: not proven dead" in text_of(phone("odo").get(isolated.url))
    assert phone("maud").post(reverse("plant:demands"), {"key": str(uuid4()), "tag_out": "on"}).url
    assert isolated.row.phase == Phase.ISOLATING  # it is proven again by tests, not by a switch


def test_the_record_shows_the_exception_and_what_was_done(isolated, phone):
    story = text_of(phone("maud").get(reverse("records:story", args=[isolated.id])))
    assert "a tag stood for a lock" in story
    assert f"Done besides: Done: {MEASURE}" in story
    site_wide = text_of(phone("maud").get(reverse("records:exceptions")))
    assert "a tag stood for a lock" in site_wide.lower()
    assert isolated.id in site_wide


def test_the_printed_record_shows_it_too(isolated, phone):
    pdf = phone("maud").get(reverse("records:pdf", args=[isolated.id]))
    pages = (page.extract_text() for page in pypdf.PdfReader(BytesIO(pdf.content)).pages)
    words = " ".join(" ".join(pages).replace("\u00a0", " ").split())
    assert "a tag stood for a lock" in words
    assert "a tag, no lock. Done besides" in words
    assert "which takes no lock, with danger tag" in words
