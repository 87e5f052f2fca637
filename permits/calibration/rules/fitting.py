"""Mean, variance and the straight line through points, exact: sums are whole numbers over one denominator.

Nothing cancels and nothing is rounded until a caller turns a result into a float, so sets that are made to
catch one-pass formulas come out right to the last digit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction


def mean(values: Sequence[Fraction]) -> Fraction:
    """Σx/n of at least one value."""
    numbers, scale = whole(values)
    return Fraction(sum(numbers), scale * len(numbers))


def variance(values: Sequence[Fraction]) -> Fraction:
    """Σ(x − x̄)²/(n − 1) of at least two values (GUM 4.2.2)."""
    numbers, scale = whole(values)
    return Fraction(_about_mean(numbers, numbers), len(numbers) * scale**2 * (len(numbers) - 1))


@dataclass(frozen=True, slots=True)
class Line:
    """y = intercept + slope·x by least squares, exact. `residual_ss`: Σ(y − fitted)²; `sxx`: Σ(x − x̄)²."""

    n: int
    intercept: Fraction
    slope: Fraction
    residual_ss: Fraction
    mean_x: Fraction
    sxx: Fraction

    @property
    def df(self) -> int:
        return self.n - 2

    @property
    def residual_variance(self) -> Fraction:
        return self.residual_ss / self.df

    @property
    def slope_variance(self) -> Fraction:
        return self.residual_variance / self.sxx

    @property
    def intercept_variance(self) -> Fraction:
        return self.variance_at(Fraction(0))

    @property
    def covariance(self) -> Fraction:
        """Of intercept and slope."""
        return -self.mean_x * self.slope_variance

    def at(self, x: Fraction) -> Fraction:
        return self.intercept + self.slope * x

    def leverage(self, x: Fraction) -> Fraction:
        """1/n + (x − x̄)²/Sxx: the variance of the fitted value at x in units of the residual variance."""
        return Fraction(1, self.n) + (x - self.mean_x) ** 2 / self.sxx

    def variance_at(self, x: Fraction) -> Fraction:
        """The variance of the fitted value at x, the covariance of intercept and slope included."""
        return self.residual_variance * self.leverage(x)


def line(xs: Sequence[Fraction], ys: Sequence[Fraction]) -> Line:
    """The least-squares line of y on x through at least three points, at least two distinct x.

    Raises ValueError for fewer.
    """
    n = len(xs)
    if n < 3 or n != len(ys) or len(set(xs)) < 2:
        raise ValueError("A line with its uncertainty needs at least three points with two distinct x.")
    whole_x, scale_x = whole(xs)
    whole_y, scale_y = whole(ys)
    sxx = Fraction(_about_mean(whole_x, whole_x), n * scale_x**2)
    sxy = Fraction(_about_mean(whole_x, whole_y), n * scale_x * scale_y)
    syy = Fraction(_about_mean(whole_y, whole_y), n * scale_y**2)
    slope = sxy / sxx
    mean_x = mean(xs)
    return Line(n, mean(ys) - slope * mean_x, slope, syy - slope * sxy, mean_x, sxx)


def root(square: Fraction) -> Fraction:
    """√square: exact where it is rational, otherwise the nearest float as a Fraction."""
    top, bottom = math.isqrt(square.numerator), math.isqrt(square.denominator)
    if top**2 == square.numerator and bottom**2 == square.denominator:
        return Fraction(top, bottom)
    return Fraction(math.sqrt(square))


def whole(values: Sequence[Fraction]) -> tuple[list[int], int]:
    """The values as whole numbers over their common denominator."""
    scale = math.lcm(*(value.denominator for value in values))
    return [value.numerator * (scale // value.denominator) for value in values], scale


def _about_mean(xs: Sequence[int], ys: Sequence[int]) -> int:
    """n·Σ(x − x̄)(y − ȳ), which is whole when x and y are."""
    return len(xs) * sum(x * y for x, y in zip(xs, ys, strict=True)) - sum(xs) * sum(ys)
