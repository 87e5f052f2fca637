"""The pre-check: what first pieces say of which axis to open, in the app's words."""

from fractions import Fraction

import pytest

from permits.calibration.rules.lengths import from_record
from permits.calibration.rules.prechecks import Measured, against_pre_check, ranked, says, suggested

AXES = ("Saw angle", "Length", "Height")


def feature(name: str, deviation: str, **depends: str) -> Measured:
    named = {
        axis: Fraction(depends[axis.split()[0].lower()])
        for axis in AXES
        if axis.split()[0].lower() in depends
    }
    return Measured(name, from_record(f"{deviation} mm"), from_record("0.1 mm"), named)


def test_one_axis_explains_the_pieces():
    """By hand: length off by 2 explains both; the angle alone leaves χ² = 400 on the first."""
    ranking = ranked([feature("length", "2", length="1"), feature("square", "0", saw="1.5")], AXES)
    assert says(ranking) == "Length"
    assert suggested(ranking) == "Length"
    assert ranking.fits[0].error == 2


def test_two_axes_together():
    measured = [
        feature("square", "1.5", saw="1"),
        feature("length", "2", length="1"),
        feature("length again", "2", length="1"),
    ]
    ranking = ranked(measured, AXES)
    assert says(ranking) == "Saw angle and Length together"
    assert suggested(ranking) == "Saw angle"


def test_where_the_pieces_cannot_tell_the_officers_order_decides():
    """One feature that depends on two axes cannot tell them apart (0 degrees of freedom)."""
    measured = [feature("length", "2", saw="0.4", length="1")]
    assert says(ranked(measured, AXES)) == "The pieces cannot tell. Try Saw angle first"
    assert suggested(ranked(measured, ("Length", "Saw angle", "Height"))) == "Length"


def test_where_no_axis_explains_it_none_is_suggested():
    measured = [feature("a", "2", height="1"), feature("b", "-2", height="1"), feature("c", "0", height="1")]
    ranking = ranked(measured, AXES)
    assert says(ranking) == "No axis explains it"
    assert suggested(ranking) == ""


def test_features_that_no_axis_moves_suggest_nothing():
    ranking = ranked([feature("colour", "0.1")], AXES)
    assert says(ranking) == "The pieces cannot tell"
    assert suggested(ranking) == ""


@pytest.mark.parametrize(
    ("now_open", "measured", "expected"),
    [
        ([], [feature("length", "2", length="1")], set()),
        (["Length"], [feature("length", "2", length="1")], {"axis-open"}),
        ([], [], {"no-feature"}),
        (["Length"], [], {"axis-open", "no-feature"}),
    ],
)
def test_it_comes_before_an_axis_and_needs_a_feature(now_open, measured, expected):
    assert {one.code for one in against_pre_check(now_open, measured)} == expected
