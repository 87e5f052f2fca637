"""The story folds by phase and day: every entry once, in order, under what the permit was at the time."""

import re

import pytest

from permits.ledger.models import Entry
from permits.records.story import story_of
from permits.records.stretches import stretches
from tests.records import job as jobs

pytestmark = pytest.mark.django_db

# The phases of a whole job with two cycles of tests, as people read them: the design's §5, in its order.
TWO_CYCLES = [
    "Requested", "Issued, not accepted", "Not proven dead", "Proven dead", "Under test: power may be on",
    "Not proven dead", "Proven dead", "Under test: power may be on", "Not proven dead",
    "Going back to service", "Closed",
]  # fmt: skip


def folded(job):
    return stretches(story_of(job.site, "P-1", job.at()))


def numbers(job):
    found = Entry.objects.filter(head=job.site.head_id, about="permit:P-1").order_by("number")
    return list(found.values_list("number", flat=True))


def test_every_entry_stands_in_one_stretch_in_its_order(job):
    jobs.closed_with_exceptions(job)
    found = folded(job)
    assert [line.number for one in found for line in one.lines] == numbers(job)
    assert [one.word for one in found] == TWO_CYCLES
    story = story_of(job.site, "P-1", job.at())
    marked = {one.number for one in story.exceptions}
    assert sum(one.exceptions for one in found) == len(marked)


def test_an_entry_that_ends_a_phase_begins_the_next(job):
    jobs.accepted(job)
    asked, issued, isolating = folded(job)
    assert (asked.first, asked.last) == (numbers(job)[0], numbers(job)[0])
    assert issued.lines[0].kind == "PERMIT_ISSUED"
    assert isolating.lines[0].kind == "PERMIT_ACCEPTED"
    assert isolating.word == "Not proven dead"


def test_a_phase_is_parted_at_the_sites_midnight(job):
    jobs.accepted(job)
    job.next(24 * 60)
    job.lock_up()
    found = folded(job)
    assert [one.word for one in found] == [*TWO_CYCLES[:3], "Not proven dead"]
    assert found[2].when[:6] != found[3].when[:6]
    assert re.fullmatch(r"\d+ [A-Z][a-z]{2}, \d\d:\d\d( to \d\d:\d\d)?", found[3].when)


def test_a_record_that_cannot_be_read_is_still_shown_whole(job, owner):
    jobs.accepted(job).lock_up()
    first = Entry.objects.get(head=job.site.head_id, kind="PERMIT_REQUESTED")
    Entry.objects.filter(pk=first.pk).update(kind="SOMETHING_ELSE")
    (one,) = folded(job)
    assert one.word == "Entries"
    assert [line.number for line in one.lines] == numbers(job)


def test_no_entry_and_no_table_is_lost_on_the_page(job, darya, signed_in):
    jobs.closed_with_exceptions(job)
    page = signed_in(darya).get("/records/P-1/").content.decode()
    assert re.findall(r'id="entry-(\d+)"', page) == [str(number) for number in numbers(job)]
    assert page.count('<details class="fold">') > len(TWO_CYCLES) + 15
    assert 'class="fold" open' not in page
    whole = signed_in(darya).get("/records/P-1/?unfolded").content.decode()
    assert '<details class="fold">' not in whole
    assert whole.count('<details class="fold" open>') == page.count('<details class="fold">')
