"""The correction that makes the fitted deviation zero, its way into machine parameters, and its result.

Sign and formula. A deviation is measured − nominal, so a piece that is too long has a positive one.
The corrected command for a nominal x is

    command(x) = scale · x + offset

Below three distinct nominals, or where the scale term is not significant: scale = 1 (None below three
nominals, where it cannot be known) and offset = −mean deviation. Pieces 0.3 too long: offset −0.3.

Where the scale term is significant and the fitted line is measured = a + b·x: scale = 1/b and offset = −a/b,
because a + b·(x/b − a/b) = x for every x. The same two numbers turn a reading into the size it should have
shown, scale · measured + offset. With b = 0 the readings do not follow the command at all: both are None.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from permits.calibration.rules.fitting import Line


@dataclass(frozen=True, slots=True)
class Correction:
    """What to add and, where `scale_significant`, to multiply by. Exact; see the head of this file."""

    offset: Fraction | None
    scale: Fraction | None
    scale_significant: bool | None

    def command(self, nominal: Fraction) -> Fraction:
        """What to command for a piece of this nominal size. Raises ValueError where none can be had."""
        if self.offset is None:
            raise ValueError("The readings do not follow the nominals; no correction can make them.")
        return (1 if self.scale is None else self.scale) * nominal + self.offset


def by_mean(mean_deviation: Fraction, *, distinct_nominals: int) -> Correction:
    """An offset alone: three nominals or more have shown that the scale is not to blame."""
    known = distinct_nominals >= 3
    return Correction(-mean_deviation, Fraction(1) if known else None, False if known else None)


def by_line(line: Line) -> Correction:
    """Offset and scale from a line whose slope differs significantly from 1."""
    if line.slope == 0:
        return Correction(None, None, True)
    return Correction(-line.intercept / line.slope, 1 / line.slope, True)


@dataclass(frozen=True, slots=True)
class Parameters:
    """What the machine holds for one axis: it moves to scale · command + offset."""

    offset: Fraction
    scale: Fraction = Fraction(1)


@dataclass(frozen=True, slots=True)
class Limits:
    """How far a correction may take a parameter, both ends allowed, and the step in which it is entered."""

    low: Fraction
    high: Fraction
    step: Fraction | None = None

    def nearest(self, value: Fraction) -> Fraction:
        """The value rounded half to even to a whole number of steps; unchanged where there is no step."""
        return value if self.step is None else round(value / self.step) * self.step

    def allows(self, value: Fraction) -> bool:
        return self.low <= value <= self.high


def proposed(old: Parameters, correction: Correction) -> Parameters:
    """The parameters that give the corrected command: the machine's own map after the correction.

    scale' = scale · correction scale, offset' = offset + scale · correction offset. Raises ValueError where
    no correction can be had.
    """
    if correction.offset is None:
        raise ValueError("The readings do not follow the nominals; no correction can make them.")
    factor = Fraction(1) if correction.scale is None else correction.scale
    return Parameters(old.offset + old.scale * correction.offset, old.scale * factor)


class Outcome(StrEnum):
    WORKED = "worked"
    NOT_PROVEN = "not proven"
    WORSE = "worse"


def outcome(*, as_found: Fraction, as_left: Fraction, left_within: bool) -> Outcome:
    """What fresh pieces say of a correction, from the judged deviation before and after.

    WORSE: further from zero than it was found, so going back to the saved settings is suggested.
    WORKED: `left_within`, which is the decision *leave* on the as-left readings. Otherwise NOT_PROVEN.
    """
    if abs(as_left) > abs(as_found):
        return Outcome.WORSE
    return Outcome.WORKED if left_within else Outcome.NOT_PROVEN
