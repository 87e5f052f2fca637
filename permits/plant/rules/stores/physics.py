"""The member `physics` of a store in a plant file: read with every check, and written back.

One object with its kind. Numbers stand as JSON numbers or as texts of digits ("0.0022") and are kept exactly;
units are in the names, and a `gauge` pressure is one above the surroundings. Members marked * must be there.

    {"kind": "capacitor", "capacitance_f": "0.0022", "voltage_v": "565.7", "bleeder_ohm": "22000"}

capacitor (medium electrical)
    capacitance_f*            farads
    voltage_v*                the highest voltage that the drive's data sheet allows: braking can hold the bus
                              well above its rest value, √2 times the supply
    bleeder_ohm               the resistor that discharges it; without it no wait is known
    voltage_over_percent      how far each may lie above its value (10, 20, 5)
    capacitance_over_percent
    bleeder_over_percent
receiver (medium pneumatic)
    volume_l*, gauge_bar*     litres; bar above the surroundings
    orifice_mm                the narrowest diameter on the way out of the drain; without it no wait is known
    discharge                 its discharge coefficient (0.6, a sharp edge)
    temperature_c             of the gas (20)
    ambient_pa                the surroundings (101325)
    model                     brode, isentropic, isothermal or availability; left out: the one that gives most
accumulator (medium hydraulic)
    volume_l*                 of the gas at its precharge
    precharge_gauge_bar*      the gas when no oil is in
    gauge_bar*                the highest pressure of the oil, above the precharge
    warming_s                 time constant with which cold gas warms up again, where it is known
    temperature_c, ambient_pa as above
spinning (medium rotating)
    speed_rpm*                the highest speed
    inertia_kg_m2             moment of inertia; or, for a solid disc, the next two
    disc_mass_kg, disc_diameter_mm
    friction_n_m              the least constant friction torque; without it no wait is known
raised (medium gravity)
    mass_kg*, height_m*       the mass and how far it can fall
spring (medium spring)
    stiffness_n_per_m*, travel_mm*    the travel from the free length
    left_mm                   travel that is left after the release (0)
hot (medium thermal)
    temperature_c*, ambient_c*        of the part and of what is around it
    time_constant_s           of its cooling; without it no wait is known
    contact_s                 how long skin may touch it, from 10 to 28800 (28800: hands on it all shift)
    mass_kg, specific_heat_j_per_kg_k both or neither; for its energy
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Any

from permits.plant.rules.rows import Nearest, Row, plain, shown
from permits.plant.rules.stores.gas import Model
from permits.plant.rules.stores.kinds import KINDS, Accumulator, Hot, Physics, Spinning, Spring

MODELS = tuple(model.value for model in Model)


@dataclass(frozen=True, slots=True)
class _Number:
    """The bounds of a member and how to say what is right."""

    least: str
    most: str
    words: str
    needed: bool = False


_PERCENT = _Number("0", "1000", "percent, such as 10")
_AMBIENT = _Number("30000", "200000", "the absolute pressure around it in pascals, such as 101325")
_GAS_C = _Number("-100", "500", "the temperature of the gas in °C, such as 20")
_VOLUME = _Number("0.001", "10000000", "litres, such as 500", needed=True)
_GAUGE = _Number("0.001", "10000", "bar above the surroundings, such as 7", needed=True)
_MASS = _Number("0.000001", "10000000", "kilograms, such as 180")
_MEMBERS: dict[str, dict[str, _Number]] = {
    "capacitor": {
        "capacitance_f": _Number("0.000000001", "10000", "farads, such as 0.0022 for 2200 µF", needed=True),
        "voltage_v": _Number("0.001", "1000000", "volts, such as 565.7", needed=True),
        "bleeder_ohm": _Number("0.001", "1000000000", "ohms, such as 22000"),
        "voltage_over_percent": _PERCENT,
        "capacitance_over_percent": _PERCENT,
        "bleeder_over_percent": _PERCENT,
    },
    "receiver": {
        "volume_l": _VOLUME,
        "gauge_bar": _GAUGE,
        "orifice_mm": _Number("0.01", "1000", "millimetres, such as 6"),
        "discharge": _Number("0.01", "1", "the discharge coefficient, such as 0.6"),
        "temperature_c": _GAS_C,
        "ambient_pa": _AMBIENT,
    },
    "accumulator": {
        "volume_l": _VOLUME,
        "precharge_gauge_bar": _GAUGE,
        "gauge_bar": _GAUGE,
        "warming_s": _Number("0.001", "604800", "seconds, such as 120"),
        "temperature_c": _GAS_C,
        "ambient_pa": _AMBIENT,
    },
    "spinning": {
        "speed_rpm": _Number("0.001", "1000000", "revolutions a minute, such as 3000", needed=True),
        "inertia_kg_m2": _Number("0.000000001", "1000000000", "kg·m², such as 0.212"),
        "disc_mass_kg": _MASS,
        "disc_diameter_mm": _Number("0.01", "100000", "millimetres, such as 500"),
        "friction_n_m": _Number("0.000000001", "1000000", "newton metres, such as 0.5"),
    },
    "raised": {
        "mass_kg": _Number("0.000001", "10000000", "kilograms, such as 180", needed=True),
        "height_m": _Number("0.0001", "1000", "metres, such as 1.2", needed=True),
    },
    "spring": {
        "stiffness_n_per_m": _Number("0.001", "1000000000", "N/m, such as 20000", needed=True),
        "travel_mm": _Number("0.001", "100000", "millimetres from the free length, such as 50", needed=True),
        "left_mm": _Number("0", "100000", "millimetres from the free length, such as 5"),
    },
    "hot": {
        "temperature_c": _Number("-50", "3000", "°C, such as 140", needed=True),
        "ambient_c": _Number("-100", "500", "°C, such as 20", needed=True),
        "time_constant_s": _Number("0.001", "10000000", "seconds, such as 3200"),
        "contact_s": _Number("10", "28800", "seconds that skin may touch it, such as 28800"),
        "mass_kg": _MASS,
        "specific_heat_j_per_kg_k": _Number("1", "100000", "J/(kg·K), such as 490 for steel"),
    },
}


def read_physics(row: Row, nearest: Nearest, *, strict: bool) -> Physics | None:
    """The store that the object `physics` describes, or None where something is wrong with it.

    Everything that is wrong is noted in the row's errors. `row`: the object itself, as `Row.inner` gives it.
    """
    errors_before = len(row.errors)
    kind = _kind(row, nearest)
    if kind is None:
        return None
    members = _MEMBERS[kind]
    known = ("kind", *members, *(("model",) if kind == "receiver" else ()))
    row.check_names(known, nearest, strict=strict)
    values: dict[str, Any] = {}
    for field, bounds in members.items():
        if row.raw(field) is None and not bounds.needed:
            if field in row:
                row.wrong(field, "is null", f"{bounds.words}, or to leave it out")
        elif not row.missing(field, bounds.words):
            values[field] = _within(row, field, bounds)
    if kind == "receiver" and "model" in row:
        values["model"] = _model(row, nearest)
    if len(row.errors) > errors_before:
        return None
    physics = KINDS[kind](**values)
    _check_together(row, physics)
    return physics if len(row.errors) == errors_before else None


def write_physics(physics: Physics) -> dict[str, str]:
    """The store as the object `physics`: every number as a text of digits, defaults left out."""
    row = {"kind": physics.kind}
    for field in fields(physics):
        value = getattr(physics, field.name)
        if value is not None and value != field.default:
            row[field.name] = plain(value) if isinstance(value, Decimal) else str(value)
    return row


def stored_physics(stored: Mapping[str, str]) -> Physics:
    """The store that an object written by `write_physics` describes, trusted without a check."""
    values: dict[str, Any] = {
        field: Model(value) if field == "model" else Decimal(value)
        for field, value in stored.items()
        if field != "kind"
    }
    return KINDS[stored["kind"]](**values)


def _kind(row: Row, nearest: Nearest) -> str | None:
    right = f"one of {', '.join(KINDS)}"
    if row.missing("kind", right):
        return None
    value = row.raw("kind")
    if isinstance(value, str) and value in KINDS:
        return value
    near = nearest.to(value, tuple(KINDS)) if isinstance(value, str) else None
    row.wrong("kind", f"is {shown(value)}", f"'{near}', if that was meant, or {right}" if near else right)
    return None


def _model(row: Row, nearest: Nearest) -> Model | None:
    value = row.raw("model")
    if isinstance(value, str) and value in MODELS:
        return Model(value)
    right = f"one of {', '.join(MODELS)}, or to leave it out"
    near = nearest.to(value, MODELS) if isinstance(value, str) else None
    row.wrong("model", f"is {shown(value)}", f"'{near}', if that was meant, or {right}" if near else right)
    return None


def _within(row: Row, field: str, bounds: _Number) -> Decimal:
    errors_before = len(row.errors)
    value = row.decimal(field, bounds.words, signed=True)
    if len(row.errors) == errors_before and not Decimal(bounds.least) <= value <= Decimal(bounds.most):
        right = f"{bounds.words}, from {bounds.least} to {bounds.most}"
        row.wrong(field, f"is {shown(row.raw(field))}", right)
    return value


def _check_together(row: Row, physics: Physics) -> None:
    """What no member says alone."""
    match physics:
        case Accumulator() if physics.gauge_bar <= physics.precharge_gauge_bar:
            row.wrong(
                "gauge_bar",
                f"is {plain(physics.gauge_bar)}, not above the precharge of "
                f"{plain(physics.precharge_gauge_bar)}: it would hold no oil",
                "the highest pressure of the oil, above precharge_gauge_bar",
            )
        case Spinning():
            _check_inertia(row, physics)
        case Spring() if physics.left_mm >= physics.travel_mm:
            row.wrong(
                "left_mm",
                f"is {plain(physics.left_mm)}, not below travel_mm",
                f"less than {plain(physics.travel_mm)}: a release takes travel away",
            )
        case Hot():
            if physics.temperature_c <= physics.ambient_c:
                row.wrong(
                    "temperature_c",
                    f"is {plain(physics.temperature_c)}, not above ambient_c",
                    f"more than {plain(physics.ambient_c)}: a hot part is hotter than what is around it",
                )
            _check_pair(row, physics, "mass_kg", "specific_heat_j_per_kg_k")
        case _:
            pass


def _check_inertia(row: Row, physics: Spinning) -> None:
    _check_pair(row, physics, "disc_mass_kg", "disc_diameter_mm")
    disc = physics.disc_mass_kg is not None or physics.disc_diameter_mm is not None
    right = "inertia_kg_m2, or disc_mass_kg with disc_diameter_mm"
    if physics.inertia_kg_m2 is None and not disc:
        row.wrong("inertia_kg_m2", "is missing", right)
    elif physics.inertia_kg_m2 is not None and disc:
        row.wrong("inertia_kg_m2", "stands beside the measures of a disc", f"one of the two: {right}")


def _check_pair(row: Row, physics: Physics, first: str, second: str) -> None:
    for one, other in ((first, second), (second, first)):
        if getattr(physics, one) is None and getattr(physics, other) is not None:
            row.wrong(one, f"is missing beside {other}", "both of them, or neither")
