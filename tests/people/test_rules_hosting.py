"""Who answers for a contractor, day by day: the first and the last day count."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from permits.people.rules.hosting import Hosting, against, out_of_days, without_host

START, END = date(2026, 11, 20), date(2026, 12, 24)
HOSTED = Hosting("K7Q2M9XB", START, END, "Maud Ferrisdale")


@pytest.mark.parametrize("day", [START, START + timedelta(1), END])
def test_it_holds_from_the_first_to_the_last_day(day):
    assert against(HOSTED, day, True) == ""


def test_before_and_after_it_says_when():
    assert against(HOSTED, START - timedelta(1), True) == (
        "Maud Ferrisdale is their host only from 20 November 2026"
    )
    assert (
        against(HOSTED, END + timedelta(1), True) == "Maud Ferrisdale was their host until 24 December 2026"
    )


def test_without_a_host():
    assert against(None, START, False) == "nobody here is their host"
    assert against(HOSTED, START, False) == (
        "their host Maud Ferrisdale is no longer one of this site’s own people"
    )


def test_both_are_said():
    both = against(HOSTED, END + timedelta(1), False)
    assert both.startswith("their host Maud Ferrisdale is no longer one of this site’s own people, and Maud")
    assert both.endswith("until 24 December 2026")


days = st.dates(date(2026, 1, 1), date(2027, 12, 31))


@given(days, st.integers(0, 400), days, st.booleans(), st.booleans())
def test_it_holds_exactly_when_someone_here_answers_for_that_day(start, length, day, there, here):
    held = Hosting("K7Q2M9XB", start, start + timedelta(length), "Maud Ferrisdale") if there else None
    holds = there and here and 0 <= (day - start).days <= length
    assert (against(held, day, here) == "") == holds
    assert (without_host(held, here) == "") == (there and here)
    assert (out_of_days(held, day) == "") == (not there or 0 <= (day - start).days <= length)
