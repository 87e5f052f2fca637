"""The figures of capacitors and of hot parts. Pure."""

from __future__ import annotations

from permits.plant.rules.energy import Test
from permits.plant.rules.rows import plain
from permits.plant.rules.stores import capacitor as charge
from permits.plant.rules.stores import dead, ends, hazard, heat
from permits.plant.rules.stores.figures import Numbers, Wait
from permits.plant.rules.stores.kinds import Capacitor, Hot
from permits.plant.rules.stores.sources import RESIDUAL_VOLTAGE
from permits.plant.rules.stores.wording import duration, joules


def capacitor(store: Capacitor, test: Test | None, lines: hazard.Lines) -> Numbers:
    """Nominal energy; hazard and wait at the unfavourable end of every tolerance."""
    farads, volts = float(store.capacitance_f), float(store.voltage_v)
    worst = charge.worst_case(
        farads,
        volts,
        None if store.bleeder_ohm is None else float(store.bleeder_ohm),
        voltage_over_percent=float(store.voltage_over_percent),
        capacitance_over_percent=float(store.capacitance_over_percent),
        bleeder_over_percent=float(store.bleeder_over_percent),
    )
    most_j = charge.energy_j(worst.capacitance_f, worst.voltage_v)
    assumptions = [
        f"Voltage {plain(store.voltage_over_percent)} % and capacitance "
        f"{plain(store.capacitance_over_percent)} % above their values: at most {worst.voltage_v:.4g} V and "
        f"{joules(most_j)}.",
    ]
    if store.bleeder_ohm is not None:
        assumptions += [
            f"Bleeder {plain(store.bleeder_over_percent)} % above its value, and whole: "
            "one that has failed open never discharges it."
        ]
    if charge.needs_warning(worst):
        assumptions += [
            f"It needs a durable warning with the waiting time beside it: not at {charge.RESIDUAL_V:g} V "
            f"within {charge.RESIDUAL_S:g} s. {RESIDUAL_VOLTAGE}."
        ]
    return Numbers.of(
        charge.energy_j(farads, volts),
        hazard.capacitor(worst.voltage_v, most_j, lines),
        _until_dead(worst, ends.volts(test)),
        tuple(assumptions),
        "After a short discharge part of the voltage comes back by itself, and a motor that still turns can "
        "charge it again: short it and keep it shorted, or test again.",
    )


def _until_dead(worst: charge.Bank, limit_v: float | None) -> Wait:
    end = dead.VOLTAGE_V if limit_v is None else min(limit_v, dead.VOLTAGE_V)
    if worst.bleeder_ohm is None:
        return Wait(None, "No bleeder is described, so no time is known: discharge it, then test.")
    if end <= 0:
        return Wait(None, "No wait brings it to 0 V: state a limit above zero, or discharge it, then test.")
    tau = charge.time_constant_s(worst.capacitance_f, worst.bleeder_ohm)
    seconds = charge.wait_s(worst.voltage_v, end, tau)
    words = f"From {worst.voltage_v:.4g} V to {end:g} V with a time constant of {tau:.4g} s: "
    return Wait(seconds, words + f"{duration(seconds)}.")


def hot(store: Hot, test: Test | None, lines: hazard.Lines) -> Numbers:
    """Energy down to the surroundings, where mass and specific heat are described."""
    degrees, ambient, contact_s = float(store.temperature_c), float(store.ambient_c), float(store.contact_s)
    energy = None
    if store.mass_kg is not None and store.specific_heat_j_per_kg_k is not None:
        energy = heat.heat_j(float(store.mass_kg), float(store.specific_heat_j_per_kg_k), degrees, ambient)
    threshold = hazard.burn_line_c(contact_s, lines)
    limit = ends.celsius(test)
    end = threshold if limit is None else min(limit, threshold)
    return Numbers.of(
        energy,
        hazard.hot(degrees, contact_s, lines),
        _until_cool(store, end),
        (
            f"Surroundings at {ambient:g} °C and no heat from inside.",
            f"Bare smooth metal, touched for at most {duration(contact_s)}.",
        ),
        "Heat from the inside of a thick part, or from what stands beside it, warms its surface again: "
        "measure where hands will be.",
    )


def _until_cool(store: Hot, end_c: float) -> Wait:
    degrees, ambient = float(store.temperature_c), float(store.ambient_c)
    if degrees <= end_c:
        return Wait(0.0, f"At {degrees:g} °C it is not above {end_c:g} °C.")
    if end_c <= ambient:
        return Wait(None, f"No wait brings it to {end_c:g} °C: what is around it has {ambient:g} °C.")
    if store.time_constant_s is None:
        return Wait(None, "No time constant of its cooling is described, so no time is known: measure.")
    tau = float(store.time_constant_s)
    seconds = heat.wait_s(degrees, end_c, ambient, tau)
    words = f"From {degrees:g} °C to {end_c:g} °C with a time constant of {tau:g} s: {duration(seconds)}."
    return Wait(seconds, words)
