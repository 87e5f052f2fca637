"""Can this store hurt? Published lines with their sources; an officer may tighten them, never loosen. Pure.

A different question from `dead.py`: a bus at 60 V may hold too little to hurt and is still not dead by a
reading, and a store below every line still gets a reading if hands go to it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields

from permits.plant.rules.stores import heat
from permits.plant.rules.stores.impossible import ImpossibleStore, not_below_zero, number, written
from permits.plant.rules.stores.sources import (
    BURNS,
    GAS_UNDER_PRESSURE,
    HEAT_BY_CAPACITOR,
    LARGE_GAS_ENERGY,
    NO_LOWER_LINE,
    REFLEX_BY_CAPACITOR,
    SHOCK_BY_CAPACITOR,
    Source,
)
from permits.plant.rules.stores.wording import duration, joules

LARGE_GAS_J = 100_000.0


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether a store can hurt, why, the line it was held against, and that line's source.

    `published`: the published line, where the one it was held against is the site's own and tighter; else "".
    """

    hazardous: bool
    why: str
    threshold: str
    source: Source
    published: str = ""


@dataclass(frozen=True, slots=True)
class Lines:
    """Where *can hurt* starts. An officer may lower a line; raising one raises ImpossibleStore.

    shock_v, shock_j     a shock: at or above both (100 V, 10 J)
    reflex_v, reflex_j   a reflex movement: above the voltage, at or above the energy (400 V, 0.25 J)
    heat_j               heat and molten metal at any voltage: above it (100 J)
    gas_gauge_pa         gas: above it (0.5 bar gauge)
    burn_cooler_by_k     taken off each burn threshold; this one is tightened upwards (0 K)
    """

    shock_v: float = 100.0
    shock_j: float = 10.0
    reflex_v: float = 400.0
    reflex_j: float = 0.25
    heat_j: float = 100.0
    gas_gauge_pa: float = 50_000.0
    burn_cooler_by_k: float = 0.0

    def __post_init__(self) -> None:
        for line in fields(self):
            value = not_below_zero(line.name, getattr(self, line.name))
            if line.name != "burn_cooler_by_k" and value > float(line.default):  # type: ignore[arg-type]
                raise ImpossibleStore(
                    line.name,
                    f"is {written(value)}, looser than the published line",
                    f"{line.default} or less: a line may be tightened, never loosened",
                )


PUBLISHED = Lines()


def capacitor(voltage_v: float, energy_j: float, lines: Lines = PUBLISHED) -> Verdict:
    """Can a capacitor hurt at `voltage_v` (V, either sign) with `energy_j` (J)? Raises ImpossibleStore."""
    volts = abs(number("voltage_v", voltage_v))
    held_j = not_below_zero("energy_j", energy_j)
    held = f"{volts:.4g} V and {joules(held_j)}"
    if volts >= lines.shock_v and held_j >= lines.shock_j:
        why = f"{held} can give a dangerous shock"
        return _verdict(True, why, _shock, lines, SHOCK_BY_CAPACITOR)
    if volts > lines.reflex_v and held_j >= lines.reflex_j:
        why = f"{held} can make a person start and fall"
        return _verdict(True, why, _reflex, lines, REFLEX_BY_CAPACITOR)
    if held_j > lines.heat_j:
        why = f"{held} can burn and melt metal through a tool"
        return _verdict(True, why, _melting, lines, HEAT_BY_CAPACITOR)
    whose = "published line" if _every_line(lines) == _every_line(PUBLISHED) else "line of the site"
    return _verdict(False, f"{held} is below every {whose}", _every_line, lines, SHOCK_BY_CAPACITOR)


def gas(gauge_pa: float, energy_j: float, lines: Lines = PUBLISHED) -> Verdict:
    """Can a gas hurt at `gauge_pa` above the surroundings, with `energy_j` in it? Raises ImpossibleStore."""
    bar = not_below_zero("gauge_pa", gauge_pa) / 1e5
    held_j = not_below_zero("energy_j", energy_j)
    if held_j > LARGE_GAS_J:
        why = f"{joules(held_j)} of compressed gas is highly hazardous"
        return Verdict(True, why, f"more than {LARGE_GAS_J / 1000:g} kJ", LARGE_GAS_ENERGY)
    hazardous = gauge_pa > lines.gas_gauge_pa
    why = f"{bar:.4g} bar gauge is {'above' if hazardous else 'not above'} the line"
    return _verdict(hazardous, why, _gas, lines, GAS_UNDER_PRESSURE)


def mechanical(energy_j: float) -> Verdict:
    """Can a moving, raised or strained part hurt? With any energy at all: no published lower line is claimed.

    Raises ImpossibleStore.
    """
    held_j = not_below_zero("energy_j", energy_j)
    why = f"{joules(held_j)} can move a part against a person" if held_j else "it holds no energy"
    return Verdict(held_j > 0, why, "any energy", NO_LOWER_LINE)


def hot(temperature_c: float, contact_s: float = heat.HANDS_ON_S, lines: Lines = PUBLISHED) -> Verdict:
    """Can bare metal at `temperature_c` burn in a contact of `contact_s`? Raises ImpossibleStore.

    Above the threshold counts as hazardous; the threshold is the lower edge of a published band.
    """
    line_c = burn_line_c(contact_s, lines)
    degrees = number("temperature_c", temperature_c)
    hazardous = degrees > line_c
    why = f"{degrees:.4g} °C is {'above' if hazardous else 'not above'} {line_c:g} °C"
    return _verdict(hazardous, why, lambda of: _burn(contact_s, of), lines, BURNS)


def burn_line_c(contact_s: float, lines: Lines = PUBLISHED) -> float:
    """Above which temperature, in °C, bare metal counts as hot in this contact. Raises ImpossibleStore."""
    return heat.burn_threshold_c(contact_s) - lines.burn_cooler_by_k


def _verdict(hazardous: bool, why: str, say: Callable[[Lines], str], lines: Lines, source: Source) -> Verdict:
    """`say`: the line in words, as these lines or the published ones draw it."""
    threshold, published = say(lines), say(PUBLISHED)
    return Verdict(hazardous, why, threshold, source, published if published != threshold else "")


def _shock(lines: Lines) -> str:
    return f"{lines.shock_v:.10g} V or more and {lines.shock_j:.10g} J or more"


def _reflex(lines: Lines) -> str:
    return f"more than {lines.reflex_v:.10g} V and {lines.reflex_j:.10g} J or more"


def _melting(lines: Lines) -> str:
    return f"more than {lines.heat_j:.10g} J at any voltage"


def _every_line(lines: Lines) -> str:
    return f"{_shock(lines)}; {_reflex(lines)}; {_melting(lines)}"


def _gas(lines: Lines) -> str:
    return f"more than {lines.gas_gauge_pa / 1e5:.10g} bar gauge"


def _burn(contact_s: float, lines: Lines) -> str:
    return f"more than {burn_line_c(contact_s, lines):.10g} °C in a contact of {duration(contact_s)}"
