"""Can it hurt, and is it dead: an officer may tighten every line and loosen none."""

from __future__ import annotations

from dataclasses import fields, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from permits.plant.rules.stores import dead, hazard, heat
from permits.plant.rules.stores.hazard import PUBLISHED, Lines
from permits.plant.rules.stores.impossible import ImpossibleStore
from permits.plant.rules.stores.sources import Mark

LOWERED = [line.name for line in fields(Lines) if line.name != "burn_cooler_by_k"]
tightened = st.builds(
    Lines,
    **{name: st.floats(0, getattr(PUBLISHED, name)) for name in LOWERED},
    burn_cooler_by_k=st.floats(0, 40),
)
joules = st.floats(0, 1e6)


@given(st.floats(-1e4, 1e4), joules, st.floats(0, 1e7), st.floats(-20, 900), st.floats(0.5, 1e5), tightened)
def test_tightening_never_makes_a_store_harmless(volts, energy, gauge_pa, celsius, contact, lines):
    for asked in (
        lambda held: hazard.capacitor(volts, energy, held),
        lambda held: hazard.gas(gauge_pa, energy, held),
        lambda held: hazard.hot(celsius, contact, held),
    ):
        assert asked(lines).hazardous or not asked(PUBLISHED).hazardous


@given(st.floats(0, 1e4), joules, st.floats(1, 10))
def test_more_voltage_or_energy_never_makes_a_capacitor_harmless(volts, energy, by):
    if hazard.capacitor(volts, energy).hazardous:
        assert hazard.capacitor(volts * by, energy).hazardous
        assert hazard.capacitor(volts, energy * by).hazardous


@pytest.mark.parametrize("name", LOWERED)
def test_no_line_can_be_loosened(name):
    with pytest.raises(ImpossibleStore) as caught:
        replace(PUBLISHED, **{name: getattr(PUBLISHED, name) * 1.01})
    assert caught.value.field == name
    assert "never loosened" in caught.value.right
    replace(PUBLISHED, **{name: 0})


def test_burn_thresholds_are_only_lowered():
    with pytest.raises(ImpossibleStore, match="burn_cooler_by_k"):
        replace(PUBLISHED, burn_cooler_by_k=-1)
    cooler = replace(PUBLISHED, burn_cooler_by_k=3)
    assert hazard.hot(41, lines=cooler).hazardous
    assert not hazard.hot(41).hazardous


def test_a_site_may_set_one_joule_instead_of_ten():
    assert not hazard.capacitor(120, 5).hazardous
    assert hazard.capacitor(120, 5, replace(PUBLISHED, shock_j=1)).hazardous


def test_a_verdict_says_why_by_which_line_and_from_where():
    found = hazard.capacitor(566, 352)
    assert found.why == "566 V and 352 J can give a dangerous shock"
    assert found.threshold == "100 V or more and 10 J or more"
    assert found.source.mark is Mark.READ
    harmless = hazard.capacitor(24, 1)
    assert not harmless.hazardous
    assert harmless.why == "24 V and 1 J is below every published line"
    assert "400 V" in harmless.threshold
    assert "100 J" in harmless.threshold


def test_any_motion_counts():
    assert hazard.mechanical(0.1).hazardous
    assert not hazard.mechanical(0).hazardous
    assert "no lower line" in str(hazard.mechanical(90).source)


@given(st.floats(-1e5, 1e5), st.floats(0, 50))
def test_a_reading_is_dead_only_at_or_below_the_limit(volts, limit):
    found = dead.voltage(volts, limit)
    assert found.dead is (abs(volts) <= limit)
    assert found.dead is dead.voltage(-volts, limit).dead


def test_readings_of_other_kinds():
    assert dead.pressure(5_000, 5_000).dead
    assert not dead.pressure(-6_000, 5_000).dead  # a vacuum is pressure too
    assert dead.speed(0).dead
    assert not dead.speed(-1).dead
    assert dead.temperature(43).dead
    assert not dead.temperature(43.1).dead
    assert not dead.temperature(41, limit_c=40).dead
    assert dead.temperature(55, contact_s=10).dead
    assert "43 °C" in dead.temperature(50).why


@given(st.floats(0.5, 1e5), st.floats(-100, 300))
def test_hot_and_dead_agree_on_the_published_threshold(contact, celsius):
    assert hazard.hot(celsius, contact).hazardous is not dead.temperature(celsius, contact).dead
    assert hazard.hot(celsius, contact).hazardous is (celsius > heat.burn_threshold_c(contact))
