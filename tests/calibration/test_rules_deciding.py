"""Adjust or leave: the decision, its uncertainty, the fitted line, and how many more pieces would settle it.

Expected figures come from scipy.stats, numpy or hand calculation; random cases stand in a file of their own.
"""

import math
from fractions import Fraction

import numpy as np
import pytest
from scipy import stats

from permits.calibration.rules.answers import as_json, as_text
from permits.calibration.rules.deciding import Decision, Instrument, Question, Reading, assess
from permits.calibration.rules.lengths import Unit

ADJUST, LEAVE, AGAIN = Decision.ADJUST, Decision.LEAVE, Decision.MEASURE_AGAIN
PERFECT = ("0", "1", "0")


def question(*readings, tolerance="0.5", instrument=("0.10", "2", "0.05"), unit=Unit.MM):
    pairs = tuple(Reading(Fraction(str(nominal)), Fraction(str(measured))) for nominal, measured in readings)
    return Question(unit, Fraction(tolerance), Instrument(*map(Fraction, instrument)), pairs)


def answer(*readings, **given):
    return as_json(assess(question(*readings, **given)))


def at(nominal, *deviations):
    return [(nominal, Fraction(nominal) + Fraction(deviation)) for deviation in deviations]


def test_a_mean_well_within_tolerance_is_left():
    said = answer((1200, "1200.1"), (1200, "1200.2"), (1200, "1200.15"))
    assert said["decision"] == "leave"
    assert said["mean_deviation"] == 0.15
    assert said["standard_deviation"] == 0.05
    assert said["more_readings"] is None
    assert said["fit"] is None
    assert said["correction"] == {"offset": -0.15, "scale": None, "scale_significant": None}


def test_a_mean_well_outside_is_adjusted_by_what_it_is_off_with_the_sign_turned():
    said = answer((1200, "1200.9"), (1200, "1201.0"), (1200, "1201.1"))
    assert said["decision"] == "adjust"
    assert said["correction"]["offset"] == -1.0
    assert answer((1200, 1199), (1200, "1199.1"))["correction"]["offset"] == 0.95


def test_two_readings_of_one_nominal_are_enough_to_decide():
    said = answer((1200, 1200), (1200, "1200.02"))
    assert (said["n"], said["decision"]) == (2, "leave")
    # u² = 0.0002/2 + 0.05² + 0.05²/12; ν = u⁴/((s²/n)²/1): above n − 1, the instrument being known well
    square = 0.0001 + 0.0025 + 0.0025 / 12
    assert said["degrees_of_freedom"] == pytest.approx((square / 0.0001) ** 2, rel=1e-12)
    assert said["expanded_uncertainty"] == pytest.approx(
        stats.t.ppf(0.975, (square / 0.0001) ** 2) * math.sqrt(square), rel=1e-12
    )


def test_with_no_scatter_the_degrees_of_freedom_are_infinite_and_t_is_1_959964():
    said = answer((1200, "1200.3"), (1200, "1200.3"), instrument=("0.10", "2", "0"))
    assert said["standard_deviation"] == 0.0
    assert said["degrees_of_freedom"] is None
    assert said["standard_uncertainty"] == 0.05
    assert said["expanded_uncertainty"] == pytest.approx(1.959964 * 0.05, rel=1e-15)


@pytest.mark.parametrize(
    ("deviation", "decision"),
    [
        ("0.4020018", LEAVE),  # exactly 0.5 − 1.959964 · 0.05: on the guard band counts as within
        ("0.4020019", AGAIN),
        ("0.5979982", AGAIN),  # exactly 0.5 + 1.959964 · 0.05: not yet beyond it
        ("0.5979983", ADJUST),
        ("-0.4020018", LEAVE),
        ("-0.5979983", ADJUST),
    ],
)
def test_a_deviation_exactly_on_the_guard_band_falls_on_the_stated_side(deviation, decision):
    readings = at(1200, deviation, deviation)
    assert assess(question(*readings, instrument=("0.10", "2", "0"))).decision is decision


def test_without_any_uncertainty_the_tolerance_itself_decides_exactly():
    assert assess(question(*at(1200, "0.5", "0.5"), instrument=PERFECT)).decision is LEAVE
    assert assess(question(*at(1200, "0.5000001", "0.5000001"), instrument=PERFECT)).decision is ADJUST
    # In floating point 1200.1 − 1200 is not 0.1; here it is.
    assert (
        assess(question((1200, "1200.1"), (1200, "1200.1"), tolerance="0.1", instrument=PERFECT)).decision
        is LEAVE
    )


def test_one_reading_says_measure_again_and_leaves_out_what_cannot_be_had():
    said = answer((1200, "1203"))
    assert said["decision"] == "measure again"
    assert said["mean_deviation"] == 3.0
    names = ("standard_deviation", "standard_uncertainty", "degrees_of_freedom", "expanded_uncertainty")
    assert [said[name] for name in (*names, "more_readings", "fit")] == [None] * 6
    assert said["correction"] == {"offset": -3.0, "scale": None, "scale_significant": None}
    assert "at least one more" in said["reason"]


def test_measure_again_says_how_many_more_pieces_would_settle_it():
    readings = at(1200, "0.1", "0.3", "0.5", "0.7")
    said = answer(*readings)
    assert said["decision"] == "measure again"
    s, b = np.std([0.1, 0.3, 0.5, 0.7], ddof=1), 0.0025 + 0.0025 / 12

    def settled(m):
        df = (m - 1) * (1 + m * b / s**2) ** 2
        return stats.t.ppf(0.975, df) * math.sqrt(s**2 / m + b) <= 0.1

    # The instrument's own part is 1.96 · √b = 0.102 here: it alone is more than the 0.1 to the tolerance.
    assert not any(settled(m) for m in (5, 100, 10**6))
    assert said["more_readings"] is None
    assert "instrument is too coarse" in said["reason"]
    finer = answer(*readings, instrument=("0.02", "2", "0.01"))
    b = 0.0001 + 0.0001 / 12
    assert finer["more_readings"] == next(m for m in range(5, 1000) if settled(m)) - 4
    assert f"{finer['more_readings']} more pieces would settle it" in finer["reason"]


def test_a_mean_exactly_on_the_tolerance_is_never_settled():
    said = answer(*at(1200, "0.4", "0.6"))
    assert (said["decision"], said["more_readings"]) == ("measure again", None)
    assert "exactly on the limit" in said["reason"]


def test_without_scatter_more_pieces_change_nothing():
    said = answer(*at(1200, "0.45", "0.45"))
    assert (said["decision"], said["more_readings"]) == ("measure again", None)
    assert "instrument is too coarse" in said["reason"]


def test_scatter_that_alone_breaks_the_tolerance_is_named_as_the_trouble():
    said = answer(*at(1200, "-0.6", "0.6", "-0.6", "0.6"))
    assert "scatter, not the setting, is the trouble" in said["reason"]
    assert "scatter" not in answer(*at(1200, "0.1", "0.12", "0.11"))["reason"]
    outside = answer(*at(1200, "2", "3", "4"), tolerance="1")
    assert "scatter" not in outside["reason"]


def test_scatter_does_not_change_the_decision():
    many = at(1200, *["-0.3", "0.3"] * 20)
    said = answer(*many)
    assert said["decision"] == "leave"
    assert "scatter, not the setting" in said["reason"]


def test_opposite_errors_at_the_ends_do_not_cancel():
    """Mean 0, but 0.8 too short at one end, 0.8 too long at the other: the line is judged."""
    readings = [
        *at(600, "-0.8", "-0.79", "-0.81"),
        *at(1200, "0", "0.01", "-0.01"),
        *at(1800, "0.8", "0.79", "0.81"),
    ]
    said = answer(*readings)
    assert said["mean_deviation"] == 0.0
    assert said["decision"] == "adjust"
    assert said["correction"]["scale_significant"] is True
    assert "the scale is off" in said["reason"].lower()
    assert "not the setting" not in said["reason"]


def test_the_correction_brings_the_fitted_deviation_to_zero():
    readings = [*at(600, "-0.8", "-0.7"), *at(1200, "0.1", "0.2"), *at(1800, "0.8", "1.1")]
    found = assess(question(*readings))
    correction, line = found.correction, found.line
    for nominal in (Fraction(600), Fraction(1234), Fraction(1800)):
        assert line.at(correction.command(nominal)) == nominal
    said = as_json(found)["correction"]
    assert said["scale"] == pytest.approx(1 / float(line.slope), rel=1e-15)
    assert said["offset"] == pytest.approx(-float(line.intercept / line.slope), rel=1e-15)


def test_a_perfect_fit_with_another_slope_is_significant_and_one_with_slope_1_is_not():
    off = answer((1000, 1001), (2000, 2002), (3000, 3003))
    assert off["correction"]["scale_significant"] is True
    assert off["fit"] == {
        "intercept": 0.0, "slope": 1.001, "se_intercept": 0.0, "se_slope": 0.0, "residual_sd": 0.0, "df": 1,
    }  # fmt: skip
    true = answer((1000, "1000.3"), (2000, "2000.3"), (3000, "3000.3"))
    assert true["fit"]["slope"] == 1.0
    assert true["correction"] == {"offset": -0.3, "scale": 1.0, "scale_significant": False}
    assert true["degrees_of_freedom"] is None


def test_three_nominals_without_a_significant_slope_are_judged_by_their_mean():
    said = answer(*at(600, "0.1", "0.2"), *at(1200, "0.2", "0.1"), *at(1800, "0.15", "0.14"))
    assert said["correction"]["scale_significant"] is False
    assert said["correction"]["scale"] == 1.0
    assert said["correction"]["offset"] == -said["mean_deviation"]
    assert said["decision"] == "leave"


def test_the_fitted_value_is_judged_with_t_at_n_minus_2_and_the_instrument_s_terms():
    readings = [
        *at(600, "0.02", "0.05"),
        *at(1200, "0.2", "0.25"),
        *at(1800, "0.4", "0.45"),
        *at(2400, "0.6", "0.62"),
    ]
    found = assess(question(*readings))
    x = np.array([float(r[0]) for r in readings])
    y = np.array([float(r[1]) for r in readings])
    fit = stats.linregress(x, y)
    residual = y - fit.intercept - fit.slope * x
    variance = (residual @ residual) / 6 * (1 / 8 + (2400 - x.mean()) ** 2 / ((x - x.mean()) ** 2).sum())
    expanded = stats.t.ppf(0.975, 6) * math.sqrt(variance + 0.0025 + 0.0025 / 12)
    assert found.judged.nominal == 2400
    assert float(found.judged.value) == pytest.approx(fit.intercept + fit.slope * 2400 - 2400, rel=1e-9)
    assert float(found.judged.expanded_uncertainty) == pytest.approx(expanded, rel=1e-9)
    assert found.decision is AGAIN
    assert "0.6" in as_json(found)["reason"]


def test_the_largest_fitted_deviation_counts_whatever_its_sign():
    low = assess(question(*at(600, "-0.9", "-0.92"), *at(1200, "-0.3", "-0.32"), *at(1800, "0.3", "0.28")))
    assert (low.judged.nominal, low.decision) == (600, ADJUST)
    high = assess(question(*at(600, "-0.3", "-0.28"), *at(1200, "0.3", "0.32"), *at(1800, "0.9", "0.92")))
    assert (high.judged.nominal, high.decision) == (1800, ADJUST)


def test_of_two_equal_fitted_deviations_the_less_certain_is_judged():
    """−0.4 at 0, where two pieces were measured, and +0.4 at 20, where one was."""
    found = assess(question(*at(0, "-0.41", "-0.39"), *at(10, "0"), *at(20, "0.4")))
    assert (found.judged.value, found.judged.nominal) == (Fraction("0.4"), 20)


@pytest.mark.parametrize("spread", ["0.04", "0.06", "0.08", "0.1", "0.15", "0.2"])
@pytest.mark.parametrize("end", ["0.35", "0.42", "0.47", "0.55"])
def test_where_the_line_is_judged_more_pieces_are_counted_for_the_fitted_value(end, spread):
    e, d = Fraction(end), Fraction(spread)
    readings = [*at(600, -e - d, -e + d), *at(1200, d, -d), *at(1800, e - d, e + d)]
    found = assess(question(*readings, instrument=("0.02", "2", "0.01")))
    if found.decision is not AGAIN or not found.correction.scale_significant:
        return
    gap, b = abs(abs(float(found.judged.value)) - 0.5), 0.0001 + 0.0001 / 12
    piece = float(found.line.variance_at(found.judged.nominal)) * 6
    needed = next(m for m in range(7, 10000) if stats.t.ppf(0.975, m - 2) * math.sqrt(piece / m + b) <= gap)
    assert found.more_readings == needed - 6


def test_a_coarse_instrument_far_from_the_limit_can_still_settle_it():
    said = answer(*at(1200, "1", "3", "5"), tolerance="5", instrument=("1.7", "2", "0"))
    assert said["decision"] == "measure again"
    s, b = 2.0, 0.85**2
    settled = (
        m
        for m in range(4, 1000)
        if stats.t.ppf(0.975, (m - 1) * (1 + m * b / s**2) ** 2) * math.sqrt(s**2 / m + b) <= 2
    )
    assert said["more_readings"] == next(settled) - 3


def test_scatter_is_judged_with_t_at_n_minus_1():
    """s = 0.0707: t(1) · s = 0.898 is beyond 0.5, t(2) · s = 0.304 would not be."""
    assert "scatter" in answer(*at(1200, "0.05", "-0.05"))["reason"]


def test_readings_that_do_not_follow_the_nominals_have_no_correction():
    said = answer((100, 5), (200, 5), (300, 5))
    assert said["correction"] == {"offset": None, "scale": None, "scale_significant": True}
    assert "check which reading belongs" in said["reason"]
    assert "none can be had" in as_text(assess(question((100, 5), (200, 5), (300, 5))))


def test_what_makes_no_sense_is_refused():
    with pytest.raises(ValueError, match="tolerance"):
        question((1, 1), tolerance="0")
    with pytest.raises(ValueError, match="no readings"):
        question()
    for instrument in (("-1", "2", "0"), ("1", "0", "0"), ("1", "2", "-1")):
        with pytest.raises(ValueError, match="must not be negative"):
            question((1, 1), instrument=instrument)


def test_the_text_gives_the_decision_first():
    text = as_text(assess(question(*at(1200, "0.1", "0.2"))))
    assert text.startswith("LEAVE\n")
    assert "degrees of freedom" in text
    assert as_text(assess(question(*at(1200, "0.1")))).startswith("MEASURE AGAIN\n")
    assert "0.999001 × nominal" in as_text(assess(question((1000, 1001), (2000, 2002), (3000, 3003))))
    assert "not yet" in as_text(assess(question(*at(1200, "0.1"))))
