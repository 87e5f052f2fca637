"""The correction, its way into machine parameters, and whether it worked."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from permits.calibration.rules.correcting import (
    Correction,
    Limits,
    Outcome,
    Parameters,
    by_line,
    by_mean,
    outcome,
    proposed,
)
from permits.calibration.rules.fitting import line

F = Fraction


def test_pieces_that_are_too_long_get_a_shorter_command():
    correction = by_mean(F("0.3"), distinct_nominals=1)
    assert correction == Correction(F("-0.3"), None, None)
    assert correction.command(F(1200)) == F("1199.7")
    assert by_mean(F("0.3"), distinct_nominals=3) == Correction(F("-0.3"), F(1), False)


def test_a_scale_correction_makes_every_fitted_size_true():
    found = line([F(600), F(1200), F(1800)], [F("600.7"), F("1201.2"), F("1801.9")])
    correction = by_line(found)
    assert [found.at(correction.command(F(x))) for x in (0, 600, 5000)] == [0, 600, 5000]
    readings = [correction.scale * found.at(F(x)) + correction.offset for x in (600, 5000)]
    assert readings == [600, 5000]  # the same two numbers turn a reading into the size it should have shown


def test_a_flat_line_has_no_correction():
    correction = by_line(line([F(1), F(2), F(3)], [F(5)] * 3))
    assert correction == Correction(None, None, True)
    with pytest.raises(ValueError, match="do not follow"):
        correction.command(F(1))
    with pytest.raises(ValueError, match="do not follow"):
        proposed(Parameters(F(0)), correction)


numbers = st.integers(-1000, 1000).map(lambda n: F(n, 100))
scales = st.integers(1, 200).map(lambda n: F(n, 100))


@given(numbers, scales, numbers, scales, numbers)
def test_new_parameters_do_to_the_nominal_what_the_old_ones_did_to_the_corrected_command(
    old, scale, off, by, x
):
    before, correction = Parameters(old, scale), Correction(off, by, True)
    after = proposed(before, correction)
    assert after.scale * x + after.offset == before.scale * correction.command(x) + before.offset


def test_an_offset_alone_leaves_the_scale_parameter():
    assert proposed(Parameters(F(2), F(1)), by_mean(F("0.3"), distinct_nominals=2)) == Parameters(
        F("1.7"), F(1)
    )


def test_parameters_have_limits_and_steps():
    limits = Limits(F("-2"), F("2"), F("0.05"))
    assert limits.nearest(F("1.73")) == F("1.75")
    assert limits.allows(F(2))
    assert not limits.allows(F("2.05"))
    assert Limits(F(0), F(1)).nearest(F(1, 3)) == F(1, 3)


@pytest.mark.parametrize(
    ("found", "left", "within", "said"),
    [
        ("0.8", "0.1", True, Outcome.WORKED),
        ("0.8", "-0.9", False, Outcome.WORSE),
        ("0.8", "0.5", False, Outcome.NOT_PROVEN),
        ("-0.1", "0.2", True, Outcome.WORSE),
    ],
)
def test_fresh_pieces_say_whether_it_worked(found, left, within, said):
    assert outcome(as_found=F(found), as_left=F(left), left_within=within) is said
