"""The kinds of store and their figures in plain words, as the page that asks for them says them."""

from __future__ import annotations

from dataclasses import dataclass

from permits.plant.rules.energy import Medium, Node
from permits.plant.rules.stores.kinds import KINDS, MEDIUM_OF


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of a store: its member in the plant file, what people call it, its unit, how to find it."""

    name: str
    label: str
    unit: str = ""
    help_text: str = ""
    example: str = ""


KIND_WORDS = {
    "capacitor": ("A capacitor", "a drive's DC bus, or any other bank of capacitors"),
    "receiver": ("A receiver", "a vessel of compressed air or nitrogen"),
    "accumulator": ("An accumulator", "oil under pressure against a charge of gas"),
    "spinning": ("A spinning mass", "a blade, a spindle, a flywheel that coasts"),
    "raised": ("A raised mass", "a gantry, a platen, a fork that can fall"),
    "spring": ("A strained spring", "a spring that is held under tension or pressure"),
    "hot": ("A hot part", "a platen, an oven or a tool of bare metal"),
}

_WITHOUT = "Without it no wait is known."
_GAS_C = Figure("temperature_c", "Temperature of the gas", "°C")
_AMBIENT = Figure("ambient_pa", "Pressure of the air around it", "Pa", "Absolute: 101325 at sea level.")

FIGURES: dict[str, tuple[Figure, ...]] = {
    "capacitor": (
        Figure("capacitance_f", "Capacitance", "F", "In farads: 2200 µF are 0.0022.", "0.0022"),
        Figure(
            "voltage_v",
            "Highest voltage",
            "V",
            "The highest that the drive's data sheet allows: braking can hold it well above its rest value.",
            "565.7",
        ),
        Figure("bleeder_ohm", "Resistor that discharges it", "Ω", _WITHOUT),
        Figure("bleeder_over_percent", "The resistor may be larger by", "%"),
        Figure("voltage_over_percent", "The voltage may be higher by", "%"),
        Figure("capacitance_over_percent", "The capacitance may be larger by", "%"),
    ),
    "receiver": (
        Figure("volume_l", "Volume", "l", "", "500"),
        Figure("gauge_bar", "Highest pressure", "bar", "Above the surroundings, as a gauge shows it.", "7"),
        Figure(
            "orifice_mm",
            "Narrowest diameter on the way out",
            "mm",
            f"Of the drain or its silencer. {_WITHOUT}",
        ),
        Figure("discharge", "Discharge coefficient of the way out", "", "0.6 for a sharp edge."),
        _GAS_C,
        _AMBIENT,
    ),
    "accumulator": (
        Figure("volume_l", "Volume of the gas at its precharge", "l", "", "10"),
        Figure("precharge_gauge_bar", "Precharge", "bar", "Above the surroundings, with no oil in it.", "70"),
        Figure(
            "gauge_bar",
            "Highest pressure of the oil",
            "bar",
            "Above the surroundings, and above the precharge.",
            "120",
        ),
        Figure(
            "warming_s",
            "Time constant with which cold gas warms again",
            "s",
            "Where it is known: it says when the pressure can be back.",
        ),
        _GAS_C,
        _AMBIENT,
    ),
    "spinning": (
        Figure("speed_rpm", "Highest speed", "rpm", "", "3000"),
        Figure(
            "inertia_kg_m2", "Moment of inertia", "kg·m²", "Or, for a solid disc, its mass and its diameter."
        ),
        Figure("disc_mass_kg", "Mass of the disc", "kg"),
        Figure("disc_diameter_mm", "Diameter of the disc", "mm"),
        Figure(
            "friction_n_m", "Least friction torque", "N·m", f"One that never falls below this. {_WITHOUT}"
        ),
    ),
    "raised": (
        Figure("mass_kg", "Mass", "kg", "", "180"),
        Figure("height_m", "How far it can fall", "m", "", "1.2"),
    ),
    "spring": (
        Figure("stiffness_n_per_m", "Stiffness", "N/m", "20 N/mm are 20000 N/m.", "20000"),
        Figure("travel_mm", "Travel from the free length", "mm", "", "50"),
        Figure("left_mm", "Travel that is left after the release", "mm", "0 where it is slack then."),
    ),
    "hot": (
        Figure("temperature_c", "Highest temperature of the part", "°C", "", "140"),
        Figure("ambient_c", "Temperature around it", "°C", "", "20"),
        Figure(
            "time_constant_s",
            "Time constant of its cooling",
            "s",
            f"After it, 37 % of the difference to the surroundings is left. {_WITHOUT}",
        ),
        Figure(
            "contact_s",
            "How long skin may touch it",
            "s",
            "From 10 to 28800: 28800 is hands on it all shift, the strictest.",
        ),
        Figure("mass_kg", "Mass", "kg", "With the specific heat: for its energy."),
        Figure("specific_heat_j_per_kg_k", "Specific heat", "J/(kg·K)", "Such as 490 for steel."),
    ),
}


@dataclass(frozen=True, slots=True)
class KindLine:
    """A kind of store to choose. `against`: why the node's energy does not fit it; "" where it can be it."""

    kind: str
    words: str
    meaning: str
    is_it: bool
    against: str


def kind_lines(node: Node) -> list[KindLine]:
    """What a store can be: those that fit its energy first."""
    lines = [
        KindLine(
            kind=kind,
            words=KIND_WORDS[kind][0],
            meaning=KIND_WORDS[kind][1],
            is_it=node.physics is not None and node.physics.kind == kind,
            against="" if node.medium in (None, Medium(MEDIUM_OF[kind])) else MEDIUM_OF[kind],
        )
        for kind in KINDS
    ]
    return sorted(lines, key=lambda line: bool(line.against))
