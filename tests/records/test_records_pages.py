"""The auditor's pages: what is found, what stands first, what is said of bad input, how many queries."""

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from permits.ledger.models import Entry
from permits.records import queries
from permits.records.queries import A_PAGE, Wanted
from permits.work.actions import perform
from permits.work.rules import commands as c
from tests.records import job as jobs

pytestmark = pytest.mark.django_db


@pytest.fixture
def auditor(darya, signed_in):
    return signed_in(darya)


@pytest.fixture
def three(job):
    """P-1 at the crosscut cell, with readings taken too early; P-2 asked for the press; P-3 cancelled."""
    jobs.accepted(job).lock_up(typed="C1-QB1").verify(wait=1)
    other = jobs.Job(job.site, job.at(), holder="ruben", crew=())
    other.ask(("P1-BED",), reason="Oil at the cylinder")
    third = jobs.Job(job.site, other.at(), holder="eleni", crew=())
    third.ask(("K4-STACK",), reason="Fork is bent")
    third.do(c.CancelPermit, "eleni", why="Parts are not here")
    return job


def references(site, **wanted):
    return [row.reference for row in queries.search(site, Wanted(**wanted), 1).rows]


def text_of(answer):
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


# ── search ──────────────────────────────────────────────────────────────────────────────────────────────


def test_permits_with_exceptions_come_first_then_the_newest(three):
    assert references(three.site) == ["P-1", "P-3", "P-2"]
    rows = queries.search(three.site, Wanted(), 1).rows
    assert [row.exceptions for row in rows] == [2, 0, 0]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("p-2", ["P-2"]),
        ("OIL cylinder", ["P-2"]),
        ("saw chamber", ["P-1"]),  # a zone
        ("=L3.P1", ["P-2"]),  # a designation
        ("stacker", ["P-3"]),  # a machine
        ("ελένη", ["P-1", "P-3"]),  # crew of one, holder of the other
        ("szczęsny", ["P-1"]),  # who issued it
        ("kestrelman calibration", ["P-1"]),
        ("kestrelman oil", []),
    ],
)
def test_words_are_found_in_number_reason_machine_zone_and_people(three, text, expected):
    assert references(three.site, text=text) == expected


def test_someone_who_only_acted_under_a_permit_is_found(job):
    jobs.checked(job).sanction().begin().free().clear("pia")
    assert references(job.site, text="lindqvall") == ["P-1"]


def test_phase_time_and_exceptions_narrow_the_list(three):
    site, day = three.site, three.site.day_of(three.start)
    assert references(site, phase="cancelled") == ["P-3"]
    assert references(site, only_exceptions=True) == ["P-1"]
    assert references(site, since=day, until=day) == ["P-1", "P-3", "P-2"]
    assert references(site, until=day - timedelta(days=1)) == []
    assert references(site, since=day + timedelta(days=1)) == ["P-1", "P-2"]  # still open then; P-3 is over


def test_the_search_page_says_what_it_found(three, auditor):
    answer = auditor.get("/records/", {"text": "oil"})
    assert answer.status_code == 200
    assert "1 permit" in text_of(answer)
    assert 'href="/records/P-2/"' in answer.content.decode()
    assert "No permit fits" in text_of(auditor.get("/records/", {"text": "no such words"}))


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ({"since": "soon"}, "“soon” is no date; a day such as 2026-11-25 would be right."),
        ({"since": "2026-11-26", "until": "2026-11-25"}, "The last day is before the first"),
        ({"phase": "asleep"}, "There is no phase “asleep”; one of the list would be right."),
    ],
)
def test_bad_filters_are_named(query, words, plant, auditor):
    answer = auditor.get("/records/", query)
    assert answer.status_code == 422
    assert words in text_of(answer)


def ask_for(site, job, count):
    for _ in range(count):
        at = job.next()
        command = c.RequestPermit(
            by=job.ref("odo"), at=at, zones=("P1-BED",), kind_of_work="Repair", reason="Oil", starts_at=at,
            ends_at=at + timedelta(hours=1),
        )  # fmt: skip
        perform(site=site, command=command, by=job.people["odo"].author)


def test_the_list_is_paged_and_keeps_its_filters(job, auditor):
    ask_for(job.site, job, A_PAGE + 1)
    page = auditor.get("/records/", {"text": "oil"}).content.decode()
    assert f"{A_PAGE + 1} permits" in page
    assert "?text=oil&amp;page=2" in page
    last = text_of(auditor.get("/records/", {"text": "oil", "page": "99"}))
    assert "Page 2 of 2" in last
    assert "Page 1 of 2" in text_of(auditor.get("/records/", {"page": "minus one"}))


def test_the_number_of_queries_does_not_grow_with_the_permits(job, auditor):
    def asked():
        with CaptureQueriesContext(
            connection,
        ) as caught:
            assert auditor.get("/records/", {"text": "odo"}).status_code == 200
        return len(caught)

    ask_for(job.site, job, 1)
    asked()
    ask_for(job.site, job, 1)
    few = asked()
    ask_for(job.site, job, 48)
    assert asked() <= few <= 14


# ── one permit ──────────────────────────────────────────────────────────────────────────────────────────


def test_the_story_page_has_everything_and_exceptions_first(job, auditor):
    jobs.closed_with_exceptions(job)
    with CaptureQueriesContext(connection) as caught:
        answer = auditor.get("/records/P-1/")
    assert len(caught) <= 21
    page, words = answer.content.decode(), text_of(answer)
    assert words.index("Test failed") < words.index("Scope") < words.index("From the first entry to the last")
    for expected in (
        "P-1 Calibration: Boards come out too long",
        "Signed: თამარ ველისციხელი closes the permit",
        "Wim Ottergaard signed on: padlock 202 on the group box",
        "Energy picture",
        "As it was last proven dead: entry",
        "Length, long system: readings",
        "AGAINST THE READINGS: The joiner wants them longer",
        "accepted as it is by Maud Ferrisdale",
        "Cycle 2 begun",
    ):
        assert expected in words, expected
    last = Entry.objects.filter(head=job.site.head_id, about="permit:P-1").latest("number")
    assert last.digest in words
    assert "<svg" in page
    assert 'href="/records/P-1/record.pdf?paper=A4"' in page
    assert 'href="/records/P-1/entries.json"' in page


def test_an_open_permit_says_so_and_leads_to_its_own_page(job, odo, signed_in):
    jobs.accepted(job).lock_up()
    answer = signed_in(odo).get("/records/P-1/")
    assert "The open permit" in text_of(answer)
    assert "Not proven dead" in text_of(answer)


def test_text_of_people_is_never_markup(job, auditor):
    job.ask(reason="<script>alert(1)</script> & <b>bold</b>").issue()
    page = auditor.get("/records/P-1/").content.decode()
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp; &lt;b&gt;bold" in page
    assert "<script>alert" not in page


def test_an_unknown_permit_is_not_found(plant, auditor):
    for path in ("/records/P-9/", "/records/P-9/record.pdf", "/records/P-9/entries.json"):
        assert auditor.get(path).status_code == 404


@pytest.mark.parametrize(("paper", "width"), [("A4", 595), ("letter", 612)])
def test_the_print_comes_on_the_paper_that_was_asked_for(job, auditor, paper, width):
    jobs.accepted(job)
    answer = auditor.get("/records/P-1/record.pdf", {"paper": paper})
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'inline; filename="QUILLFEN-P-1.pdf"'
    assert re.search(rb"/MediaBox \[ 0 0 (\d+)", answer.content)[1] == str(width).encode()


def test_unknown_paper_is_named(job, auditor):
    jobs.accepted(job)
    answer = auditor.get("/records/P-1/record.pdf", {"paper": "A3"})
    assert (answer.status_code, answer.content.decode()) == (
        400,
        "There is no paper “A3” here; A4 or Letter would be right.",
    )


# ── exceptions and the ledger ───────────────────────────────────────────────────────────────────────────


def test_the_sites_exceptions_newest_first_by_kind_and_day(job, auditor):
    jobs.closed_with_exceptions(job)
    page = text_of(auditor.get("/records/exceptions/"))
    assert "10 exceptions" in page
    assert page.index("Result not good") < page.index("Defect accepted") < page.index("Test failed")
    only = text_of(auditor.get("/records/exceptions/", {"kind": "failed-test"}))
    assert "1 exception" in only
    assert "Ελένη Δρυμώνα tested =L3.C1+H7-QB3 Cell controls tie switch: FAILED" in only
    before = (job.site.day_of(job.start) - timedelta(days=1)).isoformat()
    assert "No exception is recorded" in text_of(auditor.get("/records/exceptions/", {"until": before}))
    assert auditor.get("/records/exceptions/", {"kind": "rain"}).status_code == 422


def test_the_ledger_is_verified_only_when_asked(job, auditor):
    jobs.accepted(job)
    job.site.head.refresh_from_db()
    plain = text_of(auditor.get("/records/ledger/"))
    assert job.site.head.digest in plain
    assert "Verify every entry now" in plain
    assert f"{job.site.head.number} entries were read" in text_of(auditor.get("/records/ledger/?verify=1"))


def test_a_changed_ledger_is_said_to_be_changed(job, auditor, owner):
    jobs.accepted(job)
    entry = Entry.objects.get(head=job.site.head_id, kind="PERMIT_ACCEPTED")
    Entry.objects.filter(pk=entry.pk).update(body=entry.body.replace("knows", "knew"))
    page = text_of(auditor.get("/records/ledger/?verify=1"))
    assert f"Entry {entry.number}: it was changed" in page
    assert "not to be trusted" in page


def test_each_entry_number_says_what_it_is_and_leads_to_the_entry(job, auditor):
    jobs.accepted(job).lock_up().verify(wait=1)
    listed = auditor.get("/records/exceptions/").content.decode()
    leads = re.search(rf'<a href="(/records/{job.permit}/#(entry-\d+))">entry (\d+)</a>', listed)
    assert leads.group(2) == f"entry-{leads.group(3)}"
    story = auditor.get(leads.group(1).partition("#")[0]).content.decode()
    assert f'id="{leads.group(2)}"' in story
    shown = re.findall(r'<div class="story-number">(.*?)</div>', story)
    assert shown
    assert all(re.fullmatch(r'<a href="#entry-(\d+)">entry \1</a>', one) for one in shown)
