"""Adjust or leave on random cases: against plain floating-point formulas with numpy and scipy.stats, written
apart, and against what must not matter: order, unit, a common shift, the side of the error."""

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats

from permits.calibration.rules.answers import as_json
from permits.calibration.rules.deciding import Decision, Instrument, Question, Reading, assess, decide
from permits.calibration.rules.lengths import MM_PER_INCH, Unit

hundredths = st.integers(-150, 150).map(lambda n: Fraction(n, 100))
nominals = st.sampled_from([Fraction(n) for n in (300, 600, 1200, 2400, 3600)])
scattered = st.lists(
    st.tuples(nominals, hundredths).map(lambda r: Reading(r[0], r[0] + r[1])), min_size=1, max_size=9
)


@st.composite
def along_a_line(draw):
    """Pieces whose error grows with the size, with a little noise: here the scale term is significant."""
    offset, slope = draw(hundredths), draw(st.integers(-40, 40)) * Fraction(1, 50_000)
    pieces = draw(st.lists(st.tuples(nominals, st.integers(-5, 5)), min_size=3, max_size=9))
    return [Reading(x, x + offset + slope * x + Fraction(noise, 100)) for x, noise in pieces]


readings = st.one_of(scattered, along_a_line())
instruments = st.builds(
    Instrument,
    st.integers(0, 30).map(lambda n: Fraction(n, 100)),
    st.sampled_from([Fraction(1), Fraction(2), Fraction(3)]),
    st.integers(0, 10).map(lambda n: Fraction(n, 100)),
)
questions = st.builds(
    Question,
    st.just(Unit.MM),
    st.integers(5, 120).map(lambda n: Fraction(n, 100)),
    instruments,
    readings.map(tuple),
)


def by_floats(asked):
    """The same decision from the written rules in plain floating point; None where it hangs on a rounding."""
    x = np.array([float(r.nominal) for r in asked.readings])
    d = np.array([float(r.measured - r.nominal) for r in asked.readings])
    tolerance, n, instrument = float(asked.tolerance), len(d), asked.instrument
    b = (float(instrument.expanded_uncertainty) / float(instrument.coverage_factor)) ** 2
    b += float(instrument.resolution) ** 2 / 12
    if n < 2:
        return {"decision": "measure again"}
    mean, s = d.mean(), (0.0 if np.ptp(d) == 0 else d.std(ddof=1))
    u = math.sqrt(s**2 / n + b)
    df = u**4 / ((s**2 / n) ** 2 / (n - 1)) if s > 0 else None
    expanded = (stats.t.ppf(0.975, df) if s > 0 else 1.959964) * u
    found = {"mean_deviation": mean, "standard_deviation": s, "standard_uncertainty": u,
             "degrees_of_freedom": df, "expanded_uncertainty": expanded}  # fmt: skip
    value, band, significant = mean, expanded, None
    if len(set(x)) >= 3:
        fit = stats.linregress(x, x + d)
        residual = d + x - fit.intercept - fit.slope * x
        rss = residual @ residual
        if rss < 1e-12:
            return None
        p = 2 * stats.t.sf(abs(fit.slope - 1) / fit.stderr, n - 2)
        if abs(p - 0.05) < 1e-6:
            return None
        significant = bool(p < 0.05)
        found["slope"] = fit.slope
        if significant:
            fitted = fit.intercept + (fit.slope - 1) * x
            worst = max(abs(fitted))
            ties = np.isclose(abs(fitted), worst, rtol=1e-9)
            leverage = max(1 / n + (x[ties] - x.mean()) ** 2 / ((x - x.mean()) ** 2).sum())
            value, band = worst, stats.t.ppf(0.975, n - 2) * math.sqrt(rss / (n - 2) * leverage + b)
    if min(abs(abs(value) - tolerance + band), abs(abs(value) - tolerance - band)) < 1e-9:
        return None
    decision = "measure again"
    if abs(value) <= tolerance - band:
        decision = "leave"
    if abs(value) > tolerance + band:
        decision = "adjust"
    more = None
    gap = abs(abs(mean) - tolerance)
    if decision == "measure again" and not significant and s > 0 and 1.959964 * math.sqrt(b) < gap:
        for m in range(n + 1, 4000):
            um = math.sqrt(s**2 / m + b)
            if stats.t.ppf(0.975, um**4 / ((s**2 / m) ** 2 / (m - 1))) * um <= gap:
                more = m - n
                break
        else:
            more = "many"
    return found | {"decision": decision, "significant": significant, "more": more}


@settings(max_examples=300, deadline=None)
@given(questions)
def test_random_cases_agree_with_plain_formulas_in_scipy(asked):
    expected = by_floats(asked)
    assume(expected is not None)
    said = as_json(assess(asked))
    assert said["decision"] == expected["decision"]
    for name, value in expected.items():
        if name in said and name != "decision":
            assert said[name] == (None if value is None else pytest.approx(value, rel=1e-8, abs=1e-10)), name
    if "significant" in expected:
        assert said["correction"]["scale_significant"] == expected["significant"]
        if not expected["significant"] and expected["more"] != "many":
            assert said["more_readings"] == expected["more"]
    if said["more_readings"] is not None:
        assert said["decision"] == "measure again"
        assert said["more_readings"] >= 1


@settings(max_examples=150, deadline=None)
@given(questions, st.randoms(use_true_random=False))
def test_the_order_of_the_readings_does_not_matter(asked, random):
    shuffled = list(asked.readings)
    random.shuffle(shuffled)
    again = Question(asked.unit, asked.tolerance, asked.instrument, tuple(shuffled))
    assert as_json(assess(again)) == as_json(assess(asked))


@settings(max_examples=150, deadline=None)
@given(questions)
def test_the_decision_is_the_same_in_inches(asked):
    def inch(value):
        return value / MM_PER_INCH

    instrument = Instrument(
        inch(asked.instrument.expanded_uncertainty),
        asked.instrument.coverage_factor,
        inch(asked.instrument.resolution),
    )
    pieces = tuple(Reading(inch(r.nominal), inch(r.measured)) for r in asked.readings)
    here, there = assess(asked), assess(Question(Unit.INCH, inch(asked.tolerance), instrument, pieces))
    assert there.decision is here.decision
    assert there.more_readings == here.more_readings
    assert there.correction.scale_significant == here.correction.scale_significant


@settings(max_examples=150, deadline=None)
@given(questions, hundredths)
def test_moving_nominal_and_measured_together_changes_nothing_but_the_intercept(asked, shift):
    moved = tuple(Reading(r.nominal + shift, r.measured + shift) for r in asked.readings)
    here = as_json(assess(asked))
    there = as_json(assess(Question(asked.unit, asked.tolerance, asked.instrument, moved)))
    for name in ("mean_deviation", "standard_deviation", "decision", "more_readings", "expanded_uncertainty"):
        assert there[name] == here[name]
    if here["fit"]:
        for name in ("slope", "se_slope", "residual_sd"):
            assert there["fit"][name] == here["fit"][name]


@settings(max_examples=100, deadline=None)
@given(questions)
def test_turning_every_deviation_round_turns_the_correction_round(asked):
    assume(len({r.nominal for r in asked.readings}) < 3)
    turned = tuple(Reading(r.nominal, 2 * r.nominal - r.measured) for r in asked.readings)
    here, there = assess(asked), assess(Question(asked.unit, asked.tolerance, asked.instrument, turned))
    assert there.decision is here.decision
    assert there.correction.offset == -here.correction.offset


@settings(max_examples=100, deadline=None)
@given(hundredths, st.integers(0, 100).map(lambda n: Fraction(n, 100)), st.integers(1, 100))
def test_more_uncertainty_never_decides_more(value, expanded, more):
    sure, unsure = (
        decide(value, Fraction(1, 2), expanded),
        decide(value, Fraction(1, 2), expanded + Fraction(more, 100)),
    )
    assert unsure in (sure, Decision.MEASURE_AGAIN)
