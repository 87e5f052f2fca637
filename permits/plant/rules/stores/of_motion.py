"""The figures of spinning and raised masses and of springs. Pure."""

from __future__ import annotations

from permits.plant.rules.rows import plain
from permits.plant.rules.stores import hazard
from permits.plant.rules.stores import raised as falling
from permits.plant.rules.stores import spinning as turning
from permits.plant.rules.stores import spring as strained
from permits.plant.rules.stores.figures import Numbers, Wait
from permits.plant.rules.stores.impossible import ImpossibleStore
from permits.plant.rules.stores.kinds import Raised, Spinning, Spring
from permits.plant.rules.stores.wording import duration


def spinning(store: Spinning) -> Numbers:
    """A wait only where a constant friction torque is described."""
    rpm = float(store.speed_rpm)
    inertia, of_what = _inertia(store)
    energy = turning.energy_j(inertia, rpm)
    if store.friction_n_m is None:
        wait = Wait(
            None,
            "No constant friction is described, and drag alone never stops it: standstill is seen or read.",
        )
        assumptions: tuple[str, ...] = (of_what,)
    else:
        seconds = turning.coast_down_s(inertia, rpm, float(store.friction_n_m))
        wait = Wait(seconds, f"From {rpm:g} rpm at {plain(store.friction_n_m)} N·m: {duration(seconds)}.")
        assumptions = (
            of_what,
            "The friction never falls below its stated value; drag that grows with speed only shortens this.",
            "Nothing drives it.",
        )
    return Numbers.of(
        energy,
        hazard.mechanical(energy),
        wait,
        assumptions,
        "A belt, a draught, a loose load or a drive that is still fed can turn it again.",
    )


def raised(store: Raised) -> Numbers:
    """Waiting lowers nothing."""
    height = float(store.height_m)
    speed = falling.landing_speed_m_s(height)
    energy = falling.energy_j(float(store.mass_kg), height)
    return Numbers.of(
        energy,
        hazard.mechanical(energy),
        Wait(None, "Waiting does not lower it: prop it, pin it or lower it to rest, then test."),
        (
            f"It falls {height:g} m without friction and lands at {speed:.3g} m/s.",
            f"g = {falling.GRAVITY_M_PER_S2} m/s².",
        ),
        "A brake or a counterbalance valve is not a block, and a raised axis creeps: only a prop or a pin "
        "that stays in holds it.",
    )


def spring(store: Spring) -> Numbers:
    """All that it holds from its free length; what is left after the release stays."""
    stiffness = float(store.stiffness_n_per_m)
    energy = strained.energy_j(stiffness, float(store.travel_mm) / 1000)
    stays = strained.energy_j(stiffness, float(store.left_mm) / 1000)
    assumptions = ["Stiffness is the same over the whole travel, which counts from the free length."]
    if stays:
        assumptions.append(f"{plain(store.left_mm)} mm of travel stay after the release.")
    return Numbers.of(
        energy,
        hazard.mechanical(energy),
        Wait(None, "Waiting does not slacken it: let it down or pin it, then test."),
        tuple(assumptions),
        "Whatever strains it can do so again: it stays slack only while that is isolated.",
        stays,
    )


def _inertia(store: Spinning) -> tuple[float, str]:
    if store.inertia_kg_m2 is not None:
        return float(store.inertia_kg_m2), "Moment of inertia as stated."
    if store.disc_mass_kg is None or store.disc_diameter_mm is None:
        raise ImpossibleStore("inertia_kg_m2", "is missing", "inertia_kg_m2, or a disc's mass and diameter")
    inertia = turning.disc_inertia_kg_m2(float(store.disc_mass_kg), float(store.disc_diameter_mm) / 2000)
    return inertia, f"A solid disc: {inertia:.4g} kg·m²."
