"""Start, board, permit and picture: what they show, when, in whose time, and with how many questions."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils.timezone import now

from permits.people.models import Person
from permits.people.rules.roles import Role
from permits.plant.models import Tag
from permits.work.actions import perform
from permits.work.models import Permit
from permits.work.rules import commands as c
from tests.work.reading_pages import send, text_of

AREAS = "Danger areas"


@pytest.fixture
def odo(works, phone):
    return phone("odo")


# ── start ───────────────────────────────────────────────────────────────────────────────────────────────


def test_the_start_page_leads_everyone_to_their_own_next_step(job, phone):
    job.to("asked")
    assert "Issue the permit" in text_of(phone("szczesny").get("/"))
    assert "An issuer signs the permit out" in text_of(phone("odo").get("/"))
    assert "No open permit waits for you now." in text_of(phone("pia").get("/"))
    job.to("unlocked")
    assert "Confirm the areas clear" in text_of(phone("pia").get("/"))


def test_someone_without_work_sees_none(works, elsewhere):
    assert "No open permit waits for you now." in text_of(elsewhere(Role.TECHNICIAN).get("/"))


# ── board ───────────────────────────────────────────────────────────────────────────────────────────────


def test_the_board_shows_the_most_urgent_first(job, odo):
    job.to("live")
    rows = odo.get("/board/").context["rows"]
    assert [(row.id, row.state) for row in rows] == [(job.id, "live"), ("P-1", "dead")]
    assert rows[1].inside == ["Ελένη Δρυμώνα"]


def test_whose_time_is_over_with_people_inside_is_unsafe_and_first(job, odo, person):
    job.to("signed_on")
    Permit.objects.filter(reference=job.id).update(ends_at=now() - timedelta(minutes=1))
    answer = odo.get("/board/")
    first = answer.context["rows"][0]
    assert (first.id, first.state, first.word) == (job.id, "unsafe", "Expired with people inside")
    assert "time over since" in text_of(answer)


def test_the_board_of_a_site_without_permits_says_so(works, elsewhere):
    assert "No permit is open at this site." in text_of(elsewhere(Role.AUDITOR).get("/board/"))


def test_who_may_ask_is_offered_it_on_the_board(works, phone):
    assert "Ask for a permit" in text_of(phone("odo").get("/board/"))
    assert "Ask for a permit" not in text_of(phone("pia").get("/board/"))


# ── permit ──────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("stage", "shape", "word"),
    [
        ("asked", "info", "Requested"),
        ("issued", "info", "Issued, not accepted"),
        ("told", "unproven", "Not proven dead"),
        ("proven", "dead", "Proven dead"),
        ("begun", "unproven", "Before a test: keep out"),
        ("live", "live", "Under test: power may be on"),
        ("handed_back", "unproven", "Going back to service"),
        ("reenergised", "live", "Power is back, not signed closed"),
        ("closed", "over", "Closed"),
    ],
)
def test_the_band_says_the_state_in_one_line(job, odo, stage, shape, word):
    job.to(stage)
    band = f'<div class="band" data-state="{shape}">\\s*<p class="band-line"><span class="band-word">{word}<'
    assert re.search(band, odo.get(job.url).content.decode())


@pytest.mark.parametrize(
    ("stage", "shown"),
    [
        ("told", False), ("proven", False), ("signed_off", False), ("sanctioned", True), ("begun", True),
        ("live", True), ("handed_back", True), ("reenergised", False), ("closed", False),
    ],
)  # fmt: skip
def test_danger_areas_are_shown_only_where_power_comes_next(job, odo, stage, shown):
    job.to(stage)
    assert (AREAS in text_of(odo.get(job.url))) == shown
    rows = {row.id: row for row in odo.get("/board/").context["rows"]}
    assert bool(rows[job.id].areas if job.id in rows else ()) == shown


def test_an_area_says_who_confirmed_it_and_until_when(job, odo):
    job.to("cleared")
    page = text_of(odo.get(job.url))
    assert re.search(r"Crosscut outfeed Pía Lindqvall, good until \d\d:\d\d clear", page)


def test_a_permit_that_is_over_is_read_and_offers_nothing(job, odo):
    job.to("closed")
    answer = odo.get(job.url)
    assert "Also possible" not in text_of(answer)
    assert answer.context["choices"] == []


@pytest.mark.parametrize("path", ["", "picture/", "verify/", "verify/C1/", "issue/"])
def test_another_sites_permit_is_not_found(job, elsewhere, path):
    job.to("told")
    role = Role.ISSUER if path == "issue/" else Role.TECHNICIAN
    assert elsewhere(role).get(job.url + path).status_code == 404


def test_a_machine_that_the_plan_does_not_touch_has_no_test_page(job, odo):
    job.to("released")
    assert odo.get(f"{job.url}verify/P1/").status_code == 404
    assert odo.post(f"{job.url}try-start/-/", job.typed()).status_code == 404


def test_where_one_machine_is_concerned_it_need_not_be_chosen(job, odo):
    job.to("proven")
    assert odo.get(f"{job.url}verify/").url == f"{job.url}verify/C1/"
    assert odo.get(f"{job.url}try-start/").url == f"{job.url}try-start/C1/"


def test_the_picture_is_drawn_and_said(job, odo):
    job.to("proven")
    answer = odo.get(f"{job.url}picture/")
    assert answer.content.decode().count("<svg") == 4  # lying for desks, standing for phones; each legend
    said = "Cell main disconnector (=L3.C1+H3-QB1): locked, proven; lock O-1 of Odo Kestrelman"
    assert said in text_of(answer)


# ── the plant's time ────────────────────────────────────────────────────────────────────────────────────


def test_pages_show_the_time_at_the_plant(job, odo):
    job.to("asked")
    summer = datetime(2031, 7, 1, 14, 30, tzinfo=UTC)
    Permit.objects.filter(reference=job.id).update(ends_at=summer)
    assert "Until 15:30, 1 Jul." in text_of(odo.get(job.url))  # London is an hour ahead of UTC in July
    assert "until 15:30, 1 Jul" in text_of(odo.get("/board/"))


# ── how many questions a page asks ──────────────────────────────────────────────────────────────────────


def questions(client, url: str) -> int:
    with CaptureQueriesContext(connection) as asked:
        assert client.get(url).status_code == 200
    return len(asked)


def thirty_more(site) -> None:
    """Permits at work on every machine of the site."""
    odo = Person.objects.get(sign_in="odo")
    zones = ("P1-BED", "D1-BED", "K4-STACK", "C1-INFEED")
    for number in range(30):
        begins = now() - timedelta(minutes=5)
        command = c.RequestPermit(
            by=odo.ref, at=begins, zones=(zones[number % len(zones)],), kind_of_work="Repair",
            reason=f"Number {number}", starts_at=begins, ends_at=begins + timedelta(hours=4),
        )  # fmt: skip
        perform(site=site, command=command, by=odo.author)


@pytest.mark.parametrize("which", ["/", "/board/", "permit", "picture", "point", "issue", "plan"])
def test_a_page_asks_no_more_with_thirty_permits_open_than_with_two(job, odo, phone, which):
    job.to("asked" if which == "issue" else "proven")
    token = Tag.objects.get(node__code="C1-QB1", withdrawn_at=None).token
    url = {
        "permit": job.url,
        "picture": f"{job.url}picture/",
        "issue": f"{job.url}issue/",
        "point": f"/T/{token}",
        "plan": "/permits/new/C1/?show=plan&zones=C1-INFEED",
    }.get(which, which)
    client = phone("szczesny") if which == "issue" else odo
    client.get(url)
    few = questions(client, url)
    thirty_more(job.site)
    assert questions(client, url) == few
    assert few <= 34


def test_sending_a_form_asks_no_more_with_thirty_permits_open(job, odo):
    job.to("told")
    code = Tag.objects.get(node__code="C1-QB1", withdrawn_at=None).short_code
    fields = {"code": code, "padlock": "L-9", "tag": "T-9", "position": "off"}
    thirty_more(job.site)
    with CaptureQueriesContext(connection) as asked:
        assert send(odo, f"{job.url}lock/", **fields).status_code == 302
    assert len(asked) <= 110  # the page, its answer, and the command with its entry
