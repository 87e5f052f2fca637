"""Adjust or leave: what the readings of one axis say, with a guard band for their uncertainty.

Deviation d = measured − nominal. mean and s are those of the deviations, and

    u = √(s²/n + (U/k)² + resolution²/12)          U₉₅ = t₀.₉₇₅(ν) · u

with ν by Welch–Satterthwaite (GUM G.4.1), the instrument's two terms having infinitely many degrees of
freedom, ν not truncated; infinite where s = 0, and then t = 1.959964.

One or two distinct nominals: |mean| ≤ tolerance − U₉₅ is *leave*, |mean| > tolerance + U₉₅ is *adjust*,
anything between is *measure again* (guard band w = U, ILAC-G8:09/2019).

Three or more: least squares of measured on nominal. The scale term is significant if the t test of
slope = 1 has p < 0.05; a perfect fit with another slope has p = 0, one with slope 1 has p = 1. If it is not,
the mean is judged as above. If it is, the fitted deviation of largest size over the nominals used is judged,
with the uncertainty of that fitted value, √(u_fit² + (U/k)² + resolution²/12), and t at n − 2; of two equal
ones, the less certain. mean, s, u, ν and U₉₅ in the answer stay those of the mean; `judged` has what was
decided on.

More readings, for *measure again* only: the smallest m with t(ν_m) · √(s²/m + u_B²) ≤ ||judged| − tolerance|,
minus n, where s stays as it is, u_B² is the instrument's part and ν_m goes with m − 1. Where a fitted value
was judged, its variance is taken to fall as 1/m with the pieces spread over the nominals as they are, and
ν_m = m − 2. None where no number of pieces will do. All from exact deviations; floats only at the very end.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from permits.calibration.rules import fitting
from permits.calibration.rules.correcting import Correction, by_line, by_mean
from permits.calibration.rules.distributions import NORMAL_975, t_975, t_two_sided_p
from permits.calibration.rules.lengths import Unit
from permits.calibration.rules.settling import readings_needed

SIGNIFICANT = 0.05


class Decision(StrEnum):
    LEAVE = "leave"
    ADJUST = "adjust"
    MEASURE_AGAIN = "measure again"


@dataclass(frozen=True, slots=True)
class Instrument:
    """What the readings were taken with: U and its k from the calibration certificate, and the resolution.

    U and resolution in the unit of the readings. Raises ValueError for what cannot be.
    """

    expanded_uncertainty: Fraction
    coverage_factor: Fraction
    resolution: Fraction

    def __post_init__(self) -> None:
        if self.expanded_uncertainty < 0 or self.resolution < 0 or self.coverage_factor <= 0:
            raise ValueError("Uncertainty and resolution must not be negative, the coverage factor above 0.")

    @property
    def variance(self) -> Fraction:
        """u_B² = (U/k)² + resolution²/12 (a reading stands for ± half a step, rectangular: GUM F.2.2.1)."""
        return (self.expanded_uncertainty / self.coverage_factor) ** 2 + self.resolution**2 / 12


@dataclass(frozen=True, slots=True)
class Reading:
    """One piece: the size that was asked for and the size that was measured, in one unit."""

    nominal: Fraction
    measured: Fraction

    @property
    def deviation(self) -> Fraction:
        return self.measured - self.nominal


@dataclass(frozen=True, slots=True)
class Question:
    """Readings of one axis and what they are held against; one unit for all of it.

    Raises ValueError for a tolerance that is not above 0, or no readings.
    """

    unit: Unit
    tolerance: Fraction
    instrument: Instrument
    readings: tuple[Reading, ...]

    def __post_init__(self) -> None:
        if self.tolerance <= 0:
            raise ValueError("The tolerance must be above 0.")
        if not self.readings:
            raise ValueError("There are no readings; at least one would be right.")


@dataclass(frozen=True, slots=True)
class Judged:
    """The deviation that was decided on. `nominal`: where the fitted one is largest; None for the mean."""

    value: Fraction
    nominal: Fraction | None
    piece: Fraction
    """Variance of one piece's share: of the value itself it is piece/n."""
    df: float
    expanded_uncertainty: Fraction


@dataclass(frozen=True, slots=True)
class Assessment:
    """What the readings say. What needs two readings is None for one; what needs three nominals likewise."""

    question: Question
    mean: Fraction
    s: float | None
    standard_uncertainty: float | None
    df: float | None
    expanded_uncertainty: float | None
    decision: Decision
    judged: Judged | None
    scatter: bool
    """The mean is within tolerance but t₀.₉₇₅(n − 1) · s is not."""
    line_scatter: bool
    """The same of the pieces about the fitted line, where that line is judged."""
    more_readings: int | None
    line: fitting.Line | None
    slope_p: float | None
    correction: Correction

    @property
    def n(self) -> int:
        return len(self.question.readings)

    @property
    def pieces_scatter(self) -> bool:
        """Do single pieces break the tolerance, about the line where that is judged, else about the mean?"""
        by_line = self.judged is not None and self.judged.nominal is not None
        return self.line_scatter if by_line else self.scatter


def assess(question: Question) -> Assessment:
    """Decides *leave*, *adjust* or *measure again*; the rules stand at the head of this file."""
    deviations = [reading.deviation for reading in question.readings]
    nominals = {reading.nominal for reading in question.readings}
    n, mean = len(deviations), fitting.mean(deviations)
    correction = by_mean(mean, distinct_nominals=len(nominals))
    if n < 2:
        return Assessment(
            question, mean, None, None, None, None, Decision.MEASURE_AGAIN,
            None, False, False, None, None, None, correction,
        )  # fmt: skip
    piece, instrument = fitting.variance(deviations), question.instrument.variance
    square = piece / n + instrument
    df = _effective_df(piece, instrument, n)
    of_mean = Judged(mean, None, piece, df, _expanded(square, df))
    judged, line, slope_p = of_mean, None, None
    if len(nominals) >= 3:
        line = fitting.line([r.nominal for r in question.readings], [r.measured for r in question.readings])
        slope_p = _p_of_slope_one(line)
        if slope_p < SIGNIFICANT:
            judged, correction = _largest_fitted(line, nominals, instrument), by_line(line)
    decision = decide(judged.value, question.tolerance, judged.expanded_uncertainty)
    within = abs(mean) <= question.tolerance
    return Assessment(
        question,
        mean,
        s=float(fitting.root(piece)),
        standard_uncertainty=float(fitting.root(square)),
        df=df,
        expanded_uncertainty=float(of_mean.expanded_uncertainty),
        decision=decision,
        judged=judged,
        scatter=within and t_975(n - 1) * fitting.root(piece) > question.tolerance,
        line_scatter=judged.nominal is not None
        and abs(judged.value) <= question.tolerance
        and t_975(n - 2) * fitting.root(line.residual_variance if line else Fraction(0)) > question.tolerance,
        more_readings=_more(question, judged) if decision is Decision.MEASURE_AGAIN else None,
        line=line,
        slope_p=slope_p,
        correction=correction,
    )


def decide(value: Fraction, tolerance: Fraction, expanded_uncertainty: Fraction) -> Decision:
    """The guarded decision on one deviation (its size counts, not its sign)."""
    if abs(value) <= tolerance - expanded_uncertainty:
        return Decision.LEAVE
    if abs(value) > tolerance + expanded_uncertainty:
        return Decision.ADJUST
    return Decision.MEASURE_AGAIN


def _effective_df(piece: Fraction, instrument: Fraction, n: int) -> float:
    """ν = u⁴ / ((s²/n)²/(n − 1)), the other terms having infinitely many."""
    if piece == 0:
        return math.inf
    share = piece / n
    try:
        return float((n - 1) * ((share + instrument) / share) ** 2)
    except OverflowError:
        return math.inf


def _expanded(square: Fraction, df: float) -> Fraction:
    """t·u, exact where both are, so that a deviation right on the guard band falls on the right side."""
    return (NORMAL_975 if math.isinf(df) else Fraction(t_975(df))) * fitting.root(square)


def _p_of_slope_one(line: fitting.Line) -> float:
    if line.residual_ss == 0:
        return 1.0 if line.slope == 1 else 0.0
    return t_two_sided_p(math.sqrt((line.slope - 1) ** 2 / line.slope_variance), line.df)


def _largest_fitted(line: fitting.Line, nominals: set[Fraction], instrument: Fraction) -> Judged:
    at = max(nominals, key=lambda x: (abs(line.at(x) - x), line.leverage(x)))
    square = line.variance_at(at)
    return Judged(line.at(at) - at, at, square * line.n, line.df, _expanded(square + instrument, line.df))


def _more(question: Question, judged: Judged) -> int | None:
    """How many readings beyond those there are would settle it; None where no number does."""
    n, piece, instrument = len(question.readings), judged.piece, question.instrument.variance
    gap = abs(abs(judged.value) - question.tolerance)
    # No number of pieces brings U₉₅ below what the instrument alone leaves.
    if judged.nominal is None and piece == 0:
        return None
    if NORMAL_975**2 * instrument >= gap**2:
        return None
    m = readings_needed(
        gap=float(gap),
        piece=float(piece),
        instrument=float(instrument),
        df=(lambda m: _effective_df(piece, instrument, m)) if judged.nominal is None else (lambda m: m - 2),
        least=n + 1,
    )
    return None if m is None else m - n
