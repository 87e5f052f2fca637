"""Mean, standard deviation and standard uncertainty against published data sets.

[V] recomputed exactly; [2] data taken from a second copy of the public-domain file, confirmed by the
certified digits coming out; [M] from memory.
"""

from fractions import Fraction

import pytest

from permits.calibration.rules.answers import as_json
from permits.calibration.rules.deciding import Instrument, Question, Reading, assess
from permits.calibration.rules.lengths import Unit


def figures(text):
    return text.split()


MICHELSO = figures("""
    299.85 299.74 299.90 300.07 299.93 299.85 299.95 299.98 299.98 299.88 300.00 299.98 299.93 299.65 299.76
    299.81 300.00 300.00 299.96 299.96 299.96 299.94 299.96 299.94 299.88 299.80 299.85 299.88 299.90 299.84
    299.83 299.79 299.81 299.88 299.88 299.83 299.80 299.79 299.76 299.80 299.88 299.88 299.88 299.86 299.72
    299.72 299.62 299.86 299.97 299.95 299.88 299.91 299.85 299.87 299.84 299.84 299.85 299.84 299.84 299.84
    299.89 299.81 299.81 299.82 299.80 299.77 299.76 299.74 299.75 299.76 299.91 299.92 299.89 299.86 299.88
    299.72 299.84 299.85 299.85 299.78 299.89 299.84 299.78 299.81 299.76 299.81 299.79 299.81 299.82 299.85
    299.87 299.87 299.81 299.74 299.81 299.94 299.95 299.80 299.81 299.87
""")

MAVRO = figures("""
    2.00180 2.00170 2.00180 2.00190 2.00180 2.00170 2.00150 2.00140 2.00150 2.00150 2.00170 2.00180 2.00180
    2.00190 2.00190 2.00210 2.00200 2.00160 2.00140 2.00130 2.00130 2.00150 2.00150 2.00160 2.00150 2.00140
    2.00130 2.00140 2.00150 2.00140 2.00150 2.00160 2.00150 2.00160 2.00190 2.00200 2.00200 2.00210 2.00220
    2.00230 2.00240 2.00250 2.00270 2.00260 2.00260 2.00260 2.00270 2.00260 2.00250 2.00240
""")


LEW = figures("""
    -213 -564 -35 -15 141 115 -420 -360 203 -338 -431 194 -220 -513 154 -125 -559 92 -21 -579 -52 99
    -543 -175 162 -457 -346 204 -300 -474 164 -107 -572 -8 83 -541 -224 180 -420 -374 201 -236 -531 83
    27 -564 -112 131 -507 -254 199 -311 -495 143 -46 -579 -90 136 -472 -338 202 -287 -477 169 -124 -568
    17 48 -568 -135 162 -430 -422 172 -74 -577 -13 92 -534 -243 194 -355 -465 156 -81 -578 -64 139 -449
    -384 193 -198 -538 110 -44 -577 -6 66 -552 -164 161 -460 -344 205 -281 -504 134 -28 -576 -118 156
    -437 -381 200 -220 -540 83 11 -568 -160 172 -414 -408 188 -125 -572 -32 139 -492 -321 205 -262 -504
    142 -83 -574 0 48 -571 -106 137 -501 -266 190 -391 -406 194 -186 -553 83 -13 -577 -49 103 -515 -280
    201 300 -506 131 -45 -578 -80 138 -462 -361 201 -211 -554 32 74 -533 -235 187 -372 -442 182 -147
    -566 25 68 -535 -244 194 -351 -463 174 -125 -570 15 72 -550 -190 172 -424 -385 198 -218 -536 96
""")


def alternating(first, low, high):
    return [first, *[low, high] * 500]


def said_of(values, *, nominal="0"):
    """The answer for deviations that are these values, with a perfect instrument."""
    readings = tuple(Reading(Fraction(nominal), Fraction(nominal) + Fraction(value)) for value in values)
    perfect = Instrument(Fraction(0), Fraction(1), Fraction(0))
    return as_json(assess(Question(Unit.MM, Fraction(1), perfect, readings)))


# NIST StRD, univariate summary statistics: certified mean and standard deviation, 15 digits.
# NumAcc1–4 are defined by construction, with exact certified values.
@pytest.mark.parametrize(
    ("values", "mean", "s"),
    [
        pytest.param(MICHELSO, 299.8524, 0.0790105478190518, id="Michelso [2]"),
        pytest.param(MAVRO, 2.001856, 0.000429123454003053, id="Mavro [2]"),
        pytest.param(LEW, -177.435, 277.332168044316, id="Lew [2]"),
        pytest.param(["10000001", "10000003", "10000002"], 10000002.0, 1.0, id="NumAcc1 [2]"),
        pytest.param(alternating("1.2", "1.1", "1.3"), 1.2, 0.1, id="NumAcc2 [2]"),
        pytest.param(alternating("1000000.2", "1000000.1", "1000000.3"), 1000000.2, 0.1, id="NumAcc3 [2]"),
        pytest.param(
            alternating("10000000.2", "10000000.1", "10000000.3"), 10000000.2, 0.1, id="NumAcc4 [2]"
        ),
    ],
)
def test_nist_strd_univariate_sets(values, mean, s):
    said = said_of(values, nominal="1200.7")
    assert said["n"] == len(values)
    assert said["mean_deviation"] == mean
    assert said["standard_deviation"] == pytest.approx(s, rel=3e-15 if s in (1.0, 0.1) else 5e-15)


def test_gum_table_1():
    """JCGM 100:2008, 4.4.3 and Table 1: twenty temperatures; mean 100.145, s 1.489, s/√n 0.333
    [data M, digits V]."""
    values = figures("""96.90 98.18 98.25 98.61 99.03 99.49 99.56 99.74 99.89 100.07
                100.33 100.42 100.68 100.95 101.11 101.20 101.57 101.84 102.36 102.72""")
    said = said_of(values)
    assert said["mean_deviation"] == 100.145
    assert round(said["standard_deviation"], 6) == 1.488844
    assert round(said["standard_uncertainty"], 6) == 0.332916
    assert said["degrees_of_freedom"] == 19.0
    # t₀.₉₇₅(19) = 2.0930 [V]
    assert round(said["expanded_uncertainty"] / said["standard_uncertainty"], 4) == 2.0930
