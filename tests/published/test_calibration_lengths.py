"""Inches and millimetres against the definition of the inch."""

from fractions import Fraction

import pytest

from permits.calibration.rules.lengths import MM_PER_INCH, Unit, converted, parse, printed, shown_in


def test_an_inch_is_25_4_mm_exactly():
    """1 yd = 0.9144 m exactly, from 1 July 1959 (NBS Circular 572, addendum)."""
    yard_in_mm = Fraction("914.4")
    assert yard_in_mm / 36 == MM_PER_INCH


# By exact arithmetic from the definition [V]. 92 5/8 in: the usual precut stud in US framing [M].
@pytest.mark.parametrize(
    ("inches", "mm"),
    [
        ("1/64", "0.396875"), ("1/32", "0.79375"), ("1/16", "1.5875"), ("3", "76.2"), ("14 1/2", "368.3"),
        ("48", "1219.2"), ("92 5/8", "2352.675"), ("96", "2438.4"), ("192", "4876.8"), ("1 1/2", "38.1"),
        ("3 1/2", "88.9"),
    ],
)  # fmt: skip
def test_conversions(inches, mm):
    measure = converted(parse(inches, Unit.INCH), Unit.MM)
    assert measure.value == Fraction(mm)
    assert printed(measure) == f"{mm} mm"
    assert converted(parse(mm, Unit.MM), Unit.INCH).value == parse(inches, Unit.INCH).value


def test_rounding_is_marked():
    """1000 mm is no whole number of 64ths: the nearest 16th, 39 3/8 in, is 1000.125 mm [V]."""
    assert shown_in(parse("39 3/8", Unit.INCH), Unit.MM) == "1000.125 mm (converted from 39 3/8 in)"
    assert shown_in(parse("1000", Unit.MM), Unit.INCH).startswith("≈ ")
