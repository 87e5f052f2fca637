"""How fast an axis drifts between calibrations, when it will leave its tolerance, and needless adjustments.

Corrections are taken out first: the path that the axis would have followed had nobody touched it is each
as-found value plus everything that earlier corrections took away (as found − as left). A straight line by
least squares through that path gives the drift per day.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction

from permits.calibration.rules import fitting
from permits.calibration.rules.deciding import SIGNIFICANT, Decision
from permits.calibration.rules.distributions import t_975, t_two_sided_p


@dataclass(frozen=True, slots=True)
class Visit:
    """One calibration of the axis: the judged deviation as found and, after a correction, as left."""

    at: datetime
    as_found: Fraction
    decision: Decision | None
    """None where it is not known: a result taken over from paper."""
    as_left: Fraction | None = None
    """None where nothing was adjusted: it was left as it was found."""

    @property
    def left_at(self) -> Fraction:
        return self.as_found if self.as_left is None else self.as_left


@dataclass(frozen=True, slots=True)
class Drift:
    """Drift in units per day with its standard uncertainty, and the two-sided p value of "no drift".

    `leaves_at`: when the axis reaches its tolerance at this rate from where it was last left; `earliest`: at
    the fastest rate that the data allow (95 %). Both None where no drift is shown (p ≥ 0.05) or the axis was
    left outside already.
    """

    per_day: Fraction
    uncertainty: float
    p: float
    leaves_at: datetime | None
    earliest: datetime | None

    @property
    def shown(self) -> bool:
        return self.p < SIGNIFICANT


def drift(visits: Sequence[Visit], *, tolerance: Fraction) -> Drift | None:
    """The drift over visits in the order of time; None for fewer than three visits, or all at one time."""
    if len(visits) < 3 or len({visit.at for visit in visits}) < 2:
        return None
    days = [_days(visit.at - visits[0].at) for visit in visits]
    path, taken = [], Fraction(0)
    for visit in visits:
        path.append(visit.as_found + taken)
        taken += visit.as_found - visit.left_at
    line = fitting.line(days, path)
    square = line.slope_variance
    if square == 0:
        p = 1.0 if line.slope == 0 else 0.0
    else:
        p = t_two_sided_p(math.sqrt(line.slope**2 / square), line.df)
    leaves = earliest = None
    if p < SIGNIFICANT:
        last = visits[-1]
        reach = Fraction(t_975(line.df)) * fitting.root(square)
        leaves = _leaves(last, line.slope, tolerance)
        earliest = _leaves(last, line.slope + (reach if line.slope > 0 else -reach), tolerance)
    return Drift(line.slope, float(fitting.root(square)), p, leaves, earliest)


@dataclass(frozen=True, slots=True)
class Adjustments:
    """How often an axis was adjusted, and how many of those times the readings said *leave*."""

    made: int
    for_nothing: int


def adjustments(visits: Sequence[Visit]) -> Adjustments:
    """Counts corrections, and those against the decision to leave: each adds variance and cures nothing."""
    made = [visit for visit in visits if visit.as_left is not None]
    return Adjustments(len(made), sum(visit.decision is Decision.LEAVE for visit in made))


def _days(span: timedelta) -> Fraction:
    return Fraction(span // timedelta(microseconds=1), 86_400_000_000)


def _leaves(last: Visit, per_day: Fraction, tolerance: Fraction) -> datetime | None:
    """When ±tolerance is reached from where the axis was last left; None if it is outside, or out of date."""
    if abs(last.left_at) > tolerance:
        return None
    days = ((tolerance if per_day > 0 else -tolerance) - last.left_at) / per_day
    try:
        return last.at + timedelta(days=float(days))
    except OverflowError:
        return None
