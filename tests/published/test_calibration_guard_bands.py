"""Decisions with guard bands and conformance probabilities against ILAC-G8:09/2019 and JCGM 106:2012."""

from fractions import Fraction

import pytest

from permits.calibration.rules.conformance import conformance_probability
from permits.calibration.rules.deciding import Decision, decide


# ±1.5 mm, U = 0.10 mm (k = 2, u = 0.05): the non-binary statement of ILAC-G8 4.2.3 with w = U. Pass
# is *leave*, fail is *adjust*, and both conditional statements are *measure again*. Probabilities [V].
@pytest.mark.parametrize(
    ("value", "probability", "decision"),
    [
        ("1.35", 0.998650, Decision.LEAVE),
        ("1.40", 0.977250, Decision.LEAVE),  # exactly on the acceptance limit
        ("1.42", 0.945201, Decision.MEASURE_AGAIN),  # conditional pass
        ("1.52", 0.344578, Decision.MEASURE_AGAIN),  # conditional fail
        ("1.65", 0.001350, Decision.ADJUST),
    ],
)
def test_ilac_g8_guard_band_of_u(value, probability, decision):
    assert decide(Fraction(value), Fraction("1.5"), Fraction("0.10")) is decision
    assert decide(-Fraction(value), Fraction("1.5"), Fraction("0.10")) is decision
    found = conformance_probability(float(value), 0.05, lower=-1.5, upper=1.5)
    assert round(found, 6) == probability


def test_the_risk_of_leaving_what_is_outside_stays_below_2_5_percent():
    """ILAC-G8: w = U holds the risk of a wrong acceptance below 2.5 %; 2.275 % on the limit, k = 2 [V]."""
    risk = 1 - conformance_probability(1.40, 0.05, lower=-1.5, upper=1.5)
    assert round(risk, 5) == 0.02275
    # w = 1.64 u: 5.05 % [V]; w = 0, simple acceptance: 50 % on the limit
    assert round(1 - conformance_probability(1.5 - 1.64 * 0.05, 0.05, upper=1.5), 4) == 0.0505
    assert conformance_probability(1.5, 0.05, upper=1.5) == 0.5


# JCGM 106:2012, examples of 7.3.3's kind [inputs M, Φ V]
def test_jcgm_106_upper_limit():
    """Breakdown voltage −5.47 V, u = 0.05 V, upper limit −5.40 V: z = 1.40, 0.919 24."""
    assert round(conformance_probability(-5.47, 0.05, upper=-5.40), 5) == 0.91924


def test_jcgm_106_lower_limit():
    """Bursting pressure 509.7 kPa, u = 8.6 kPa, lower limit 490 kPa: z = 2.2907, 0.989 01."""
    assert round(conformance_probability(509.7, 8.6, lower=490), 5) == 0.98901


def test_a_measurement_without_uncertainty_has_no_such_probability():
    with pytest.raises(ValueError, match="above 0"):
        conformance_probability(1.0, 0.0, upper=2.0)
