"""One permit on paper: all of it, in any script, with embedded fonts, page by page, always the same bytes."""

import dataclasses
import re
from io import BytesIO

import pypdf
import pypdfium2
import pytest
import zxingcpp

from permits.plant.prints.page import Paper
from permits.records import listings
from permits.records.exceptions import What
from permits.records.picture import scene_of
from permits.records.prints.record import OPEN, Print, record
from permits.records.statements import SignatureRow, WordRow
from permits.records.story import Raised, Story, StoryLine, story_of
from permits.records.times import Clock
from tests.records import job as jobs
from tests.records.entries import SEVEN

LEADS_TO = "https://permits.quillfen.example/records/P-1/"


def printed(story, scene=None, *, paper=Paper.A4, at=SEVEN):
    return record(story, scene, Print(paper, at, LEADS_TO))


def pages_of(pdf):
    return [page.extract_text() for page in pypdf.PdfReader(BytesIO(pdf)).pages]


def plain(text):
    return " ".join(text.replace("\u00a0", " ").split())


def fonts_of(pdf):
    for page in pypdf.PdfReader(BytesIO(pdf)).pages:
        yield from (font.get_object() for font in page["/Resources"].get("/Font", {}).values())


# ── a real job ──────────────────────────────────────────────────────────────────────────────────────────


@pytest.fixture
def told(job):
    story = story_of(job.site, jobs.closed_with_exceptions(job).permit, job.at())
    return story, scene_of(job.site, story)


@pytest.mark.django_db
def test_an_auditor_finds_everything_on_paper(told):
    story, scene = told
    pages = pages_of(printed(story, scene))
    words = plain(" ".join(pages))
    assert len(story.lines) > 60
    for expected in (
        "Permit P-1",
        "Quillfen Panel Works",
        "State: Closed.",
        "Crosscut infeed =L3.C1+Z1, Saw chamber =L3.C1+Z2 and Crosscut outfeed =L3.C1+Z3",
        "Procedure C1 Crosscut cell, revision 1 (approved",
        "10 exceptions, gravest first",
        "on another's device",
        "Energy picture",
        "cut off, proven",
        "Locks on points",
        "Stored energy released",
        "L1-L2: 0, L1-L3: 0,",
        "limit 50 V",
        "FAILED",
        "followed by entry",
        "Crew in the zones",
        "DEFECT: Splinter under the pusher",
        "mended by Odo Kestrelman",
        "accepted as it is by Maud Ferrisdale",
        "by radio, seen by Wim Ottergaard",
        "Cycle 1 begun",
        "AGAINST THE READINGS: The joiner wants them longer",
        "FURTHER OUT THAN IT WAS FOUND.",
        "GOES BACK on the change that made it worse.",
        "STRUCK OUT: Typed a nought too many",
        "Pre-check",
        "cell-2026-11-25-after.bak",
        "hands the machine back: whole, guarded, tools and people out",
        "Hand-back and end",
        f"Entries {story.first} to {story.last} of ledger QUILLFEN, in their order",
        story.last_digest,
        "A permit does not make a job safe by itself.",
    ):
        assert expected in words, expected
    for name in ("Ελένη Δρυμώνα", "თამარ ველისციხელი", "Szczęsny Żurawicki", "Pía Lindqvall"):
        assert name in words, name
    for line in story.lines:
        assert line.digest[:16] in words


@pytest.mark.django_db
def test_every_page_says_which_it_is_what_it_rests_on_and_where_it_leads(told):
    story, scene = told
    pdf = printed(story, scene, paper=Paper.LETTER)
    pages = pages_of(pdf)
    for number, words in enumerate(pages, start=1):
        assert f"Page {number} of {len(pages)} · {story.entries}" in plain(words)
        assert LEADS_TO in words
        assert "Permit P-1" in words
    document = pypdfium2.PdfDocument(pdf)
    for page in (document[0], document[len(document) - 1]):
        [code] = zxingcpp.read_barcodes(page.render(scale=3).to_pil())
        assert code.text == LEADS_TO


@pytest.mark.django_db
def test_the_same_story_gives_the_same_bytes_and_only_embedded_fonts(told, job):
    story, scene = told
    pdf = printed(story, scene)
    again = story_of(job.site, job.permit, job.at())
    assert pdf == printed(again, scene_of(job.site, again))
    fonts = list(fonts_of(pdf))
    assert fonts
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts)


@pytest.mark.django_db
def test_an_open_permit_is_marked_on_every_page(job):
    jobs.accepted(job).lock_up()
    story = story_of(job.site, job.permit, job.at())
    pages = pages_of(printed(story, scene_of(job.site, story)))
    assert all(f"Permit P-1, {OPEN}" in plain(words) for words in pages)
    assert "Not proven dead. What came after is not on here." in plain(pages[0])
    assert "STILL ON" in " ".join(pages)
    assert "None is recorded." in plain(pages[0])


# ── texts that make trouble ─────────────────────────────────────────────────────────────────────────────

HOSTILE = "<b>&amp;</b> & </para> <font name='x'> 100% {braces}"
ENDLESS = "W" * 500
HEBREW = "שלום כהן"
ARABIC = "محمد بن علي"


def made_up(**fields):
    """A story that needs no database."""
    clock = Clock.of(SEVEN.tzinfo, "UTC", [SEVEN])
    line = StoryLine(
        7, SEVEN, clock.full(SEVEN), "PERMIT_REQUESTED", "Someone asked", "", "Odo", "", "", "", "ab" * 32
    )
    whole = {
        "site": "Works", "ledger": "WORKS", "reference": "P-1", "title": "Repair", "state": "over",
        "word": "Closed", "is_over": True, "clock": clock, "facts": [("Work", "Repair")], "hazards": [],
        "others": [], "people": [], "lines": [line], "exceptions": [], "notes": [], "around": [],
    } | fields  # fmt: skip
    return Story(**whole)


def line_of(story, **fields):
    return dataclasses.replace(story.lines[0], **fields)


def test_markup_endless_words_and_other_directions_are_printed_as_they_stand():
    words = f"{HOSTILE} {ENDLESS} {HEBREW} {ARABIC}\nsecond line"
    story = made_up(
        facts=[("Work", words), (HOSTILE, ENDLESS)],
        hazards=[("C1", words)],
        people=[(HEBREW, words)],
        exceptions=[Raised(What.FAILED_TEST, "test failed", 7, "P-1", "now", words, words)],
        notices=[WordRow(SEVEN, ARABIC, words, words, "7")],
        signatures=[SignatureRow(HEBREW, words, SEVEN, 7, ENDLESS)],
    )
    pdf = printed(story)
    found = "".join("".join(pages_of(pdf)).split())
    assert "".join(HOSTILE.split()) in found
    assert found.count("W" * 20) > 10
    assert found.count("W") >= 500 * 9
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts_of(pdf))


def test_a_sentence_that_begins_with_a_name_from_right_to_left_reads_on_from_left_to_right():
    story = made_up()
    lines = [line_of(story, what=f"{HEBREW} locked Q1 (padlock 7)")]
    words = " ".join(pages_of(printed(dataclasses.replace(story, lines=lines))))
    assert re.search(r"locked Q1 \(padlock 7\)", words)
    assert words.index("locked Q1") > max(words.index(letter) for letter in HEBREW.replace(" ", ""))


def test_a_text_longer_than_a_page_goes_on_over_pages():
    words = " ".join(f"word{number}" for number in range(4000))
    exception = Raised(What.FAILED_TEST, "test failed", 7, "P-1", "now", words, "")
    pages = pages_of(printed(made_up(facts=[("Work", words)], exceptions=[exception])))
    assert len(pages) > 3
    found = " ".join(pages)
    assert all(found.count(f"word{number}") >= 2 for number in (0, 1999, 3999))


def test_a_long_list_has_its_head_on_each_page():
    story = made_up()
    lines = [line_of(story, number=number, what=f"Thing {number} happened") for number in range(1, 201)]
    pages = pages_of(printed(dataclasses.replace(story, lines=lines)))
    with_rows = [words for words in pages if re.search(r"Thing \d+ happened", words)]
    assert len(with_rows) > 3
    assert all("What happened" in words for words in with_rows)
    assert [int(n) for n in re.findall(r"Thing (\d+) happened", " ".join(pages))] == list(range(1, 201))


def test_nothing_is_printed_outside_the_page():
    story = made_up(facts=[("Work", ENDLESS)], people=[(ENDLESS, ENDLESS)])
    pdf = printed(dataclasses.replace(story, title=ENDLESS, site=ENDLESS))
    page = pypdfium2.PdfDocument(pdf)[0]
    image = page.render(scale=2).to_pil().convert("L")
    width, height = image.size
    margin = int(14 / 25.4 * 72 * 2)
    assert image.crop((width - margin, 0, width, height)).getextrema() == (255, 255)


def test_the_page_and_the_print_show_the_same_tables():
    story = made_up(people=[("Odo", "holder")])
    titles = [part.title for part in (*listings.first_part(story), *listings.second_part(story))]
    assert titles[:5] == ["Around this permit, while it ran", "Notes", "People", "Signatures", "Plan"]
    words = plain(" ".join(pages_of(printed(story))))
    assert "Nobody has signed yet." in words
    assert "Odo holder" in words
