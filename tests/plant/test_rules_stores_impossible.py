"""No stored-energy function answers with a number to a value that cannot be: every argument of every one."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction

import pytest

from permits.plant.rules.stores import (
    accumulator,
    blowdown,
    capacitor,
    dead,
    gas,
    hazard,
    heat,
    orifice,
    raised,
    spinning,
    spring,
)
from permits.plant.rules.stores.blowdown import Assumption, Vessel
from permits.plant.rules.stores.gas import Model, Tnt
from permits.plant.rules.stores.impossible import ImpossibleStore

VENTED = accumulator.vent_fast(0.005, 180e5, 100e5, 293.15)
NEVER = [None, math.nan, math.inf, -math.inf, "5", True, 1e300, 10**400, Decimal(5), Fraction(1, 2)]

# Each function with a sound value for every argument; a name that ends in "=0" may be zero, one that ends in
# "=-" may be below it too. Temperatures in °C end at absolute zero.
FUNCTIONS = [
    (capacitor.energy_j, {"capacitance_f": 2.2e-3, "voltage_v=0": 565.7}),
    (capacitor.charge_c, {"capacitance_f": 2.2e-3, "voltage_v=0": 565.7}),
    (capacitor.capacitance_for_f, {"energy_j": 400, "voltage_v": 10_000}),
    (capacitor.bus_voltage_v, {"line_to_line_v": 400}),
    (capacitor.time_constant_s, {"capacitance_f": 2.2e-3, "bleeder_ohm": 22_000}),
    (capacitor.voltage_after_v, {"voltage_v=0": 565.7, "time_constant_s": 48.4, "time_s=0": 5}),
    (capacitor.wait_s, {"voltage_v=0": 565.7, "safe_v": 50, "time_constant_s": 48.4}),
    (
        capacitor.bleeder_for_ohm,
        {"capacitance_f": 2.2e-3, "voltage_v": 565.7, "safe_v": 60, "within_s": 5},
    ),
    (
        capacitor.worst_case,
        {
            "capacitance_f": 2.2e-3,
            "voltage_v=0": 565.7,
            "bleeder_ohm=none": 22_000,
            "voltage_over_percent=0": 10,
            "capacitance_over_percent=0": 20,
            "bleeder_over_percent=0": 5,
        },
    ),
    (spinning.angular_speed_rad_s, {"speed_rpm=0": 3000}),
    (spinning.energy_j, {"inertia_kg_m2": 0.2, "speed_rpm=0": 3000}),
    (spinning.disc_inertia_kg_m2, {"mass_kg": 6.8, "radius_m": 0.25}),
    (spinning.disc_mass_kg, {"diameter_m": 0.5, "thickness_m": 0.0044, "density_kg_m3": 7850}),
    (spinning.rod_inertia_kg_m2, {"mass_kg": 50, "length_m": 4}),
    (spinning.rim_speed_m_s, {"radius_m": 0.25, "speed_rpm=0": 3000}),
    (spinning.coast_down_s, {"inertia_kg_m2": 0.2, "speed_rpm=0": 3000, "friction_n_m": 0.5}),
    (
        spinning.viscous_speed_rpm,
        {"inertia_kg_m2": 0.2, "speed_rpm=0": 3000, "viscous_n_m_s": 0.01, "time_s=0": 60},
    ),
    (
        spinning.viscous_time_s,
        {"inertia_kg_m2": 0.2, "speed_rpm=0": 3000, "viscous_n_m_s": 0.01, "to_rpm": 1},
    ),
    (raised.energy_j, {"mass_kg": 180, "height_m=0": 1.2}),
    (raised.landing_speed_m_s, {"height_m=0": 1.2}),
    (spring.energy_j, {"stiffness_n_per_m": 20_000, "travel_m=0": 0.05}),
    (spring.energy_between_j, {"stiffness_n_per_m": 20_000, "travel_m": 0.05, "left_m=0": 0.01}),
    (spring.launch_speed_m_s, {"energy_j=0": 0.56, "mass_kg": 0.002}),
    (gas.absolute_pa, {"gauge_pa=0": 7e5, "ambient_pa": 101_325}),
    *(
        (
            lambda model=model, **values: gas.energy_j(model=model, **values),
            {"pressure_pa": 8e5, "volume_m3": 0.1, "ambient_pa": 1e5, "gamma": 1.4},
        )
        for model in Model
    ),
    (gas.largest, {"pressure_pa": 8e5, "volume_m3": 0.1, "ambient_pa": 1e5, "gamma": 1.4}),
    (gas.pcc2_energy_j, {"pressure_pa": 8e5, "volume_m3": 0.1, "ambient_pa": 1e5}),
    (lambda **values: gas.tnt_kg(convention=Tnt.PCC_2, **values), {"energy_j": 1e6}),
    (accumulator.gas_volume_m3, {"precharge_pa": 9e6, "volume_m3": 0.01, "pressure_pa": 18e6, "n": 1}),
    (accumulator.oil_held_m3, {"precharge_pa": 9e6, "volume_m3": 0.01, "pressure_pa": 18e6, "n": 1}),
    (accumulator.gas_work_j, {"precharge_pa": 9e6, "volume_m3": 0.01, "pressure_pa": 18e6, "n": 1.4}),
    (accumulator.most_work_j, {"precharge_pa": 9e6, "volume_m3": 0.01, "pressure_pa": 18e6}),
    (
        accumulator.rupture_energy_j,
        {"precharge_pa": 9e6, "volume_m3": 0.01, "ambient_pa": 1e5, "gamma": 1.4},
    ),
    (
        accumulator.vent_fast,
        {"gas_m3": 0.005, "pressure_pa": 18e6, "vented_to_pa": 1e7, "temperature_k": 293.15, "gamma": 1.4},
    ),
    (
        lambda **values: accumulator.pressure_on_warming_pa(VENTED, **values),
        {"temperature_k": 293.15, "time_constant_s": 60, "time_s=0": 30},
    ),
    (accumulator.return_time_s, {"time_constant_s": 60, "part=0": 0.95}),
    (orifice.critical_ratio, {"gamma": 1.4}),
    (orifice.choking, {"gamma": 1.4}),
    (orifice.area_m2, {"diameter_m": 0.006}),
    (
        orifice.mass_flow_kg_s,
        {"pressure_pa": 8e5, "temperature_k": 293.15, "area_m2": 3e-5, "discharge": 0.8, "ambient_pa": 1e5},
    ),
    (orifice.Gas, {"gamma": 1.4, "constant_j_per_kg_k": 287.05}),
    (
        Vessel,
        {
            "volume_m3": 0.1,
            "pressure_pa": 8e5,
            "area_m2": 3e-5,
            "discharge": 0.8,
            "temperature_k": 293.15,
            "ambient_pa": 1e5,
        },
    ),
    *(
        (
            lambda assumption=assumption, **values: blowdown.choked_time_s(assumption=assumption, **values),
            {"time_constant_s": 22.3, "ratio": 4, "gamma": 1.4},
        )
        for assumption in Assumption
    ),
    *(
        (
            lambda how=assumption, **values: blowdown.choked_pressure_pa(assumption=how, **values),
            {"pressure_pa": 8e5, "time_constant_s": 22.3, "time_s=0": 10, "gamma": 1.4},
        )
        for assumption in Assumption
    ),
    (blowdown.safer, {"ratio": 8, "gamma": 1.4}),
    (
        lambda **values: blowdown.longest(Vessel(0.1, 8e5, 3e-5, 0.8, 293.15, 1e5), **values),
        {"end_pa": 1.1e5},
    ),
    (
        heat.temperature_after_c,
        {"hot_c=-": 140, "ambient_c=-": 20, "time_constant_s": 3200, "time_s=0": 60},
    ),
    (heat.wait_s, {"hot_c=-": 140, "safe_c=-": 43, "ambient_c=-": 20, "time_constant_s": 3200}),
    (
        heat.time_constant_from_reading_s,
        {"hot_c=-": 90, "reading_c=-": 60, "ambient_c=-": 20, "after_s": 600},
    ),
    (
        heat.heat_j,
        {"mass_kg": 10, "specific_heat_j_per_kg_k": 490, "hot_c=-": 140, "to_c=-": 20},
    ),
    (heat.burn_threshold_c, {"contact_s": 10}),
    (hazard.capacitor, {"voltage_v=-": 566, "energy_j=0": 352}),
    (hazard.gas, {"gauge_pa=0": 7e5, "energy_j=0": 1e5}),
    (hazard.mechanical, {"energy_j=0": 90}),
    (hazard.hot, {"temperature_c=-": 140, "contact_s": 10}),
    (dead.voltage, {"reading_v=-": 12, "limit_v=0": 50}),
    (dead.pressure, {"reading_gauge_pa=-": 100, "limit_gauge_pa=0": 5000}),
    (dead.speed, {"reading_rpm=-": 0}),
    (dead.temperature, {"reading_c=-": 40, "contact_s": 28_800, "limit_c=none": 43}),
]
ARGUMENTS = [(function, given, name) for function, given in FUNCTIONS for name in given]


def _label(value):
    return value.__qualname__.replace("<lambda>", "") if callable(value) else value


def call(function, given, **instead):
    return function(**({name.split("=")[0]: value for name, value in given.items()} | instead))


@pytest.mark.parametrize(("function", "given"), FUNCTIONS, ids=_label)
def test_sound_values_give_an_answer(function, given):
    answer = call(function, given)
    if isinstance(answer, float):
        assert math.isfinite(answer)
        assert answer >= 0


@pytest.mark.parametrize(("function", "given", "name"), ARGUMENTS, ids=_label)
def test_what_is_no_sound_number_is_refused(function, given, name):
    plain, _, may = name.partition("=")
    bad = [value for value in NEVER if not (value is None and may == "none")]
    bad += {"": [0, -0.001, 1e-20], "0": [-0.001], "none": [-300], "-": []}[may]
    if may == "-" and plain.endswith("_c") and plain != "temperature_c":
        bad.append(-273.15)
    if (function, plain) == (gas.absolute_pa, "gauge_pa"):
        bad = [value for value in bad if value != -0.001] + [-101_325]  # a vacuum has a negative gauge
    for value in bad:
        with pytest.raises(ImpossibleStore) as caught:
            call(function, given, **{plain: value})
        assert caught.value.field
        assert caught.value.wrong
        assert caught.value.right
        assert isinstance(caught.value, ValueError)


@pytest.mark.parametrize(("function", "given", "name"), ARGUMENTS, ids=_label)
def test_zero_only_where_it_means_something(function, given, name):
    plain, _, may = name.partition("=")
    if may == "0":
        call(function, given, **{plain: 0})


@pytest.mark.parametrize(
    ("function", "given", "field"),
    [
        (gas.energy_j, {"pressure_pa": 7e5 - 7e5, "volume_m3": 1, "model": Model.BRODE}, "pressure_pa"),
        (gas.energy_j, {"pressure_pa": 101_324, "volume_m3": 1, "model": Model.BRODE}, "pressure_pa"),
        (gas.energy_j, {"pressure_pa": 2e5, "volume_m3": 1, "model": Model.BRODE, "gamma": 1}, "gamma"),
        (accumulator.gas_work_j, {"precharge_pa": 9e6, "volume_m3": 1, "pressure_pa": 8e6}, "pressure_pa"),
        (
            accumulator.gas_work_j,
            {"precharge_pa": 9e6, "volume_m3": 1, "pressure_pa": 18e6, "n": 0.9},
            "n",
        ),
        (accumulator.return_time_s, {"time_constant_s": 60, "part": 1}, "part"),
        (spring.energy_between_j, {"stiffness_n_per_m": 1, "travel_m": 0.01, "left_m": 0.02}, "left_m"),
        (heat.wait_s, {"hot_c": 140, "safe_c": 20, "ambient_c": 20, "time_constant_s": 1}, "safe_c"),
        (
            heat.time_constant_from_reading_s,
            {"hot_c": 90, "reading_c": 20, "ambient_c": 20, "after_s": 60},
            "reading_c",
        ),
        (
            heat.time_constant_from_reading_s,
            {"hot_c": 90, "reading_c": 90, "ambient_c": 20, "after_s": 60},
            "hot_c",
        ),
        (heat.burn_threshold_c, {"contact_s": 0.4}, "contact_s"),
        (capacitor.wait_s, {"voltage_v": 500, "safe_v": 0, "time_constant_s": 1}, "safe_v"),
        (
            capacitor.bleeder_for_ohm,
            {"capacitance_f": 1, "voltage_v": 50, "safe_v": 60, "within_s": 5},
            "voltage_v",
        ),
        (
            spinning.viscous_time_s,
            {"inertia_kg_m2": 1, "speed_rpm": 3000, "viscous_n_m_s": 0.1, "to_rpm": 0},
            "to_rpm",
        ),
        (Vessel, {"volume_m3": 1, "pressure_pa": 1e5, "area_m2": 1, "discharge": 1, "temperature_k": 1},
         "pressure_pa"),
        (
            Vessel,
            {"volume_m3": 1, "pressure_pa": 2e5, "area_m2": 1, "discharge": 1.01, "temperature_k": 1},
            "discharge",
        ),
        (dead.voltage, {"reading_v": 1, "limit_v": 60}, "limit_v"),
        (dead.temperature, {"reading_c": 40, "limit_c": 44}, "limit_c"),
    ],
)  # fmt: skip
def test_what_cannot_be_together_names_its_field(function, given, field):
    with pytest.raises(ImpossibleStore) as caught:
        function(**given)
    assert caught.value.field == field
    assert str(caught.value).startswith(f"{field}: is ")
    assert "Right would be" in str(caught.value)


def test_the_surroundings_are_no_end_pressure():
    vessel = Vessel(0.1, 8e5, 3e-5, 0.8, 293.15)
    for end in (101_325, 100_000):
        for assumption in Assumption:
            with pytest.raises(ImpossibleStore, match="end_pa"):
                blowdown.time_s(vessel, end, assumption)
