"""What charts and drift say in words: signals with their days, drift and its end, needless adjustments."""

from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

from permits.calibration.rules.charting import Rule, Signal, chart, signals
from permits.calibration.rules.deciding import Decision
from permits.calibration.rules.drifting import Visit, drift
from permits.calibration.rules.lengths import Unit, from_record
from permits.calibration.rules.over_time import in_short, of_adjustments, of_drift, told

HALF = from_record("0.5 mm")
FIRST = date(2026, 1, 1)


def days(count: int) -> list[date]:
    return [FIRST + timedelta(days=at) for at in range(count)]


def visit(day: int, found: str, decision: Decision | None = Decision.LEAVE, left: str | None = None) -> Visit:
    at = datetime(2026, 1, 1, 12, tzinfo=UTC) + timedelta(days=day)
    return Visit(at, Fraction(found), decision, Fraction(left) if left is not None else None)


def test_a_value_beyond_a_limit():
    """By hand: ten values 0 and one 2: x̄ = 2/11, MR̄ = 2/10, upper limit 2/11 + 3 × 0.2/1.128 = 0.7137."""
    made = chart([Fraction(0)] * 10 + [Fraction(2)])
    words = {told(made, one, days(11), Unit.MM).words for one in signals(made)}
    assert "11 January 2026: +2 mm lies beyond the limits, -0.3501 mm to +0.7137 mm." in words
    assert (
        "10 January 2026 to 11 January 2026: a step of 2 mm, where steps up to 0.6534 mm are usual." in words
    )


def test_a_run_on_one_side_says_which():
    made = chart([Fraction(1)] * 8 + [Fraction(0)] * 9)
    found = [told(made, one, days(17), Unit.MM) for one in signals(made) if one.rule is Rule.RUN]
    assert (
        found[0].words
        == "1 January 2026 to 8 January 2026: 8 in a row above the mean. Something has shifted."
    )
    assert found[1].words.startswith("9 January 2026 to 17 January 2026: 9 in a row below the mean")
    assert [one.last for one in found] == [7, 16]


def test_a_trend_says_which_way():
    made = chart([Fraction(at) for at in (6, 5, 4, 3, 2, 1)])
    assert told(made, Signal(Rule.TREND, 0, 5), days(6), Unit.MM).words == (
        "1 January 2026 to 6 January 2026: 6 in a row, each falling. It drifts."
    )
    up = chart([Fraction(at) for at in range(6)])
    assert "each rising" in told(up, Signal(Rule.TREND, 0, 5), days(6), Unit.DEGREE).words


def test_too_few_visits_tell_no_drift():
    assert of_drift(None, [], HALF, FIRST) == [
        "Three visits or more, on different days, are needed to tell a drift."
    ]


def test_a_drift_says_when_the_tolerance_is_reached():
    """By hand: 0.01 mm a day, last left at 0.20 on day 20: 0.5 is reached 30 days later, 20 February."""
    visits = [visit(0, "0"), visit(10, "0.1"), visit(20, "0.2")]
    said = of_drift(drift(visits, tolerance=HALF.value), visits, HALF, date(2026, 1, 22))
    assert said[0] == "It drifts by +0.01 mm a day, which is +0.3 mm in 30 days (p = 0)."
    assert said[1] == "At this rate it reaches ±0.5 mm about 20 February 2026."
    assert not any("past" in words for words in said)


def test_a_day_that_is_past_is_said_to_be():
    visits = [visit(0, "0"), visit(10, "0.1"), visit(20, "0.2")]
    said = of_drift(drift(visits, tolerance=HALF.value), visits, HALF, date(2026, 3, 1))
    assert said[-1] == "That day is past: look at it before parts are scrapped."


def test_an_axis_that_was_left_outside_says_so():
    visits = [visit(0, "0.6"), visit(10, "0.7"), visit(20, "0.8")]
    said = of_drift(drift(visits, tolerance=HALF.value), visits, HALF, FIRST)
    assert said[-1] == "It was last left outside ±0.5 mm."


def test_chance_is_called_chance():
    visits = [visit(0, "0.1"), visit(10, "-0.1"), visit(20, "0.1"), visit(30, "-0.1")]
    [said] = of_drift(drift(visits, tolerance=HALF.value), visits, HALF, FIRST)
    assert said.startswith("No drift is shown: ")
    assert said.endswith("which may well be chance.")


def test_how_often_it_was_adjusted_for_nothing():
    left = [visit(0, "0.1"), visit(1, "0.1")]
    assert of_adjustments(left) == "Never adjusted in 2 visits."
    needed = [*left, visit(2, "0.9", Decision.ADJUST, "0")]
    assert of_adjustments(needed) == "Adjusted 1 time in 3 visits, never for nothing."
    needless = [*needed, visit(3, "0.1", Decision.LEAVE, "0")]
    assert of_adjustments(needless).startswith("Adjusted 2 times in 4 visits, 1 of them for nothing")
    from_paper = [*needed, visit(4, "0.3", None, "0")]
    assert of_adjustments(from_paper) == (
        "Adjusted 2 times in 4 visits, never for nothing. Of 1 from paper it is not known."
    )
    only_paper = [*left, visit(4, "0.3", None, "0")]
    assert of_adjustments(only_paper) == (
        "Adjusted 1 time in 3 visits. Whether for nothing is not known: the paper does not say."
    )


def test_how_an_axis_stands_in_a_few_words():
    """The drift is that of the day by hand above: 0.01 mm a day, 0.5 reached on 20 February."""
    assert in_short(None, [], HALF) == "no visit yet"
    steady = [visit(0, "0.1"), visit(9, "0.1")]
    assert in_short(drift(steady, tolerance=HALF.value), steady, HALF) == "2 visits, no drift shown"
    drifting = [visit(0, "0"), visit(10, "0.1"), visit(20, "0.2")]
    drifts = drift(drifting, tolerance=HALF.value)
    assert in_short(drifts, drifting, HALF) == "drifts: out of tolerance about 20 February 2026"
    outside = [visit(0, "0.6")]
    assert in_short(None, outside, HALF) == "left outside its tolerance"
