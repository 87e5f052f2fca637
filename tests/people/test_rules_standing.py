"""Authorised, qualified, until when, and why not."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from permits.people.rules.standing import Grant, authorised_on, standing
from permits.people.rules.urgency import Urgency, span_in_words, urgency

DAY = date(2026, 11, 25)
START, END = date(2026, 3, 1), date(2027, 2, 28)
PLAIN = Grant("C1", False, START, END)
QUALIFIED = Grant("C1", True, START, END)


def test_nobody_is_authorised_without_an_authorisation():
    assert standing([], "C1", DAY).reason == "No authorisation for C1."


def test_an_authorisation_is_for_one_machine():
    assert not authorised_on([PLAIN], "D1", DAY)


def test_it_holds_on_its_first_and_its_last_day_and_not_beyond():
    days = [START - timedelta(1), START, END, END + timedelta(1)]
    assert [authorised_on([PLAIN], "C1", day) for day in days] == [False, True, True, False]


def test_an_authorised_person_is_not_qualified_by_that():
    found = standing([PLAIN], "C1", DAY)
    assert (found.authorised, found.qualified) == (True, False)
    assert found.expires_on == END
    assert found.reason == (
        "Authorised for C1 until 28 February 2027, not qualified to measure absence of voltage."
    )


def test_a_qualified_person_is_both():
    found = standing([QUALIFIED], "C1", DAY)
    assert (found.authorised, found.qualified) == (True, True)
    assert found.qualified_until == END


def test_the_longest_counts_and_qualification_has_its_own_end():
    longer = Grant("C1", False, START, date(2027, 12, 31))
    found = standing([QUALIFIED, longer], "C1", DAY)
    assert (found.expires_on, found.qualified_until) == (longer.expires_on, END)
    assert found.reason.endswith("qualified to measure absence of voltage until 28 February 2027.")


def test_expired_withdrawn_and_not_yet_are_told_apart():
    assert standing([PLAIN], "C1", date(2027, 3, 1)).reason == (
        "The authorisation for C1 expired after 28 February 2027."
    )
    withdrawn = Grant("C1", True, START, END, withdrawn=True)
    assert standing([withdrawn], "C1", DAY).reason == "The authorisation for C1 was withdrawn."
    assert (
        standing([PLAIN], "C1", date(2026, 2, 1)).reason == "The authorisation for C1 starts on 1 March 2026."
    )


days = st.dates(date(2025, 1, 1), date(2028, 12, 31))
grants = st.builds(
    lambda machine, qualified, start, length, withdrawn: Grant(
        machine, qualified, start, start + timedelta(length), withdrawn
    ),
    st.sampled_from(["C1", "D1"]),
    st.booleans(),
    days,
    st.integers(0, 500),
    st.booleans(),
)


@given(st.lists(grants, max_size=6), days)
def test_standing_is_what_the_definition_says(held, day):
    good = [
        one
        for one in held
        if one.machine == "C1" and not one.withdrawn and one.starts_on <= day <= one.expires_on
    ]
    found = standing(held, "C1", day)
    assert found.authorised == bool(good)
    assert found.qualified == any(one.qualified for one in good)
    assert not found.qualified or found.authorised


@given(st.lists(grants, max_size=6), grants, days)
def test_withdrawing_never_gives_anything(held, one, day):
    gone = Grant(one.machine, one.qualified, one.starts_on, one.expires_on, withdrawn=True)
    before, after = standing([*held, one], "C1", day), standing([*held, gone], "C1", day)
    assert after.authorised <= before.authorised
    assert after.qualified <= before.qualified


def test_urgency_in_the_order_in_which_it_is_shown():
    def at(start, end, withdrawn=False):
        return urgency(Grant("C1", False, DAY + timedelta(start), DAY + timedelta(end), withdrawn), DAY)

    assert at(-9, -1) is Urgency.EXPIRED
    assert at(-9, 0) is Urgency.EXPIRING
    assert at(-9, 29) is Urgency.EXPIRING
    assert at(-9, 30) is Urgency.HOLDING
    assert at(1, 30) is Urgency.LATER
    assert at(-9, 30, withdrawn=True) is Urgency.WITHDRAWN
    assert sorted(Urgency)[0] is Urgency.EXPIRED


def test_spans_in_words():
    assert span_in_words(PLAIN, DAY) == "until 28 February 2027 (95 more days)"
    assert span_in_words(PLAIN, END) == "until 28 February 2027 (last day)"
    assert span_in_words(PLAIN, END - timedelta(1)) == "until 28 February 2027 (1 more day)"
    assert span_in_words(PLAIN, END + timedelta(1)) == "expired after 28 February 2027"
    assert span_in_words(PLAIN, START - timedelta(1)) == "from 1 March 2026 until 28 February 2027"
