"""Control-chart limits and the cost of over-adjustment against published constants and results."""

import math
import random
import statistics
from fractions import Fraction

import pytest

from permits.calibration.rules.charting import D2, D4, chart
from permits.calibration.rules.correcting import by_mean
from permits.calibration.rules.deciding import Decision, Instrument, Question, Reading, assess
from permits.calibration.rules.lengths import Unit


def test_constants_for_ranges_of_two():
    """Table of control-chart constants, n = 2: d₂ 1.128, d₃ 0.853, D₄ 3.267 [2]; for normal values they
    follow from d₂ = 2/√π and d₃ = √(2 − 4/π) [V]."""
    d2, d3 = 2 / math.sqrt(math.pi), math.sqrt(2 - 4 / math.pi)
    assert float(D2) == round(d2, 3) == 1.128
    assert round(d3, 3) == 0.853
    assert float(D4) == round(1 + 3 * d3 / d2, 3) == 3.267
    assert round(3 / float(D2), 2) == 2.66


def test_nist_handbook_individuals_chart():
    """NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, flow rate of ten batches [2]: centre 50.81,
    limits 45.8159 and 55.8041, mean moving range 1.8778 (the handbook carries that rounded figure on)."""
    flow = ("49.6", "47.6", "49.9", "51.3", "47.8", "51.2", "52.6", "52.4", "53.6", "52.1")
    values = [Fraction(value) for value in flow]
    drawn = chart(values)
    assert drawn.centre == Fraction("50.81")
    assert round(float(drawn.range_centre), 4) == 1.8778
    assert float(drawn.upper) == pytest.approx(55.8041, abs=1.5e-4)
    assert float(drawn.lower) == pytest.approx(45.8159, abs=1.5e-4)
    # D₄ · 1.8778, by hand
    assert round(float(drawn.range_upper), 3) == round(3.267 * 1.8778, 3)


def test_over_adjustment_doubles_the_variance():
    """The funnel experiment (L. Nelson; Deming, *Out of the Crisis*): leaving the machine alone gives σ²,
    moving it by minus each error gives 2σ² [2; by algebra: x(k) − x(k−1)]. The correction is ours."""
    rng, setting, left_alone, adjusted = random.Random(1960), 0.0, [], []
    for _ in range(20_000):
        noise = rng.gauss(0, 1)
        left_alone.append(noise)
        adjusted.append(setting + noise)
        setting += float(by_mean(Fraction(adjusted[-1]), distinct_nominals=1).offset)
    alone = statistics.pvariance(left_alone)
    assert alone == pytest.approx(1, rel=0.05)
    assert statistics.pvariance(adjusted) / alone == pytest.approx(2, rel=0.05)


def test_the_decision_leaves_a_true_machine_alone_and_keeps_its_variance():
    """The same machine under the product's rule: within tolerance on five pieces, it is not touched."""
    rng, setting, pieces, adjusted = random.Random(1986), Fraction(0), [], 0
    instrument = Instrument(Fraction("0.2"), Fraction(2), Fraction("0.1"))
    for _ in range(400):
        cut = [setting + Fraction(rng.gauss(0, 1)) for _ in range(5)]
        pieces += map(float, cut)
        found = assess(
            Question(Unit.MM, Fraction(3), instrument, tuple(Reading(Fraction(0), size) for size in cut))
        )
        if found.decision is Decision.ADJUST:
            setting, adjusted = setting + found.correction.offset, adjusted + 1
    assert adjusted == 0
    assert statistics.pvariance(pieces) == pytest.approx(1, rel=0.1)
