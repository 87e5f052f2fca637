"""Charts of an axis over time, run rules, drift, and adjustments for nothing."""

from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from permits.calibration.rules.charting import Rule, Signal, chart, signals
from permits.calibration.rules.deciding import Decision
from permits.calibration.rules.drifting import Adjustments, Visit, adjustments, drift

START = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)
F = Fraction


def values(*texts):
    return [F(text) for text in texts]


def visit(day, found, left=None, decision=Decision.LEAVE):
    return Visit(START + timedelta(days=day), F(found), decision, None if left is None else F(left))


def test_limits_follow_from_the_mean_moving_range():
    drawn = chart(values("0.1", "0.3", "0.2", "0.2"))
    assert drawn.ranges == (F("0.2"), F("0.1"), F(0))
    assert (drawn.centre, drawn.range_centre) == (F("0.2"), F("0.1"))
    assert drawn.upper - drawn.centre == 3 * F("0.1") / F("1.128")
    assert drawn.centre - drawn.lower == drawn.upper - drawn.centre
    assert drawn.range_upper == F("0.3267")
    assert drawn.provisional
    assert not chart(values(*["0.1", "0.2"] * 10)).provisional


def test_fewer_than_two_values_have_no_chart():
    assert chart([]) is None
    assert chart(values("1")) is None


def test_a_value_beyond_a_limit_and_its_jump_are_signals():
    found = signals(chart(values(*["0.1", "0.2"] * 8, "2", "0.1")))
    assert Signal(Rule.BEYOND, 16, 16) in found
    assert Signal(Rule.RANGE, 15, 16) in found
    assert Signal(Rule.RANGE, 16, 17) in found


def test_eight_on_one_side_are_a_run_and_seven_are_not():
    seven = values(*["-0.1", "-0.2", "-0.1", "-0.2", "-0.1", "-0.2", "-0.1"], *["0.15"] * 7)
    assert Rule.RUN not in {signal.rule for signal in signals(chart(seven))}
    eight = values(*["-0.1", "-0.2"] * 4, *["0.1", "0.2"] * 4)
    runs = [signal for signal in signals(chart(eight)) if signal.rule is Rule.RUN]
    assert runs == [Signal(Rule.RUN, 0, 7), Signal(Rule.RUN, 8, 15)]


def test_six_rising_are_a_trend_and_five_are_not():
    rising = values("0.3", "0.1", "0.2", "0.3", "0.4", "0.5", "0.6", "0.2")
    assert Signal(Rule.TREND, 1, 6) in signals(chart(rising))
    five = values("0.3", "0.1", "0.2", "0.3", "0.4", "0.5", "0.2")
    assert Rule.TREND not in {signal.rule for signal in signals(chart(five))}


def test_an_axis_that_never_moves_gives_no_signal():
    assert signals(chart(values(*["0.1"] * 12))) == []


@given(st.lists(st.integers(-50, 50).map(lambda n: F(n, 10)), min_size=2, max_size=30), st.integers(-9, 9))
def test_a_shift_of_all_values_shifts_the_chart_and_keeps_its_signals(found, shift):
    here, there = chart(found), chart([value + shift for value in found])
    assert there.centre - here.centre == shift
    assert there.ranges == here.ranges
    assert signals(there) == signals(here)


def test_drift_is_seen_through_the_corrections_in_between():
    """0.02 a day; taken back to zero on day 20, where it had come to 0.4."""
    seen = drift(
        [
            visit(0, "0"),
            visit(10, "0.2"),
            visit(20, "0.4", "0", Decision.ADJUST),
            visit(30, "0.2"),
            visit(35, "0.3"),
        ],
        tolerance=F("0.5"),
    )
    assert seen.per_day == F("0.02")
    assert (seen.p, seen.shown) == (0.0, True)
    assert seen.leaves_at == START + timedelta(days=45)
    assert seen.earliest == seen.leaves_at


def test_drift_downwards_meets_the_lower_limit():
    seen = drift([visit(0, "0.1"), visit(10, "0"), visit(20, "-0.1")], tolerance=F("0.5"))
    assert seen.leaves_at == START + timedelta(days=60)


def test_noise_is_not_called_drift():
    seen = drift(
        [visit(0, "0.1"), visit(10, "-0.1"), visit(20, "0.12"), visit(30, "-0.1")], tolerance=F("0.5")
    )
    assert not seen.shown
    assert (seen.leaves_at, seen.earliest) == (None, None)
    still = drift([visit(day, "0.1") for day in (0, 1, 2)], tolerance=F("0.5"))
    assert (still.p, still.leaves_at) == (1.0, None)


def test_the_earliest_day_allows_for_the_uncertainty_of_the_rate():
    seen = drift(
        [visit(0, "0"), visit(10, "0.11"), visit(20, "0.19"), visit(30, "0.3"), visit(40, "0.41")],
        tolerance=F(1),
    )
    assert seen.shown
    assert START + timedelta(days=40) < seen.earliest < seen.leaves_at


def test_an_axis_left_outside_has_no_day_on_which_it_leaves():
    seen = drift([visit(0, "0.4"), visit(10, "0.5"), visit(20, "0.6")], tolerance=F("0.5"))
    assert seen.shown
    assert seen.leaves_at is None


@pytest.mark.parametrize(
    "visits", [[], [visit(0, "0"), visit(1, "1")], [visit(0, "0"), visit(0, "1"), visit(0, "2")]]
)
def test_too_few_visits_show_no_drift(visits):
    assert drift(visits, tolerance=F(1)) is None


def test_a_drift_too_slow_to_matter_has_no_date():
    nearly = [visit(0, "0"), visit(1, F(1, 10**12)), visit(2, F(2, 10**12))]
    assert drift(nearly, tolerance=F(1)).leaves_at is None


def test_adjustments_against_the_decision_to_leave_are_counted():
    visits = [
        visit(0, "0.1", "0", Decision.LEAVE),
        visit(1, "0.9", "0", Decision.ADJUST),
        visit(2, "0.1"),
        visit(3, "0.5", "0.1", Decision.MEASURE_AGAIN),
    ]
    assert adjustments(visits) == Adjustments(made=3, for_nothing=1)
