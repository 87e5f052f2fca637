"""Lengths and angles as people type them: what is read, what is refused and how it is printed."""

import subprocess
import sys
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from permits.calibration.rules.lengths import (
    DENOMINATORS,
    Measure,
    NotALength,
    Unit,
    converted,
    deviation,
    from_number,
    from_record,
    parse,
    printed,
    recorded,
    shown_in,
)

MM, INCH, DEGREE = Unit.MM, Unit.INCH, Unit.DEGREE


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("92 5/8", Fraction(741, 8)),
        ("92.625", Fraction(741, 8)),
        ("5/8", Fraction(5, 8)),
        ("92", Fraction(92)),
        (".5", Fraction(1, 2)),
        ("92 10/16", Fraction(741, 8)),  # not in lowest terms is no mistake: rulers are read so
        ("  92   5/8 ", Fraction(741, 8)),
        ("92\u00a05/8", Fraction(741, 8)),
        ("92 5\u20448", Fraction(741, 8)),
        ("92 5\u22158", Fraction(741, 8)),
        ("92½", Fraction(185, 2)),
        ("92 ½", Fraction(185, 2)),
        ("½", Fraction(1, 2)),
        ("¼", Fraction(1, 4)),
        ("¾", Fraction(3, 4)),
        ("1⅛", Fraction(9, 8)),
        ("1⅜", Fraction(11, 8)),
        ("92⅝", Fraction(741, 8)),
        ("⅞", Fraction(7, 8)),
        ("92 5/8 in", Fraction(741, 8)),
        ('92 5/8"', Fraction(741, 8)),
        ("63/64", Fraction(63, 64)),
    ],
)
def test_inches_are_read_exactly(typed, value):
    assert parse(typed, INCH).value == value


@pytest.mark.parametrize(
    ("typed", "unit", "value"),
    [
        ("2352.675", MM, Fraction("2352.675")),
        ("0.1", MM, Fraction(1, 10)),
        ("2352.675 mm", MM, Fraction("2352.675")),
        ("44.75", DEGREE, Fraction("44.75")),
        ("44.75°", DEGREE, Fraction("44.75")),
        ("44.75 deg", DEGREE, Fraction("44.75")),
    ],
)
def test_millimetres_and_degrees_are_decimal(typed, unit, value):
    assert parse(typed, unit).value == value


@pytest.mark.parametrize(
    ("typed", "unit", "value"),
    [
        ("-92 5/8", INCH, -Fraction(741, 8)),
        ("+1/16", INCH, Fraction(1, 16)),
        ("−1/16", INCH, -Fraction(1, 16)),
        ("-½", INCH, -Fraction(1, 2)),
        ("-0.3", MM, -Fraction(3, 10)),
        ("-0", MM, Fraction(0)),
    ],
)
def test_a_sign_is_read_where_one_belongs(typed, unit, value):
    assert parse(typed, unit, signed=True).value == value


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("1 2/3", "denominator 3"),
        ("3/0", "divides by zero"),
        ("92 8/8", "not below one (8/8)"),
        ("92 9/8", "not below one"),
        ("92.5/8", "mixes a decimal point and a fraction"),
        ("92-5/8", "hyphen, which reads as minus; a space (92 5/8)"),
        ("92 - 5/8", "hyphen"),
        ("12,5", "comma"),
        ("", "othing was typed"),
        ("   ", "othing was typed"),
        ("-5", "has a sign (-) where none belongs"),
        ("+5", "has a sign (+) where none belongs"),
        ("92 5 /8", "space beside the slash"),
        ("92 5/ 8", "space beside the slash"),
        ("92 5/7", "denominator 7"),
        ("1⅓", "denominator 3"),
        ("1/128", "denominator 128"),
        ("0/8", "empty fraction"),
        ("1/2/2", "not one whole number and one fraction"),
        ("½½", "not one whole number and one fraction"),
        ("5/", "not one whole number and one fraction"),
        ("92.", "decimal point without digits after it"),
        ("9.2.1", "more than one point"),
        ("1 200", "space between digits"),
        ("7'", "feet are not used"),
        ("1e3", "“e” in it"),
        ("９２", "“９” in it"),
        ("nan", "“n” in it"),
        ("in", "has no digits"),
        ("92 5/8 mm", "is in millimetres where inches belong"),
        ("5 cm", "“c” in it"),
        ("1" * 16, "more than 15 digits"),
        ("0." + "1" * 16, "more than 15 digits"),
        ("1" * 9999 + "/8", "more than 15 digits"),
    ],
)
def test_anything_else_is_refused_with_what_was_wrong_and_what_is_accepted(typed, said):
    with pytest.raises(NotALength) as refused:
        parse(typed, INCH)
    assert said in str(refused.value)
    assert "Accepted: inches as 92, 92 5/8, 5/8 or 92.625" in str(refused.value)


@pytest.mark.parametrize(
    ("typed", "unit", "said"),
    [
        ("5/8", MM, "millimetres are decimal"),
        ("12,5", MM, "comma"),
        ("44 1/2", DEGREE, "degrees are decimal"),
        ("92 in", MM, "is in inches where millimetres belong"),
        ("9°", MM, "is in degrees where millimetres belong"),
    ],
)
def test_fractions_belong_to_inches_alone(typed, unit, said):
    with pytest.raises(NotALength, match=said):
        parse(typed, unit)


@pytest.mark.parametrize("typed", ["--5", "5-", "- 5", "-", "+-5", "-+"])
def test_a_sign_stands_once_and_in_front(typed):
    with pytest.raises(NotALength):
        parse(typed, MM, signed=True)


def test_a_length_keeps_the_unit_and_the_digits_that_were_typed():
    assert printed(parse("92.625", INCH)) == "92.625 in"
    assert printed(parse("92 5/8", INCH)) == "92 5/8 in"
    assert printed(parse("92 10/16", INCH)) == "92 10/16 in"
    assert printed(parse("2352.50", MM)) == "2352.50 mm"
    assert printed(parse("44.75", DEGREE)) == "44.75°"
    assert parse("92.625", INCH) == parse("92 5/8", INCH)
    assert parse("1", INCH) != parse("25.4", MM)


def test_computed_lengths_are_printed_in_their_shortest_exact_form():
    assert printed(Measure(Fraction(741, 8), INCH)) == "92 5/8 in"
    assert printed(Measure(Fraction(-1, 64), INCH)) == "-1/64 in"
    assert printed(Measure(Fraction(1, 128), INCH)) == "0.0078125 in"
    assert printed(Measure(Fraction(-3, 10), MM)) == "-0.3 mm"
    assert printed(Measure(Fraction(120), MM)) == "120 mm"
    assert printed(Measure(Fraction(1, 3), MM)) == "≈ 0.3333 mm"


def test_a_deviation_is_printed_with_its_sign():
    long = deviation(parse("92 3/4", INCH), parse("92 5/8", INCH))
    assert printed(long, plus=True) == "+1/8 in"
    assert printed(deviation(parse("92.6", INCH), parse("92 5/8", INCH)), plus=True) == "-0.025 in"
    assert printed(Measure(Fraction(1, 3), MM), plus=True) == "≈ +0.3333 mm"
    with pytest.raises(ValueError, match="Mixed units"):
        deviation(parse("1", MM), parse("1", INCH))


def test_a_converted_display_says_so_and_says_when_it_is_rounded():
    assert shown_in(parse("92 5/8", INCH), MM) == "2352.675 mm (converted from 92 5/8 in)"
    assert shown_in(parse("1000", MM), INCH) == "≈ 39.3701 in (converted from 1000 mm)"
    assert shown_in(parse("25.4", MM), INCH) == "1 in (converted from 25.4 mm)"
    assert shown_in(parse("1/64", INCH), MM) == "≈ 0.397 mm (converted from 1/64 in)"
    assert shown_in(parse("92 5/8", INCH), INCH) == "92 5/8 in"
    with pytest.raises(ValueError, match="cannot be turned into"):
        converted(parse("1", DEGREE), MM)


def test_a_json_number_is_read_as_a_decimal():
    assert from_number(Decimal("1200.3"), MM).value == Fraction(12003, 10)
    assert recorded(from_number(Decimal("1E+2"), MM)) == "100 mm"
    for odd in ("NaN", "Infinity", "1E+999999999", "1E-999999999"):
        with pytest.raises(ValueError, match="is no length"):
            from_number(Decimal(odd), MM)
    assert from_number(Decimal("0E+999999999"), MM).value == 0


def test_the_ledger_form_is_plain_and_refuses_what_has_no_exact_spelling():
    assert recorded(parse("−92⅝", INCH, signed=True)) == "-92 5/8 in"
    assert recorded(parse("44.75°", DEGREE)) == "44.75 deg"
    with pytest.raises(ValueError, match="no exact spelling"):
        recorded(Measure(Fraction(1, 3), INCH))
    with pytest.raises(NotALength, match="has no unit"):
        from_record("92")


sixty_fourths = st.integers(-(10**7), 10**7).flatmap(
    lambda top: st.sampled_from((1, *DENOMINATORS)).map(lambda bottom: Fraction(top, bottom))
)
decimals = st.decimals(-(10**6), 10**6, places=6).map(Fraction)


@given(st.one_of(sixty_fourths, decimals), st.sampled_from(Unit))
def test_what_is_printed_is_read_back_as_the_same_value(value, unit):
    measure = Measure(value, unit)
    assert parse(printed(measure), unit, signed=True) == measure
    assert from_record(recorded(measure)) == measure


@given(decimals)
def test_converting_there_and_back_changes_nothing(value):
    measure = Measure(value, INCH)
    assert converted(converted(measure, MM), INCH) == measure


@given(st.text(alphabet="0123456789 /.-+,'½⅝⁄°\"inm", max_size=12), st.sampled_from(Unit), st.booleans())
def test_whatever_is_typed_is_read_or_refused_in_words(typed, unit, signed):
    try:
        measure = parse(typed, unit, signed=signed)
    except NotALength as refused:
        said = str(refused)
    else:
        said = ""
        assert signed or measure.value >= 0
        assert from_record(recorded(measure)) == measure
    assert not said or "Accepted: " in said


def test_lengths_load_without_scipy_and_without_django():
    code = "import sys, permits.calibration.rules.lengths; "
    code += "print({'scipy', 'numpy', 'django'} & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"
