"""Throttling and PINs against NIST SP 800-63B-4 (read in its 2024 draft: the final may differ in detail)."""

from datetime import timedelta

import pytest

from permits.people.rules.waiting import (
    MOST_FAILURES,
    PIN_TRIES,
    pin_objection,
    pin_tries_left,
    wait_after,
    wait_in_words,
)


def test_four_failures_cost_nothing():
    assert [wait_after(failures) for failures in range(5)] == [timedelta(0)] * 5


def test_then_the_wait_doubles_from_30_seconds_to_an_hour():
    # SP 800-63B-4 section 3.2.2: "30 seconds up to an hour"; that it doubles is site policy.
    waits = [wait_after(failures).total_seconds() for failures in range(5, 14)]
    assert waits == [30, 60, 120, 240, 480, 960, 1920, 3600, 3600]
    assert wait_after(10_000) == timedelta(hours=1)


def test_no_more_than_a_hundred_failures_in_a_row():
    # SP 800-63B-4 section 3.2.2: at most 100 consecutive failed attempts on one account.
    assert MOST_FAILURES <= 100


def test_a_pin_has_ten_tries():
    # SP 800-63B-4 section 3.2.10: at most 10 consecutive failures with an activation secret.
    assert PIN_TRIES <= 10
    assert [pin_tries_left(failures) for failures in (0, 1, 9, 10, 11)] == [10, 9, 1, 0, 0]


@pytest.mark.parametrize("pin", ["804216", "100200", "12345679", "0" * 5 + "7"])
def test_six_digits_or_more_make_a_pin(pin):
    # SP 800-63B-4 section 3.2.10: an activation secret should have six digits or more, and may be all digits.
    assert pin_objection(pin) is None


@pytest.mark.parametrize(
    ("pin", "says"),
    [
        ("80421", "This PIN has 5 digits; 6 or more would be right."),
        ("80421a", "A PIN is digits only; 6 digits or more would be right."),
        ("８０４２１６", "A PIN is digits only; 6 digits or more would be right."),
        ("", "A PIN is digits only; 6 digits or more would be right."),
        (
            "777777",
            "This PIN is one digit repeated or a plain run, the first thing anyone tries; choose another.",
        ),
        (
            "456789",
            "This PIN is one digit repeated or a plain run, the first thing anyone tries; choose another.",
        ),
        (
            "098765",
            "This PIN is one digit repeated or a plain run, the first thing anyone tries; choose another.",
        ),
        ("7" * 64 + "1", "This PIN has 65 digits; 64 at most would be right."),
    ],
)
def test_a_pin_that_cannot_be_used_says_why(pin, says):
    assert pin_objection(pin) == says


def test_waits_in_words_are_rounded_up():
    words = [wait_in_words(timedelta(seconds=seconds)) for seconds in (0, 1, 29.2, 60, 61, 3600)]
    assert words == ["1 second", "1 second", "30 seconds", "1 minute", "2 minutes", "60 minutes"]
