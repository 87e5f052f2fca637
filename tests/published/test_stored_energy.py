"""Charge, motion and heat against published examples and recomputed figures. The source stands beside each.

Marks: [C] the document was read; [2] from a second-hand text; [V] recomputed from the formula or the data;
[M] from memory.
"""

from math import pi

import pytest

from permits.plant.rules.stores import capacitor, dead, hazard, heat, raised, spinning, spring
from permits.plant.rules.stores.sources import Mark


def near(value, digits):
    """As a table prints it: equal when rounded to that many digits after the point."""
    return pytest.approx(value, abs=0.5 * 10**-digits)


# Capacitors


def test_freedman_and_ruskell_example_17_9():
    """Freedman/Ruskell, *College Physics*, example 17-9, a defibrillator: 80.0 µF at 2.50 kV [C][V]."""
    assert capacitor.charge_c(80.0e-6, 2500) == near(0.200, 3)
    assert capacitor.energy_j(80.0e-6, 2500) == near(250, 0)


def test_openstax_defibrillator():
    """OpenStax, *College Physics*, §19.7: 400 J at 10.0 kV need 8.00 µF [M][V]."""
    assert capacitor.capacitance_for_f(400, 10_000) == near(8.00e-6, 8)


@pytest.mark.parametrize(("line_v", "bus_v"), [(400, 565.685), (480, 678.823)])  # √2 · V_LL [V]
def test_a_rectified_bus_at_rest(line_v, bus_v):
    assert capacitor.bus_voltage_v(line_v) == near(bus_v, 3)


def test_the_demo_bus():
    """2.2 mF at 565.685 V through 22 kΩ [V]."""
    tau = capacitor.time_constant_s(2.2e-3, 22_000)
    assert tau == near(48.40, 2)
    assert capacitor.energy_j(2.2e-3, 565.685) == near(352.00, 2)
    assert capacitor.wait_s(565.685, 60, tau) == near(108.59, 2)
    assert capacitor.wait_s(565.685, 50, tau) == near(117.42, 2)
    assert capacitor.voltage_after_v(565.685, tau, 5) == near(510.16, 2)
    assert capacitor.voltage_after_v(565.685, tau, 300) == near(1.150, 3)
    assert capacitor.energy_j(2.2e-3, 60) == near(3.96, 2)
    assert capacitor.charge_c(2.2e-3, 60) == near(0.132, 3)
    assert capacitor.charge_c(2.2e-3, 60) > 2000 * capacitor.EXEMPT_C


def test_the_demo_bus_at_its_worst():
    """The same with V + 10 %, C + 20 %, R + 5 % [V]: 31 % longer."""
    worst = capacitor.worst_case(2.2e-3, 565.685, 22_000)
    tau = capacitor.time_constant_s(worst.capacitance_f, worst.bleeder_ohm)
    assert tau == near(60.98, 2)
    assert capacitor.wait_s(worst.voltage_v, 60, tau) == near(142.64, 2)
    nominal = capacitor.wait_s(565.685, 60, capacitor.time_constant_s(2.2e-3, 22_000))
    assert capacitor.wait_s(worst.voltage_v, 60, tau) / nominal == near(1.31, 2)


def test_the_bleeder_that_would_make_it_in_five_seconds():
    """IEC 60204-1, 6.2.4 [2]: 60 V within 5 s; the same bus would need 1012.9 Ω or less [V]."""
    most = capacitor.bleeder_for_ohm(2.2e-3, 565.685, 60, 5)
    assert most == near(1012.9, 1)
    assert not capacitor.needs_warning(capacitor.Bank(2.2e-3, 565.685, most * 0.999))
    assert capacitor.needs_warning(capacitor.Bank(2.2e-3, 565.685, most * 1.001))


def test_a_second_bus():
    """1.5 mF at 678.8 V through 47 kΩ [V]."""
    tau = capacitor.time_constant_s(1.5e-3, 47_000)
    assert tau == near(70.5, 1)
    assert capacitor.energy_j(1.5e-3, 678.8) == near(345.6, 1)
    assert capacitor.wait_s(678.8, 60, tau) == near(171.03, 2)
    assert capacitor.voltage_after_v(678.8, tau, 300) == near(9.63, 2)


def test_break_even_with_ten_joules():
    """10 J at 100 V need 2.00 mF; 1 mF holds 10 J at 141.42 V; 1 J at 100 V needs 0.2 mF [V]."""
    assert capacitor.capacitance_for_f(10, 100) == near(2.00e-3, 5)
    assert capacitor.energy_j(1e-3, 141.42) == near(10, 2)
    assert capacitor.capacitance_for_f(1, 100) == near(0.2e-3, 5)


# Lines: DOE electrical hazard classification as used by LBNL, ESM tables 2.2.13 and 2.3.5 [C]; DOE-HDBK-1092
# App. D sec. 7 for the reflex step [M]; 29 CFR 1910.333(a)(1) for 50 V [2]
@pytest.mark.parametrize(
    ("volts", "joules", "hazardous"),
    [
        (100, 10, True),  # the shock line itself
        (99.9, 10, False),
        (100, 9.99, False),
        (400, 0.25, False),  # the reflex line is for more than 400 V
        (400.1, 0.25, True),
        (400.1, 0.249, False),
        (24, 100, False),  # heat below 100 V: more than 100 J
        (24, 100.1, True),
        (-600, 20, True),
    ],
)
def test_when_a_capacitor_can_hurt(volts, joules, hazardous):
    assert hazard.capacitor(volts, joules).hazardous is hazardous


def test_each_line_names_its_source_and_its_mark():
    assert hazard.capacitor(566, 352).source.mark is Mark.READ
    assert "2.2.13" in str(hazard.capacitor(566, 352).source)
    assert "2.3.5" in str(hazard.capacitor(48, 500).source)
    assert hazard.capacitor(500, 1).source.mark is Mark.MEMORY
    assert "from memory" in str(hazard.capacitor(500, 1).source)
    assert hazard.hot(60).source.mark is Mark.MEMORY
    assert dead.voltage(12).source.mark is Mark.SECOND_HAND


def test_can_it_hurt_and_is_it_dead_are_two_questions():
    """The demo bus at 60 V, the machine-design line of IEC 60204-1 [2]: 3.96 J cannot hurt; it is live."""
    assert not hazard.capacitor(60, capacitor.energy_j(2.2e-3, 60)).hazardous
    assert not dead.voltage(60).dead
    assert dead.voltage(50).dead
    assert dead.voltage(-50).dead


# Rotating parts


def test_openstax_rotor():
    """OpenStax, *College Physics*, example 10.9: four blades of 50.0 kg and 4.00 m at 300 rpm [C; E V]."""
    inertia = 4 * spinning.rod_inertia_kg_m2(50.0, 4.00)
    assert inertia == near(1067, 0)
    assert spinning.angular_speed_rad_s(300) == near(31.4, 1)
    assert spinning.energy_j(inertia, 300) == pytest.approx(5.26e5, rel=1e-3)


def test_five_rod_propeller():
    """A published exercise [C]: five rods of 2.57 kg and 0.823 m at 587 rpm; 5.48 kJ.

    It takes 3.14 for π, so its 61.4 rad/s and 5471.8 J (from 2.90 kg·m² and 61.43 rad/s) are a little low.
    """
    inertia = 5 * spinning.rod_inertia_kg_m2(2.57, 0.823)
    assert inertia == near(2.90, 2)
    assert spinning.angular_speed_rad_s(587) * 3.14 / pi == near(61.4, 1)
    assert spinning.energy_j(inertia, 587) / 1000 == near(5.48, 2)
    assert spinning.energy_j(2.90, 61.43 * 30 / pi) == near(5471.8, 1)


def test_the_demo_blade():
    """A steel disc, 500 mm × 4.4 mm, 7850 kg/m³, at 3000 rpm; 0.5 N·m of friction [V]."""
    mass = spinning.disc_mass_kg(0.5, 0.0044, 7850)
    inertia = spinning.disc_inertia_kg_m2(mass, 0.25)
    assert mass == near(6.782, 3)
    assert inertia == near(0.21193, 5)
    assert spinning.energy_j(inertia, 3000) == near(10_459, 0)
    assert spinning.rim_speed_m_s(0.25, 3000) == near(78.54, 2)
    assert spinning.coast_down_s(inertia, 3000, 0.5) == near(133.2, 1)


# Gravity and springs


def test_openstax_spring():
    """OpenStax, *College Physics*, §16.1: 50.0 N/m, 0.150 m, 2.00 g: 0.563 J, 23.7 m/s [M][V]."""
    energy = spring.energy_j(50.0, 0.150)
    assert energy == near(0.5625, 4)
    assert spring.launch_speed_m_s(energy, 0.002) == near(23.7, 1)


def test_the_demo_gantry_and_spring():
    """180 kg at 1.2 m, g = 9.806 65 m/s² by convention; 20 kN/m, 50 mm [V]."""
    assert raised.GRAVITY_M_PER_S2 == 9.80665
    assert raised.energy_j(180, 1.2) == near(2118.2, 1)
    assert raised.landing_speed_m_s(1.2) == near(4.851, 3)
    assert spring.energy_j(20_000, 0.050) == near(25.0, 1)


# Heat


def test_newtons_cooling_of_a_cup():
    """200 °F → 180 °F in 2 min at 70 °F: 175 °F at 2.557 min, 155 °F at 5.087 min [V]; the exercise [M]."""
    tau = heat.time_constant_from_reading_s(200, 180, 70, 120)
    assert heat.wait_s(200, 175, 70, tau) / 60 == near(2.557, 3)
    assert heat.wait_s(200, 155, 70, tau) / 60 == near(5.087, 3)


def test_newtons_cooling_to_what_hands_can_bear():
    """90 °C, 60 °C after 10 min, 20 °C around it: 43 °C after 19.889 min [V]."""
    tau = heat.time_constant_from_reading_s(90, 60, 20, 600)
    assert heat.wait_s(90, 43, 20, tau) / 60 == near(19.889, 3)
    assert heat.temperature_after_c(90, 20, tau, 19.889 * 60) == near(43, 2)


@pytest.mark.parametrize(
    ("contact_s", "celsius"),
    [(0.5, 67), (1, 65), (10, 55), (60, 51), (600, 48), (8 * 3600, 43), (24 * 3600, 43)],
)
def test_burn_thresholds_of_iso_13732_1(contact_s, celsius):
    """Bare smooth metal, lower edges [M]."""
    assert heat.burn_threshold_c(contact_s) == celsius


@pytest.mark.parametrize(
    ("contact_s", "celsius"), [(1, 68), (1.5, 66), (3, 63), (5, 60), (10, 57), (30, 55), (300, 49)]
)
def test_no_threshold_is_above_independent_burn_data(contact_s, celsius):
    """US burn-institute data for metal [2], where serious burns are reported."""
    assert heat.burn_threshold_c(contact_s) <= celsius


def test_hands_on_and_a_brief_touch():
    """Site rule of the demo plant, common practice: hands-on at most 43 °C, brief touch at most 55 °C."""
    assert not hazard.hot(43).hazardous
    assert hazard.hot(43.1).hazardous
    assert not hazard.hot(55, contact_s=10).hazardous
    assert hazard.hot(55.1, contact_s=10).hazardous
