"""What a store's page shows: energy, hazard, wait, assumptions; and the wait that a timer needs."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from math import ceil, isfinite

import pytest
from hypothesis import given
from hypothesis import strategies as st

from permits.plant.rules.energy import Kind, Node, Release
from permits.plant.rules.energy import Test as ZeroTest
from permits.plant.rules.stores import capacitor, ends
from permits.plant.rules.stores.gas import Model
from permits.plant.rules.stores.hazard import PUBLISHED
from permits.plant.rules.stores.kinds import (
    MEDIUM_OF,
    Accumulator,
    Capacitor,
    Hot,
    Raised,
    Receiver,
    Spinning,
    Spring,
)
from permits.plant.rules.stores.numbers import numbers, numbers_of, wait_needed
from permits.plant.rules.stores.wording import bar, duration, joules
from tests.plant.random_stores import stores
from tests.plant.test_rules_stores_physics import read

BUS = Capacitor(Decimal("0.0022"), Decimal("565.685"), Decimal(22000))
AIR = Receiver(Decimal(100), Decimal(7), orifice_mm=Decimal(6), discharge=Decimal("0.8"))
OIL = Accumulator(Decimal(10), Decimal(70), Decimal(120), warming_s=Decimal(90))
BLADE = Spinning(Decimal(3000), disc_mass_kg=Decimal("6.782"), disc_diameter_mm=Decimal(500))
PLATEN = Hot(Decimal(140), Decimal(20), time_constant_s=Decimal(3200))


def limit_of(limit: object, unit: str, quantity: str = "reading") -> ZeroTest:
    return ZeroTest(quantity, unit, Decimal(str(limit)))


def store(physics: object, *, wait_s: int | None = None, limit: ZeroTest | None = None) -> Node:
    release = None if wait_s is None else Release("Wait.", wait_s=wait_s)
    return Node("S", Kind.STORE, physics=physics, release=release, test=limit)


def test_the_bus_is_shown_at_its_values_and_waited_for_at_its_worst():
    found = numbers(BUS)
    assert joules(found.energy_j) == "352 J"
    assert found.hazardous
    assert "2.2.13" in found.hazard_source
    # 60.98 s · ln(622.25/50), the worst case of the reference's demo bus [V]
    assert found.wait_s == pytest.approx(153.76, abs=0.01)
    assert found.wait_basis == "From 622.3 V to 50 V with a time constant of 60.98 s: 154 s."
    assert any("failed open" in one for one in found.assumptions)
    assert any("IEC 60204-1" in one for one in found.assumptions)
    assert "comes back" in found.comes_back


def test_a_bus_that_may_be_above_the_line_can_hurt():
    """9.5 J at 100 V is below 10 J; with the capacitor 20 % larger it is not."""
    near_the_line = Capacitor(Decimal("0.0019"), Decimal(100), voltage_over_percent=Decimal(0))
    assert capacitor.energy_j(0.0019, 100) < 10
    assert numbers(near_the_line).hazardous
    assert not numbers(replace(near_the_line, capacitance_over_percent=Decimal(0))).hazardous


def test_without_a_bleeder_no_wait_is_known():
    found = numbers(replace(BUS, bleeder_ohm=None))
    assert found.wait_s is None
    assert "no time is known" in found.wait_basis


def test_the_wait_ends_at_the_tests_limit_where_that_is_tighter_and_never_where_it_is_looser():
    at_50 = numbers(BUS).wait_s
    assert numbers(BUS, limit_of(60, "V")).wait_s == at_50
    assert numbers(BUS, limit_of(25, "V")).wait_s > at_50
    assert numbers(BUS, limit_of("25000", "mV")).wait_s == numbers(BUS, limit_of(25, "V")).wait_s
    assert numbers(BUS, limit_of(1, "bar")).wait_s == at_50
    assert numbers(BUS, limit_of(0, "V")).wait_s is None


@given(st.decimals("0.1", "100", places=1), st.decimals("0.1", "100", places=1))
def test_a_tighter_limit_never_shortens_the_wait(one, other):
    loose, tight = max(one, other), min(one, other)
    assert numbers(BUS, limit_of(tight, "V")).wait_s >= numbers(BUS, limit_of(loose, "V")).wait_s


def test_a_receiver_says_which_model_and_which_assumption():
    found = numbers(AIR, limit_of("0.05", "bar"))
    assert found.energy_j == pytest.approx(175_000)  # Brode [V]
    assert found.assumptions[0].startswith("Energy by Brode's model: it gives the most of the four models")
    assert found.wait_s == pytest.approx(47.61, abs=0.005)  # isothermal [V]
    assert "isothermal, the longer of the two" in found.wait_basis
    named = numbers(replace(AIR, model=Model.ISENTROPIC), limit_of("0.05", "bar"))
    assert named.energy_j == pytest.approx(89_375, rel=2e-5)
    assert "as the plant file asks; Brode's model gives the most of four, 175 kJ" in named.assumptions[0]
    assert named.hazardous  # by the largest energy, whichever model is named
    assert "isothermal" in numbers(replace(AIR, gauge_bar=Decimal(10))).assumptions[0]
    assert "adiabatic" in numbers(replace(AIR, gauge_bar=Decimal(200)), limit_of("0.05", "bar")).wait_basis


def test_a_receiver_shut_too_soon_comes_back():
    found = numbers(AIR, limit_of("0.05", "bar"))
    # (8.013/1.063)^(0.4/1.4) · 1.063 bar − 1.013 bar = 0.88 bar: the gas left in it warms at constant volume
    assert "Shut in at 0.05 bar it can come back to 0.88 bar" in found.comes_back


@pytest.mark.parametrize(
    ("physics", "limit", "words"),
    [
        (replace(AIR, orifice_mm=None), limit_of("0.05", "bar"), "The way out is not described"),
        (AIR, None, "states no gauge pressure"),
        (AIR, limit_of(1, "bar", "absolute pressure"), "states no gauge pressure"),
        (AIR, limit_of(0, "bar"), "takes as long as one likes"),
        (OIL, limit_of("0.5", "bar"), "How fast the oil leaves is not described"),
        (BLADE, limit_of(0, "rpm"), "standstill is seen or read"),
        (Raised(Decimal(180), Decimal("0.6")), None, "Waiting does not lower it"),
        (Spring(Decimal(24000), Decimal(100)), None, "Waiting does not slacken it"),
        (replace(PLATEN, time_constant_s=None), None, "no time is known"),
        (replace(PLATEN, ambient_c=Decimal(50)), None, "No wait brings it to 43 °C"),
        (PLATEN, limit_of(20, "°C"), "No wait brings it to 20 °C"),
    ],
)
def test_where_no_wait_is_known_it_says_why(physics, limit, words):
    found = numbers(physics, limit)
    assert found.wait_s is None
    assert words in found.wait_basis
    assert wait_needed(store(physics, wait_s=77, limit=limit)) == 77


def test_an_accumulator_keeps_its_gas_and_gets_pressure_back():
    found = numbers(OIL)
    assert joules(found.stays_j) == "124.8 kJ"
    assert "Bleeding the oil does not empty the gas: 70 bar stay in it" in found.assumptions[1]
    # 71.01 bar · (121.01/71.01)^(0.4/1.4) − 1.01 bar
    assert "can come back to 81.7 bar as it warms, most of it within 270 s" in found.comes_back
    assert "leave the drain open" in found.comes_back


def test_a_blade_coasts_as_long_as_its_friction_says():
    found = numbers(replace(BLADE, friction_n_m=Decimal("0.5")))
    assert found.wait_s == pytest.approx(133.2, abs=0.05)  # [V]
    assert found.energy_j == pytest.approx(10_459, abs=1)
    assert numbers(Spinning(Decimal(3000), inertia_kg_m2=Decimal("0.21193"))).energy_j == pytest.approx(
        10_459, abs=1
    )


def test_a_spring_says_what_stays():
    found = numbers(Spring(Decimal(20_000), Decimal(50), left_mm=Decimal(10)))
    assert (found.energy_j, found.stays_j) == (pytest.approx(25), pytest.approx(1))
    assert any("10 mm of travel stay" in one for one in found.assumptions)


def test_a_hot_part_is_waited_for_down_to_what_its_contact_allows():
    assert numbers(PLATEN).energy_j is None
    assert numbers(replace(PLATEN, mass_kg=Decimal(10), specific_heat_j_per_kg_k=Decimal(490))).energy_j == (
        pytest.approx(10 * 490 * 120)
    )
    touch = numbers(replace(PLATEN, contact_s=Decimal(10)))
    assert touch.wait_s < numbers(PLATEN).wait_s
    assert (
        numbers(replace(PLATEN, contact_s=Decimal(10)), limit_of(43, "°C")).wait_s == numbers(PLATEN).wait_s
    )
    cooled = numbers(replace(PLATEN, temperature_c=Decimal(40)))
    assert (cooled.hazardous, cooled.wait_s) == (False, 0)


def test_a_site_that_tightens_its_lines_sees_them():
    harmless = Capacitor(Decimal("0.0005"), Decimal(110))
    assert not numbers(harmless).hazardous
    tight = numbers(harmless, lines=replace(PUBLISHED, shock_j=1))
    assert tight.hazardous
    assert tight.hazard_threshold == "100 V or more and 1 J or more"
    cooler = replace(PUBLISHED, burn_cooler_by_k=5)
    assert numbers(PLATEN, lines=cooler).wait_s > numbers(PLATEN).wait_s


@given(stores, st.none() | st.integers(0, 604_800), st.sampled_from(["V", "bar", "°C", "rpm"]))
def test_the_timer_is_tightened_and_never_loosened(physics, stated, unit):
    limit = limit_of("0.5", unit)
    row = {"quantity": "reading", "unit": unit, "limit": "0.5"}
    node = replace(
        read(physics, medium=MEDIUM_OF[physics["kind"]], test=row),
        release=None if stated is None else Release("Wait.", wait_s=stated),
    )
    found = numbers_of(node)
    assert found == numbers(node.physics, limit)
    needed = wait_needed(node)
    assert isinstance(needed, int)
    assert needed >= (stated or 0)
    assert needed == max(stated or 0, ceil(found.wait_s or 0))
    assert needed <= 604_800
    assert all(isfinite(value) for value in (found.energy_j or 0, found.wait_s or 0, found.stays_j))
    assert found.hazard_why
    assert found.hazard_source
    assert found.wait_basis
    assert found.assumptions
    assert found.comes_back


def test_a_store_without_physics_keeps_the_officers_number():
    assert numbers_of(store(None, wait_s=90)) is None
    assert wait_needed(store(None, wait_s=90)) == 90
    assert wait_needed(store(None)) == 0
    assert wait_needed(store(BUS)) == 154
    assert wait_needed(store(BUS, wait_s=60)) == 154
    assert wait_needed(store(BUS, wait_s=300)) == 300


def test_limits_are_read_in_the_units_that_gauges_have():
    assert ends.gauge_pa(limit_of(50, "mbar")) == ends.gauge_pa(limit_of(5, "kPa")) == pytest.approx(5000)
    assert ends.gauge_pa(limit_of(1, "psi")) == pytest.approx(6894.757)
    assert ends.gauge_pa(limit_of(1, "bar", "Absolute pressure")) is None
    assert ends.gauge_pa(limit_of(1, "bar(a)")) is None
    assert ends.volts(limit_of(1, "kV")) == 1000
    assert ends.celsius(limit_of(43, "°C")) == 43
    assert ends.volts(None) is None


def test_figures_read_well():
    assert [joules(x) for x in (0.25, 352.0, 10_459, 6.375e6)] == ["0.25 J", "352 J", "10.46 kJ", "6.375 MJ"]
    assert [duration(x) for x in (0, 153.2, 599.5, 600, 5287, 28_800)] == [
        "0 s", "154 s", "600 s", "10 min", "89 min", "8 h",
    ]  # fmt: skip
    assert bar(5000) == "0.05 bar"
