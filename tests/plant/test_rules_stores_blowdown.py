"""Blow-down for any sound vessel: time grows with the vessel, shrinks with the hole, and neither assumption
is always the longer one."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from permits.plant.rules.stores import blowdown, orifice
from permits.plant.rules.stores.blowdown import Assumption, Vessel

ISOTHERMAL, ADIABATIC = Assumption
assumptions = st.sampled_from(Assumption)
ratios = st.floats(1.01, 400)
ends = st.floats(1.001, 3)
vessels = st.builds(
    lambda volume, ratio, area, discharge, kelvin, ambient: Vessel(
        volume, ratio * ambient, area, discharge, kelvin, ambient
    ),
    st.floats(1e-3, 10),
    ratios,
    st.floats(1e-6, 1e-3),
    st.floats(0.1, 1),
    st.floats(230, 400),
    st.floats(5e4, 1.1e5),
)


@given(vessels, ends, assumptions, st.floats(1.01, 10))
def test_time_grows_with_the_vessel_and_shrinks_with_the_hole(vessel, end, assumption, by):
    end_pa = vessel.ambient_pa * end
    assume(vessel.pressure_pa > end_pa * 1.001)
    time = blowdown.time_s(vessel, end_pa, assumption)
    assert time > 0
    bigger = replace(vessel, volume_m3=vessel.volume_m3 * by)
    assert blowdown.time_s(bigger, end_pa, assumption) == pytest.approx(time * by)
    wider = replace(vessel, area_m2=vessel.area_m2 * by)
    assert blowdown.time_s(wider, end_pa, assumption) == pytest.approx(time / by)
    fuller = replace(vessel, pressure_pa=vessel.pressure_pa * by)
    assert blowdown.time_s(fuller, end_pa, assumption) > time
    lower = vessel.ambient_pa + (end_pa - vessel.ambient_pa) / by
    assert blowdown.time_s(vessel, lower, assumption) > time
    colder = replace(vessel, temperature_k=vessel.temperature_k / by)
    assert blowdown.time_s(colder, end_pa, assumption) == pytest.approx(time * by**0.5)


@given(vessels, ends, ends, assumptions)
def test_a_stop_on_the_way_does_not_change_the_isothermal_time(vessel, one, other, assumption):
    low, high = sorted((vessel.ambient_pa * one, vessel.ambient_pa * other))
    assume(vessel.pressure_pa > high)
    whole = blowdown.time_s(vessel, low, ISOTHERMAL)
    rest = replace(vessel, pressure_pa=high)
    parts = blowdown.time_s(vessel, high, ISOTHERMAL) + blowdown.time_s(rest, low, ISOTHERMAL)
    assert parts == pytest.approx(whole, rel=1e-6, abs=1e-9)


@given(vessels, ends)
def test_the_longest_is_the_longer_of_both(vessel, end):
    end_pa = vessel.ambient_pa * end
    seconds, assumption = blowdown.longest(vessel, end_pa)
    assert seconds == max(blowdown.time_s(vessel, end_pa, each) for each in Assumption)
    assert seconds == blowdown.time_s(vessel, end_pa, assumption)
    if vessel.pressure_pa <= end_pa:
        assert seconds == 0


@given(st.floats(1, 1e4))
def test_which_assumption_is_safer_turns_once(ratio):
    turn = blowdown.crossover_ratio()
    assume(abs(ratio - turn) > 1e-3 and ratio > 1.001)
    assert blowdown.safer(ratio) is (ISOTHERMAL if ratio < turn else ADIABATIC)


def test_shop_air_is_isothermal_and_a_cylinder_is_not():
    hole = orifice.area_m2(0.002)
    shop = Vessel(0.1, 801_325, hole, 0.6, 293.15)
    cylinder = Vessel(0.05, 200.0e5, hole, 0.6, 293.15)
    assert blowdown.longest(shop, 106_325)[1] is ISOTHERMAL
    assert blowdown.longest(cylinder, 106_325)[1] is ADIABATIC


@given(vessels, st.floats(0, 1000), assumptions)
def test_pressure_and_time_undo_each_other_while_choked(vessel, time, assumption):
    tau = blowdown.time_constant_s(vessel)
    pressure = blowdown.choked_pressure_pa(vessel.pressure_pa, tau, time * tau / 1000, assumption)
    assert pressure <= vessel.pressure_pa
    back = blowdown.choked_time_s(tau, vessel.pressure_pa / pressure, assumption)
    assert back == pytest.approx(time * tau / 1000, abs=tau * 1e-9)


@given(st.floats(1e5, 1e7), st.floats(5e4, 1e5), st.floats(1.05, 1.67))
def test_flow_is_choked_up_to_the_critical_ratio_and_falls_from_there(pressure, ambient, gamma):
    at = orifice.flow_function(pressure, ambient, gamma)
    assert 0 <= at <= orifice.choking(gamma) * (1 + 1e-12)
    assert orifice.flow_function(pressure * 1.01, ambient, gamma) >= at * (1 - 1e-12)
    turn = ambient / orifice.critical_ratio(gamma)
    assert orifice.flow_function(turn * (1 - 1e-9), ambient, gamma) == pytest.approx(orifice.choking(gamma))
    assert orifice.flow_function(ambient, ambient, gamma) == 0
