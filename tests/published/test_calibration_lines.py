"""The straight line of a calibration against certified and published results."""

import math
from fractions import Fraction

import pytest

from permits.calibration.rules.answers import as_json
from permits.calibration.rules.deciding import Instrument, Question, Reading, assess
from permits.calibration.rules.fitting import line
from permits.calibration.rules.lengths import Unit


def figures(text):
    return [Fraction(figure) for figure in text.split()]


# NIST StRD, linear least squares, "Norris" (calibration of ozone monitors; J. Norris, NIST; public domain):
# 36 pairs y, x. [V: exact rational arithmetic reproduces every certified digit]
NORRIS = figures("""
    0.1 0.2  338.8 337.4  118.1 118.2  888.0 884.6  9.2 10.1  228.1 226.5  668.5 666.3  998.5 996.3
    449.1 448.6  778.9 777.0  559.2 558.2  0.3 0.4  0.1 0.6  778.1 775.5  668.8 666.9  339.3 338.0
    448.9 447.5  10.8 11.6  557.7 556.0  228.3 228.1  998.0 995.8  888.8 887.6  119.6 120.2  0.3 0.3
    0.6 0.3  557.6 556.8  339.3 339.1  888.0 887.2  998.5 999.0  778.9 779.0  10.2 11.1  117.6 118.3
    228.9 229.2  668.4 669.1  449.2 448.9  0.2 0.5
""")

# JCGM 100:2008, H.3 and Table H.6: thermometer reading t and correction b(t), °C; t₀ = 20 °C. [V]
GUM_H3 = figures("""
    21.521 -0.171  22.012 -0.169  22.512 -0.166  23.003 -0.159  23.507 -0.164  23.999 -0.165
    24.513 -0.156  25.002 -0.157  25.503 -0.159  26.010 -0.161  26.511 -0.160
""")


def fit_of(xs, ys):
    readings = tuple(Reading(x, y) for x, y in zip(xs, ys, strict=True))
    perfect = Instrument(Fraction(0), Fraction(1), Fraction(0))
    return as_json(assess(Question(Unit.MM, Fraction(1), perfect, readings)))["fit"]


def test_norris_to_at_least_twelve_digits():
    ys, xs = NORRIS[::2], NORRIS[1::2]
    fit = fit_of(xs, ys)
    certified = {
        "intercept": -0.262323073774029,
        "slope": 1.00211681802045,
        "se_intercept": 0.232818234301152,
        "se_slope": 0.429796848199937e-3,
        "residual_sd": 0.884796396144373,
    }
    for name, value in certified.items():
        assert fit[name] == pytest.approx(value, rel=2e-14), name
    assert fit["df"] == 34
    found = line(xs, ys)
    assert float(found.residual_ss) == pytest.approx(26.6173985294224, rel=1e-14)
    assert float(found.slope**2 * found.sxx) == pytest.approx(4255954.13232369, rel=1e-14)
    # not certified; from a public test suite [2]
    assert float(found.covariance) == pytest.approx(-7.74327536e-05, rel=1e-8)


def test_gum_h3_with_the_covariance_of_intercept_and_slope():
    xs, ys = [t - 20 for t in GUM_H3[::2]], GUM_H3[1::2]
    fit = fit_of(xs, ys)
    assert round(fit["intercept"], 4) == -0.1712
    assert round(fit["se_intercept"], 4) == 0.0029
    assert round(fit["slope"], 5) == 0.00218
    assert round(fit["se_slope"], 5) == 0.00067
    assert round(fit["residual_sd"], 4) == 0.0035
    assert round(fit["se_intercept"], 7) == 0.0028776
    assert round(fit["residual_sd"], 8) == 0.00349756
    found = line(xs, ys)
    correlation = float(found.covariance) / math.sqrt(found.intercept_variance * found.slope_variance)
    assert round(correlation, 3) == -0.930
    assert round(correlation, 5) == -0.93043
    at_30 = Fraction(10)
    assert round(float(found.at(at_30)), 8) == -0.14937681
    assert round(math.sqrt(found.variance_at(at_30)), 8) == 0.00413860
    # Without the covariance the uncertainty at 30 °C would come out too large.
    apart = math.sqrt(found.intercept_variance + at_30**2 * found.slope_variance)
    assert round(apart, 4) != 0.0041
