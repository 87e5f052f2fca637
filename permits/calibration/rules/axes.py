"""Which axis explains what the pre-check pieces show: weighted least squares of one axis, then of two.

Each feature i of a test piece deviates by d_i ± u_i and depends on the axes through sensitivities s_i,a
(deviation per unit of the axis' error). For one axis alone, with weights 1/u_i²:

    error e = Σ(s·d/u²) / Σ(s²/u²)     u(e) = 1/√Σ(s²/u²)     χ² = Σ((d − s·e)/u)²     dof = features − 1

p is the probability of a χ² at least as large. Axes are ranked by χ², the site's order breaking ties. An axis
with no sensitivity to any feature explains nothing: its error cannot be had and its χ² is Σ(d/u)².

Verdict. One feature: undetermined. Otherwise the first axis of the ranking, if its p ≥ 0.05 and the χ² of
the runner-up is at least 3.84 higher (95 % point of χ² with 1 degree of freedom) or there is no other axis;
undetermined if the runner-up is closer. Where no axis has p ≥ 0.05: the pair of least χ² among those with
dof = features − 2 ≥ 1 and independent sensitivities, if its p ≥ 0.05; else none.

Undetermined: `try_first` is the site's order among the axes that remain: those that influence a measured
feature and whose χ² is less than 3.84 above the least. The site's order is given, or is the angle axis first
(common practice) and then the axes as listed. Sums are exact; floats only at the end.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from operator import mul

from permits.calibration.rules.distributions import chi2_above
from permits.calibration.rules.fitting import root, whole

EXPLAINS = 0.05
APART = Fraction(384, 100)
PAIR, NONE, UNDETERMINED = "pair", "none", "undetermined"


@dataclass(frozen=True, slots=True)
class Feature:
    """One size of a test piece: its deviation, the standard uncertainty of that (> 0), and by axis name how
    much it moves per unit of an axis' error (0 where the axis is not named)."""

    name: str
    deviation: Fraction
    uncertainty: Fraction
    sensitivities: Mapping[str, Fraction]

    def scaled(self, axis: str) -> Fraction:
        return self.sensitivities.get(axis, Fraction(0)) / self.uncertainty


@dataclass(frozen=True, slots=True)
class AxisFit:
    """One axis as the only cause. `error` and its uncertainty are None where nothing depends on the axis;
    `p` is None without degrees of freedom."""

    axis: str
    error: Fraction | None
    uncertainty: Fraction | None
    chi2: Fraction
    dof: int
    p: float | None


@dataclass(frozen=True, slots=True)
class PairFit:
    """Two axes together as the cause, in the site's order."""

    axes: tuple[str, str]
    errors: tuple[Fraction, Fraction]
    uncertainties: tuple[Fraction, Fraction]
    chi2: float
    dof: int
    p: float


@dataclass(frozen=True, slots=True)
class Ranking:
    """Axes by χ², the verdict (an axis' name, "pair", "none" or "undetermined"), the best pair where the
    verdict is one, and what to try first where the data cannot tell."""

    fits: tuple[AxisFit, ...]
    verdict: str
    pair: PairFit | None
    try_first: tuple[str, ...] | None


def site_order(axes: Sequence[str], order: Sequence[str] | None = None) -> tuple[str, ...]:
    """The axes in the order given, those it leaves out after it as listed; or by default angle first."""
    first = order if order is not None else [axis for axis in axes if axis.casefold() == "angle"]
    return (*first, *(axis for axis in axes if axis not in first))


def rank(features: Sequence[Feature], order: Sequence[str]) -> Ranking:
    """Ranks the axes in `order` (the site's) by how well each alone explains the features (at least one)."""
    sums = _Sums(features, order)
    fits = sorted((_fit(sums, axis) for axis in order), key=lambda fit: (fit.chi2, fit.error is None))
    best = fits[0]
    if best.p is None:
        return Ranking(tuple(fits), UNDETERMINED, None, _remaining(fits, order))
    if best.p >= EXPLAINS:
        if best.error is not None and (len(fits) == 1 or fits[1].chi2 - best.chi2 >= APART):
            return Ranking(tuple(fits), best.axis, None, None)
        return Ranking(tuple(fits), UNDETERMINED, None, _remaining(fits, order))
    pair = _best_pair(sums, order)
    if pair and pair.p >= EXPLAINS:
        return Ranking(tuple(fits), PAIR, pair, None)
    return Ranking(tuple(fits), NONE, None, None)


class _Sums:
    """Weighted sums of products over the features as whole numbers, each over the same `square`: of the
    sensitivities to two axes, of those and the deviations, and (`total`) of the deviations."""

    def __init__(self, features: Sequence[Feature], axes: Sequence[str]) -> None:
        n = self.features = len(features)
        columns = [[feature.scaled(axis) for feature in features] for axis in axes]
        columns.append([feature.deviation / feature.uncertainty for feature in features])
        numbers, scale = whole([value for column in columns for value in column])
        self._columns = {axis: numbers[at * n : (at + 1) * n] for at, axis in enumerate(axes)}
        deviations = numbers[-n:]
        self.square = scale**2
        self.total = sum(map(mul, deviations, deviations))
        self.deviation = {axis: sum(map(mul, self._columns[axis], deviations)) for axis in axes}

    def of(self, one: str, other: str) -> int:
        return sum(map(mul, self._columns[one], self._columns[other]))


def _fit(sums: _Sums, axis: str) -> AxisFit:
    weight, dof, total = sums.of(axis, axis), sums.features - 1, Fraction(sums.total, sums.square)
    if weight == 0:
        return AxisFit(axis, None, None, total, dof, _p(total, dof))
    error = Fraction(sums.deviation[axis], weight)
    chi2 = total - error * Fraction(sums.deviation[axis], sums.square)
    return AxisFit(axis, error, root(Fraction(sums.square, weight)), chi2, dof, _p(chi2, dof))


def _best_pair(sums: _Sums, order: Sequence[str]) -> PairFit | None:
    """The pair of least χ²; None where no two can be told apart or no degree of freedom is left."""
    dof, best = sums.features - 2, None
    if dof < 1:
        return None
    weights = {axis: sums.of(axis, axis) for axis in order}
    for one, two in combinations(order, 2):
        aa, ab, bb = weights[one], sums.of(one, two), weights[two]
        ad, bd = sums.deviation[one], sums.deviation[two]
        determinant = aa * bb - ab * ab
        if determinant == 0:
            continue
        tops = (bb * ad - ab * bd, aa * bd - ab * ad)
        rest, over = sums.total * determinant - tops[0] * ad - tops[1] * bd, determinant * sums.square
        if best is None or rest / over < best[0]:  # whole numbers: no rounding before this division
            best = (rest / over, (one, two), tops, (bb, aa), determinant)
    if best is None:
        return None
    chi2, axes, tops, sides, determinant = best
    errors = (Fraction(tops[0], determinant), Fraction(tops[1], determinant))
    first, second = (root(Fraction(side * sums.square, determinant)) for side in sides)
    return PairFit(axes, errors, (first, second), chi2, dof, chi2_above(chi2, dof))


def _p(chi2: Fraction, dof: int) -> float | None:
    return chi2_above(float(chi2), dof) if dof else None


def _remaining(fits: Sequence[AxisFit], order: Sequence[str]) -> tuple[str, ...]:
    least = fits[0].chi2
    remain = {fit.axis for fit in fits if fit.error is not None and fit.chi2 - least < APART}
    return tuple(axis for axis in order if axis in remain)
