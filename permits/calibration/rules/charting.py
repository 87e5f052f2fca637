"""Individuals and moving-range charts of one axis over time, and the run rules that speak on them.

Constants for ranges of two: d₂ = 1.128, D₄ = 3.267 (table of control-chart constants), so the limits are
x̄ ± 3·MR̄/1.128 = x̄ ± 2.66 MR̄ for the values and 3.267·MR̄ for their moving ranges, whose lower limit is 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from permits.calibration.rules import fitting

D2 = Fraction("1.128")
D4 = Fraction("3.267")
ENOUGH = 20  # values before limits are firm (common practice)
RUN = 8  # on one side of the centre (Western Electric's zone rules, 1956)
TREND = 6  # each further than the last, the same way (Nelson's rule 3, 1984)


@dataclass(frozen=True, slots=True)
class Chart:
    """Limits of an individuals chart and of its moving-range chart, exact, in the unit of the values."""

    values: tuple[Fraction, ...]
    ranges: tuple[Fraction, ...]
    """One fewer than values: |value − the one before|."""
    centre: Fraction
    lower: Fraction
    upper: Fraction
    range_centre: Fraction
    range_upper: Fraction

    @property
    def provisional(self) -> bool:
        """Too few values for limits that hold."""
        return len(self.values) < ENOUGH


class Rule(StrEnum):
    BEYOND = "beyond a limit"
    RANGE = "moving range beyond its limit"
    RUN = f"{RUN} in a row on one side of the centre"
    TREND = f"{TREND} in a row rising or falling"


@dataclass(frozen=True, slots=True)
class Signal:
    """A rule that spoke: from the value at index `first` to the one at `last`, both included."""

    rule: Rule
    first: int
    last: int


def chart(values: Sequence[Fraction]) -> Chart | None:
    """The chart of values in the order they were taken; None for fewer than two, which have no range."""
    if len(values) < 2:
        return None
    ranges = tuple(abs(after - before) for before, after in pairwise(values))
    centre, range_centre = fitting.mean(values), fitting.mean(ranges)
    reach = 3 * range_centre / D2
    return Chart(
        tuple(values), ranges, centre, centre - reach, centre + reach, range_centre, D4 * range_centre
    )


def signals(chart: Chart) -> list[Signal]:
    """Where the axis has changed rather than varied, in the order of the values at which it shows."""
    found = [
        Signal(Rule.BEYOND, at, at)
        for at, value in enumerate(chart.values)
        if not chart.lower <= value <= chart.upper
    ]
    found += [
        Signal(Rule.RANGE, at, at + 1) for at, moved in enumerate(chart.ranges) if moved > chart.range_upper
    ]
    sides = [_sign(value - chart.centre) for value in chart.values]
    found += [Signal(Rule.RUN, first, last) for first, last in _stretches(sides, RUN)]
    steps = [_sign(after - before) for before, after in pairwise(chart.values)]
    found += [Signal(Rule.TREND, first, last + 1) for first, last in _stretches(steps, TREND - 1)]
    return sorted(found, key=lambda signal: (signal.last, signal.first))


def _sign(value: Fraction) -> int:
    return (value > 0) - (value < 0)


def _stretches(signs: Sequence[int], least: int) -> list[tuple[int, int]]:
    """First and last index of each longest stretch of one sign, not 0, of at least this many."""
    found, first = [], 0
    for at in range(1, len(signs) + 1):
        if at == len(signs) or signs[at] != signs[first]:
            if signs[first] and at - first >= least:
                found.append((first, at - 1))
            first = at
    return found
