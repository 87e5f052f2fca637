"""Lengths and angles as people type them, exact in the unit they were typed in, and printed the same way.

Inches are a whole number, a space and a fraction (`92 5/8`), a fraction (`5/8`) or a decimal (`92.625`);
millimetres and degrees are decimals. A fraction slash (U+2044, U+2215) and ½ ¼ ¾ ⅛ ⅜ ⅝ ⅞ are read too.
Nothing here is ever a float. 1 in = 25.4 mm exactly (yard and pound agreement in force since 1 July 1959).
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction


class Unit(StrEnum):
    MM = "mm"
    INCH = "in"
    DEGREE = "deg"


MM_PER_INCH = Fraction(254, 10)
DENOMINATORS = (2, 4, 8, 16, 32, 64)
_LONGEST = 15  # digits before the point, and after it: far more than any machine has

_SLASHES = str.maketrans({"\u2044": "/", "\u2215": "/", "\uff0f": "/", "\u2212": "-", "\u2013": "-"})
_ONE_SIGN_FRACTION = re.compile("[½¼¾⅛⅜⅝⅞⅓⅔⅕⅖⅗⅘⅙⅚⅐⅑⅒]")
_SUFFIX = re.compile(r'\s*(mm|inches|inch|in|"|″|”|°|deg)$', re.IGNORECASE)
_SUFFIX_UNIT = {"mm": Unit.MM, "°": Unit.DEGREE, "deg": Unit.DEGREE}
_FRACTION = re.compile(r"(?:([0-9]+) )?([0-9]+)/([0-9]+)")
_DECIMAL = re.compile(r"[0-9]+(?:\.[0-9]+)?|\.[0-9]+")
_NAMES = {Unit.MM: "millimetres", Unit.INCH: "inches", Unit.DEGREE: "degrees"}


class NotALength(ValueError):
    """What was typed cannot be read. `wrong` says why, `forms` what is accepted; `str()` gives both."""

    def __init__(self, typed: str, wrong: str, forms: str) -> None:
        super().__init__(typed, wrong, forms)
        self.typed, self.wrong, self.forms = typed, wrong, forms

    def __str__(self) -> str:
        what = f"“{self.typed[:40]}” {self.wrong}." if self.typed.strip() else f"{self.wrong}."
        return f"{what[0].upper()}{what[1:]} Accepted: {self.forms}."


@dataclass(frozen=True, slots=True)
class Measure:
    """A length or an angle: an exact value in its own unit, and the digits as they were typed ("" where it
    was computed). Two are equal when value and unit are: 25.4 mm and 1 in are not the same entry."""

    value: Fraction
    unit: Unit
    typed: str = field(default="", compare=False)


def accepted_forms(unit: Unit, *, signed: bool = False) -> str:
    """What may be typed, in words, for the hint beside a field and for its refusal."""
    forms = {
        Unit.INCH: "inches as 92, 92 5/8, 5/8 or 92.625 (denominator 2, 4, 8, 16, 32 or 64)",
        Unit.MM: "millimetres as 2352 or 2352.675",
        Unit.DEGREE: "decimal degrees as 45 or 44.75",
    }[unit]
    return f"{forms}, with + or - in front" if signed else f"{forms}, without a sign"


def parse(typed: str, unit: Unit, *, signed: bool = False) -> Measure:
    """What a person typed, in `unit`, exact. A unit may follow the digits if it is the same one.

    `signed` allows a leading + or - (deviations, corrections). Raises NotALength.
    """

    def no(wrong: str) -> NotALength:
        return NotALength(typed, wrong, accepted_forms(unit, signed=signed))

    text = _one_spelling(typed)
    if not text:
        raise no("nothing was typed")
    if suffix := _SUFFIX.search(text):
        given = _SUFFIX_UNIT.get(suffix[1].casefold(), Unit.INCH)
        if given is not unit:
            raise no(f"is in {_NAMES[given]} where {_NAMES[unit]} belong")
        text = text[: suffix.start()]
    sign, body = (text[0], text[1:]) if text[:1] in {"+", "-"} else ("", text)
    if sign and not signed:
        raise no(f"has a sign ({sign}) where none belongs")
    if wrong := _what_is_wrong(body, unit):
        raise no(wrong)
    if fraction := _FRACTION.fullmatch(body):
        whole, numerator, denominator = fraction.groups()
        value = int(whole or 0) + Fraction(int(numerator), int(denominator))
    else:
        value = Fraction(Decimal(body))
    return Measure(-value if sign == "-" else value, unit, sign + body)


def from_number(number: Decimal | int, unit: Unit) -> Measure:
    """A decimal that came as a number (JSON, a database column), exact. Raises ValueError for what is not
    finite, not below 10¹⁵, or so near zero that only a slip of the exponent can mean it."""
    number = Decimal(number)
    if not number.is_finite() or (number and not -50 <= number.adjusted() < _LONGEST):
        raise ValueError(f"{number} is no length; a finite number of ordinary size would be right.")
    digits = f"{number:f}" if number else "0"
    return Measure(Fraction(digits), unit, digits)


def deviation(measured: Measure, nominal: Measure) -> Measure:
    """measured − nominal, exact: positive when the piece is too long. Raises ValueError for mixed units."""
    if measured.unit is not nominal.unit:
        raise ValueError(
            f"Mixed units: measured in {_NAMES[measured.unit]}, nominal in {_NAMES[nominal.unit]}; "
            "the same unit for both would be right."
        )
    return Measure(measured.value - nominal.value, measured.unit)


def converted(measure: Measure, unit: Unit) -> Measure:
    """The same length in another unit, exact. Raises ValueError between a length and an angle."""
    if measure.unit is unit:
        return measure
    if Unit.DEGREE in (measure.unit, unit):
        raise ValueError(f"{_NAMES[measure.unit]} cannot be turned into {_NAMES[unit]}.")
    factor = MM_PER_INCH if unit is Unit.MM else 1 / MM_PER_INCH
    return Measure(measure.value * factor, unit)


def printed(measure: Measure, *, plus: bool = False) -> str:
    """Digits and unit: `92 5/8 in`, `-0.3 mm`, `44.75°`. As typed where it was typed. `plus` writes the sign
    of what is above zero. A value that has no finite decimal is rounded and marked `≈`."""
    digits = measure.typed or exact_digits(measure.value, measure.unit)
    digits = digits or "≈ " + rounded(measure.value, 4)
    if plus and measure.value > 0 and not digits.startswith("+"):
        digits = f"≈ +{digits[2:]}" if digits.startswith("≈") else f"+{digits}"
    return digits + ("°" if measure.unit is Unit.DEGREE else f" {measure.unit}")


def shown_in(measure: Measure, unit: Unit, *, places: int | None = None) -> str:
    """The length in the reader's unit and as it was typed: `2352.675 mm (converted from 92 5/8 in)`.

    What does not come out in at most `places` decimals (3 for mm, 4 for in) is rounded and marked `≈`.
    """
    if measure.unit is unit:
        return printed(measure)
    value = converted(measure, unit).value
    places = places if places is not None else {Unit.MM: 3, Unit.INCH: 4}.get(unit, 4)
    short = rounded(value, places)
    mark = "" if Fraction(short) == value else "≈ "
    digits = exact_digits(value, unit) if not mark and unit is Unit.INCH else short
    return f"{mark}{digits} {unit} (converted from {printed(measure)})"


def recorded(measure: Measure) -> str:
    """The form for the ledger: digits and unit in ASCII, `92 5/8 in`. `from_record` reads it back.

    Raises ValueError where the value has no exact spelling (a third of an inch): such a value was computed,
    and is rounded by whoever enters it.
    """
    digits = measure.typed or exact_digits(measure.value, measure.unit)
    if not digits:
        raise ValueError(
            f"{measure.value} {measure.unit} has no exact spelling; a rounded value would be right."
        )
    return f"{digits} {measure.unit}"


def from_record(text: str) -> Measure:
    """Reads what `recorded` wrote. Raises NotALength."""
    digits, _, unit = text.rpartition(" ")
    if unit not in set(Unit):
        raise NotALength(text, "has no unit", "digits, a space and one of mm, in, deg")
    return parse(digits, Unit(unit), signed=True)


def exact_digits(value: Fraction, unit: Unit) -> str:
    """The shortest exact spelling: a fraction for inches down to 64ths, else a decimal; "" if none."""
    if unit is Unit.INCH and value.denominator in DENOMINATORS:
        whole, numerator = divmod(abs(value.numerator), value.denominator)
        sign = "-" if value < 0 else ""
        return f"{sign}{f'{whole} ' if whole else ''}{numerator}/{value.denominator}"
    rest, places = value.denominator, 0
    for prime in (2, 5):
        count = 0
        while rest % prime == 0:
            rest, count = rest // prime, count + 1
        places = max(places, count)
    return rounded(value, places) if rest == 1 else ""


def rounded(value: Fraction, places: int) -> str:
    """The value in decimals, rounded half to even at `places`, without trailing zeros."""
    scaled = round(value * 10**places)
    digits = str(abs(scaled)).rjust(places + 1, "0")
    whole, decimals = (digits[:-places], digits[-places:].rstrip("0")) if places else (digits, "")
    return ("-" if scaled < 0 else "") + whole + (f".{decimals}" if decimals else "")


def _one_spelling(typed: str) -> str:
    """Spaces of any kind as one, slashes and minus signs of any kind as ASCII, ½ as ` 1/2`."""
    text = _ONE_SIGN_FRACTION.sub(lambda sign: " " + unicodedata.normalize("NFKC", sign[0]) + " ", typed)
    text = " ".join(text.translate(_SLASHES).split())
    return re.sub(r"^([+-]) (?=[0-9]+/)", r"\1", text) if _ONE_SIGN_FRACTION.search(typed) else text


def _what_is_wrong(body: str, unit: Unit) -> str:
    """Why these digits are no measure in this unit, in words; "" if they are one."""
    if not body.strip():
        return "has no digits"
    if body[0] == " ":
        return "has a space after the sign"
    if "," in body:
        return "has a comma; the decimal sign is a point"
    if "'" in body or "′" in body:
        return "has a foot mark; feet are not used"
    if strange := re.search(r"[^0-9./+\- ]", body):
        return f"has “{strange[0]}” in it"
    if "/" in body:
        return _what_is_wrong_with_fraction(body, unit)
    if "-" in body or "+" in body:
        return "has a sign inside or more than one"
    if " " in body:
        return "has a space between digits"
    if not _DECIMAL.fullmatch(body):
        return "has a decimal point without digits after it, or more than one point"
    if max(map(len, body.split("."))) > _LONGEST:
        return f"has more than {_LONGEST} digits on one side of the point"
    return ""


def _what_is_wrong_with_fraction(body: str, unit: Unit) -> str:
    if unit is not Unit.INCH:
        return f"is a fraction; {_NAMES[unit]} are decimal"
    if "." in body:
        return "mixes a decimal point and a fraction"
    if joined := re.fullmatch(r"([0-9]+) ?- ?([0-9]+/[0-9]+)", body):
        return f"has a hyphen, which reads as minus; a space ({joined[1]} {joined[2]}) would be right"
    fraction = _FRACTION.fullmatch(body)
    if not fraction:
        if re.fullmatch(r"[0-9 ]+/[0-9 ]+", body) and (" /" in body or "/ " in body):
            return "has a space beside the slash"
        return "is not one whole number and one fraction"
    if max(len(part or "") for part in fraction.groups()) > _LONGEST:
        return f"has a number of more than {_LONGEST} digits"
    numerator, denominator = int(fraction[2]), int(fraction[3])
    if denominator == 0:
        return "divides by zero"
    if denominator not in DENOMINATORS:
        return f"has the denominator {denominator}, which is none of 2, 4, 8, 16, 32, 64"
    if numerator >= denominator:
        return f"has a fraction that is not below one ({numerator}/{denominator})"
    if numerator == 0:
        return f"has an empty fraction (0/{denominator}); leave it out"
    return ""
