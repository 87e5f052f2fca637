"""What a correction changes in the machine, and the two ends that a value has to stay between.

An offset is a length or an angle in the axis' unit; a scale is a factor without a unit (1 changes nothing).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from permits.calibration.rules.correcting import Limits
from permits.calibration.rules.lengths import Measure, NotALength, Unit, from_record, printed, recorded

FACTOR_FORMS = "a factor as 1 or 0.9985, without a unit or a sign"
_FACTOR = re.compile(r"[0-9]{1,6}(?:\.[0-9]{1,12})?")


class Parameter(StrEnum):
    OFFSET = "offset"
    SCALE = "scale"


@dataclass(frozen=True, slots=True)
class Factor:
    """A scale, exact and as typed. Two are equal when their values are."""

    value: Fraction
    typed: str = field(compare=False)


Setting = Measure | Factor
"""A value of a machine's parameter."""


def parse_factor(typed: str) -> Factor:
    """What a person typed as a scale, above zero. Raises NotALength, which says what would be right."""
    text = typed.strip()
    if not text:
        raise NotALength(typed, "nothing was typed", FACTOR_FORMS)
    if "," in text:
        raise NotALength(typed, "has a comma; the decimal sign is a point", FACTOR_FORMS)
    if not _FACTOR.fullmatch(text):
        raise NotALength(typed, "is no factor", FACTOR_FORMS)
    value = Fraction(Decimal(text))
    if value == 0:
        raise NotALength(typed, "is zero, which would command nothing", FACTOR_FORMS)
    return Factor(value, text)


def setting_printed(setting: Setting) -> str:
    return setting.typed if isinstance(setting, Factor) else printed(setting)


def setting_recorded(setting: Setting) -> str:
    """The form for the ledger: `10.5 mm`, `1.0002`. `setting_from_record` reads it back."""
    return setting.typed if isinstance(setting, Factor) else recorded(setting)


def setting_from_record(text: str) -> Setting:
    """Reads what `setting_recorded` wrote. Raises NotALength."""
    return from_record(text) if " " in text else parse_factor(text)


@dataclass(frozen=True, slots=True)
class Range:
    """From `low` to `high`, both ends allowed. Raises ValueError for two units or wrong ends."""

    low: Setting
    high: Setting

    def __post_init__(self) -> None:
        same_kind = type(self.low) is type(self.high)
        if not same_kind or getattr(self.low, "unit", None) != getattr(self.high, "unit", None):
            raise ValueError("A range has both ends in one unit.")
        if self.low.value >= self.high.value:
            raise ValueError("A range ends above where it begins.")

    def holds(self, setting: Setting) -> bool:
        """Is it between the two ends? False for another unit."""
        same_kind = getattr(setting, "unit", None) == getattr(self.low, "unit", None)
        return same_kind and Limits(self.low.value, self.high.value).allows(setting.value)

    def __str__(self) -> str:
        """ "-25 to 25 mm", "0.98 to 1.02"."""
        low, high = setting_printed(self.low), setting_printed(self.high)
        ends = {Unit.DEGREE: "°"}
        unit = ends.get(self.high.unit, f" {self.high.unit}") if isinstance(self.high, Measure) else ""
        return f"{low.removesuffix(unit)} to {high}"


def range_from_record(low: str, high: str) -> Range | None:
    """The range of two recorded ends; None where nothing is recorded."""
    return Range(setting_from_record(low), setting_from_record(high)) if low and high else None


@dataclass(frozen=True, slots=True)
class Change:
    """One correction: a parameter, and what it was and became."""

    parameter: Parameter
    old: Setting
    new: Setting

    def undoes(self, other: Change) -> bool:
        """Does this one bring back what the other changed?"""
        return self.parameter is other.parameter and (self.old, self.new) == (other.new, other.old)

    @property
    def back(self) -> str:
        """What would undo it, in words."""
        return (
            f"set the {self.parameter} from {setting_printed(self.new)} back to {setting_printed(self.old)}"
        )
