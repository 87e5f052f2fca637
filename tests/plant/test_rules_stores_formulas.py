"""Stored energy and waits for any sound value: they grow with what feeds them, and undo each other."""

from __future__ import annotations

from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st

from permits.plant.rules.stores import capacitor, heat, raised, spinning, spring


def numbers(least: float, most: float) -> st.SearchStrategy[float]:
    return st.floats(least, most, allow_nan=False, allow_infinity=False)


farads, volts, ohms = numbers(1e-9, 10), numbers(0.1, 1e5), numbers(0.1, 1e8)
more = numbers(1.001, 100)
seconds = numbers(1e-3, 1e6)


@given(farads, volts, more)
def test_a_capacitor_holds_more_with_more_of_either(c, v, by):
    energy = capacitor.energy_j(c, v)
    assert capacitor.energy_j(c * by, v) > energy
    assert capacitor.energy_j(c, v * by) == pytest.approx(energy * by**2)
    assert capacitor.capacitance_for_f(energy, v) == pytest.approx(c)
    assert energy == pytest.approx(capacitor.charge_c(c, v) * v / 2)
    assert capacitor.energy_j(c, 0) == 0


@given(volts, numbers(0.01, 0.99), seconds, more)
def test_after_the_wait_the_voltage_is_the_safe_one(v, part, tau, by):
    wait = capacitor.wait_s(v, v * part, tau)
    assert capacitor.voltage_after_v(v, tau, wait) == pytest.approx(v * part)
    assert capacitor.wait_s(v * by, v * part, tau) > wait
    assert capacitor.wait_s(v, v * part, tau * by) > wait
    assert capacitor.wait_s(v, v * part / by, tau) > wait
    assert capacitor.wait_s(v, v, tau) == capacitor.wait_s(v, v * by, tau) == 0


@given(volts, seconds, seconds, more)
def test_voltage_only_falls(v, tau, time, by):
    assert capacitor.voltage_after_v(v, tau, 0) == v
    assert capacitor.voltage_after_v(v, tau, time) <= v
    assert capacitor.voltage_after_v(v, tau, time * by) <= capacitor.voltage_after_v(v, tau, time)


@given(farads, volts, ohms, numbers(0, 50), numbers(0, 50), numbers(0, 50))
def test_the_worst_case_is_never_better(c, v, r, over_v, over_c, over_r):
    worst = capacitor.worst_case(
        c, v, r, voltage_over_percent=over_v, capacitance_over_percent=over_c, bleeder_over_percent=over_r
    )
    assert worst.bleeder_ohm is not None
    assert capacitor.energy_j(worst.capacitance_f, worst.voltage_v) >= capacitor.energy_j(c, v)
    tau, worst_tau = (
        capacitor.time_constant_s(c, r),
        capacitor.time_constant_s(worst.capacitance_f, worst.bleeder_ohm),
    )
    assert capacitor.wait_s(worst.voltage_v, v / 3, worst_tau) >= capacitor.wait_s(v, v / 3, tau)


@given(farads, volts, numbers(0.01, 0.99), numbers(0.1, 1000))
def test_the_bleeder_that_is_asked_for_makes_it_in_time(c, v, part, within):
    bleeder = capacitor.bleeder_for_ohm(c, v, v * part, within)
    wait = capacitor.wait_s(v, v * part, c * bleeder)
    assert wait == pytest.approx(within)


def test_a_warning_is_for_what_stays_above_60_volts_after_5_seconds():
    """IEC 60204-1, 6.2.4 [2]."""
    assert not capacitor.needs_warning(capacitor.Bank(1.0, 60.0))
    assert not capacitor.needs_warning(capacitor.Bank(1e-7, 500.0))  # 50 µC
    assert capacitor.needs_warning(capacitor.Bank(1.3e-7, 500.0))  # 65 µC, and no bleeder
    assert capacitor.needs_warning(capacitor.Bank(2.2e-3, 565.7, 22_000))


@given(numbers(1e-6, 1e4), numbers(1, 1e5), numbers(1e-3, 1e3), more)
def test_a_spinning_mass(inertia, rpm, friction, by):
    energy = spinning.energy_j(inertia, rpm)
    assert spinning.energy_j(inertia * by, rpm) > energy
    assert spinning.energy_j(inertia, rpm * by) == pytest.approx(energy * by**2)
    wait = spinning.coast_down_s(inertia, rpm, friction)
    assert spinning.coast_down_s(inertia, rpm, friction * by) < wait
    assert spinning.coast_down_s(inertia, rpm * by, friction) > wait
    # All the energy goes into friction over the angle turned, which is ω₀ t/2.
    assert friction * spinning.angular_speed_rad_s(rpm) * wait / 2 == pytest.approx(energy)


@given(numbers(1e-3, 1e3), numbers(10, 1e5), numbers(1e-3, 10), numbers(0.01, 0.99))
def test_viscous_drag_slows_and_never_stops(inertia, rpm, drag, part):
    wait = spinning.viscous_time_s(inertia, rpm, drag, rpm * part)
    assert spinning.viscous_speed_rpm(inertia, rpm, drag, wait) == pytest.approx(rpm * part)
    assert spinning.viscous_time_s(inertia, rpm, drag, rpm * part / 2) > wait
    ten_time_constants = 10 * inertia / drag
    assert spinning.viscous_speed_rpm(inertia, rpm, drag, ten_time_constants) == pytest.approx(rpm * exp(-10))
    assert spinning.viscous_speed_rpm(inertia, rpm, drag, ten_time_constants) > 0


@given(numbers(0.01, 1e5), numbers(1e-3, 100), more)
def test_a_raised_mass_lands_with_all_its_energy(mass, height, by):
    energy = raised.energy_j(mass, height)
    assert mass * raised.landing_speed_m_s(height) ** 2 / 2 == pytest.approx(energy)
    assert raised.energy_j(mass, height * by) > energy
    assert raised.energy_j(mass, 0) == 0


@given(numbers(1, 1e6), numbers(1e-3, 1), numbers(0, 1), numbers(1e-3, 10))
def test_a_spring_gives_off_what_it_holds(stiffness, travel, part, mass):
    energy = spring.energy_j(stiffness, travel)
    given_off = spring.energy_between_j(stiffness, travel, travel * part)
    assert given_off + spring.energy_j(stiffness, travel * part) == pytest.approx(energy)
    assert spring.energy_between_j(stiffness, travel, 0) == energy
    assert mass * spring.launch_speed_m_s(energy, mass) ** 2 / 2 == pytest.approx(energy)


@given(numbers(-20, 60), numbers(1, 500), numbers(0.01, 0.99), seconds, more)
def test_a_hot_part_cools_towards_its_surroundings(ambient, above, part, tau, by):
    hot, safe = ambient + above, ambient + above * part
    wait = heat.wait_s(hot, safe, ambient, tau)
    assert heat.temperature_after_c(hot, ambient, tau, wait) == pytest.approx(safe, abs=1e-6)
    assert heat.wait_s(hot + by, safe, ambient, tau) > wait
    assert heat.wait_s(hot, safe, ambient, tau * by) > wait
    assert heat.temperature_after_c(hot, ambient, tau, wait * by) <= safe + 1e-6
    assert heat.temperature_after_c(hot, ambient, tau, 100 * tau) == pytest.approx(ambient)
    assert heat.time_constant_from_reading_s(hot, safe, ambient, wait) == pytest.approx(tau, rel=1e-5)
    assert heat.wait_s(safe, hot, ambient, tau) == 0


@given(numbers(0.5, 1e5), more)
def test_a_longer_contact_never_has_a_higher_threshold(contact, by):
    assert 43 <= heat.burn_threshold_c(contact * by) <= heat.burn_threshold_c(contact) <= 67
