"""Student's t, χ² and the normal distribution against published tables, closed forms and areas.

The areas are taken by Gauss–Legendre quadrature (numpy) over the densities as every textbook defines them, so
they share nothing with the library that the product asks.
"""

import math

import numpy as np
import pytest
from scipy import stats

from permits.calibration.rules.distributions import chi2_above, normal_below, t_975, t_two_sided_p


def area(density, low, high, pieces=400):
    nodes, weights = np.polynomial.legendre.leggauss(20)
    edges = np.linspace(low, high, pieces + 1)
    half, middle = np.diff(edges) / 2, (edges[:-1] + edges[1:]) / 2
    x = middle[:, None] + half[:, None] * nodes
    return float((density(x) * weights * half[:, None]).sum())


def t_density(df):
    scale = math.exp(math.lgamma((df + 1) / 2) - math.lgamma(df / 2)) / math.sqrt(df * math.pi)
    return lambda x: scale * (1 + x**2 / df) ** (-(df + 1) / 2)


# JCGM 100:2008, Table G.2, column 95 % [M]; the last but one column of any table of Student's t.
@pytest.mark.parametrize(
    ("df", "t"),
    [
        (1, 12.71), (2, 4.30), (3, 3.18), (4, 2.78), (5, 2.57), (6, 2.45), (7, 2.36), (8, 2.31), (9, 2.26),
        (10, 2.23), (11, 2.20), (12, 2.18), (15, 2.13), (20, 2.09), (30, 2.04), (50, 2.01), (math.inf, 1.96),
    ],
)  # fmt: skip
def test_gum_table_g2(df, t):
    assert round(t_975(df), 2) == t


def test_t_for_1_and_2_degrees_of_freedom_has_a_closed_form():
    assert t_975(1) == pytest.approx(math.tan(0.475 * math.pi), rel=1e-13)
    assert t_975(2) == pytest.approx(0.95 / math.sqrt(2 * 0.975 * 0.025), rel=1e-13)


@pytest.mark.parametrize("df", [1.0, 1.37, 2.5, 6.5703125, 19.0, 250.4])
def test_95_percent_of_the_t_density_lies_within_t_975(df):
    """Degrees of freedom that are not whole included."""
    assert 2 * area(t_density(df), 0, t_975(df)) == pytest.approx(0.95, rel=1e-10)
    assert 1 - 2 * area(t_density(df), 0, 2.2) == pytest.approx(t_two_sided_p(2.2, df), rel=1e-9)


def test_t_goes_over_into_1_959964_without_a_step():
    assert t_975(math.inf) == 1.959964
    assert t_975(1e12) == pytest.approx(1.959964, rel=1e-8)
    assert t_two_sided_p(math.inf, 3) == 0.0


# 95 % points of χ², as in any table of it [M]
@pytest.mark.parametrize(
    ("df", "chi2"), [(1, 3.841), (2, 5.991), (3, 7.815), (4, 9.488), (5, 11.070), (10, 18.307)]
)
def test_95_percent_points_of_chi_squared(df, chi2):
    assert chi2_above(chi2, df) == pytest.approx(0.05, abs=2e-5)


@pytest.mark.parametrize("chi2", [0.0, 0.25, 3.84, 44.1, 300.0])
def test_chi_squared_has_closed_forms_for_1_2_and_4_degrees_of_freedom(chi2):
    assert chi2_above(chi2, 1) == pytest.approx(math.erfc(math.sqrt(chi2 / 2)), rel=1e-12)
    assert chi2_above(chi2, 2) == pytest.approx(math.exp(-chi2 / 2), rel=1e-12)
    assert chi2_above(chi2, 4) == pytest.approx(math.exp(-chi2 / 2) * (1 + chi2 / 2), rel=1e-12)
    with pytest.raises(ValueError, match="degrees of freedom"):
        chi2_above(chi2, 0)


def test_the_distributions_of_scipy_stats_agree():
    """scipy.stats, another entry to the reference library than the one that the product uses."""
    for df in (1, 1.9, 7.3, 34, 1e6):
        assert t_975(df) == pytest.approx(stats.t.ppf(0.975, df), rel=1e-12)
        assert t_two_sided_p(-2.1, df) == pytest.approx(2 * stats.t.sf(2.1, df), rel=1e-12)
    for df in (1, 3, 11):
        assert chi2_above(7.3, df) == pytest.approx(stats.chi2.sf(7.3, df), rel=1e-12)


def test_the_normal_distribution():
    """Φ(1.96) = 0.975 00, Φ(−2) = 0.022 750 [V]"""
    assert round(normal_below(1.96), 5) == 0.97500
    assert round(normal_below(-2), 6) == 0.022750
