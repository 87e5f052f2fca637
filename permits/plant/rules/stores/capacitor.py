"""A charged capacitor, such as a drive's DC bus: energy, charge, and discharge through a bleeder. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, sqrt

from permits.plant.rules.stores.impossible import ImpossibleStore, above_zero, not_below_zero, written

VOLTAGE_OVER_PERCENT = 10.0  # supply at the top of its band
CAPACITANCE_OVER_PERCENT = 20.0  # usual for electrolytic capacitors
BLEEDER_OVER_PERCENT = 5.0

# IEC 60204-1, 6.2.4 [2]: live parts fall to 60 V within 5 s, or hold less than 60 µC, or bear a warning with
# the waiting time. Converters are expected to bear it.
RESIDUAL_V = 60.0
RESIDUAL_S = 5.0
EXEMPT_C = 60e-6


@dataclass(frozen=True, slots=True)
class Bank:
    """A capacitor bank with its bleeder; `bleeder_ohm` is None where none is known."""

    capacitance_f: float
    voltage_v: float
    bleeder_ohm: float | None = None


def energy_j(capacitance_f: float, voltage_v: float) -> float:
    """½ C V², in J; from F and V. Raises ImpossibleStore. Source: any physics textbook."""
    return above_zero("capacitance_f", capacitance_f) * not_below_zero("voltage_v", voltage_v) ** 2 / 2


def charge_c(capacitance_f: float, voltage_v: float) -> float:
    """C V, in C; from F and V. Raises ImpossibleStore."""
    return above_zero("capacitance_f", capacitance_f) * not_below_zero("voltage_v", voltage_v)


def capacitance_for_f(energy_j: float, voltage_v: float) -> float:
    """The capacitance, in F, that holds `energy_j` (J) at `voltage_v` (V). Raises ImpossibleStore."""
    return 2 * above_zero("energy_j", energy_j) / above_zero("voltage_v", voltage_v) ** 2


def bus_voltage_v(line_to_line_v: float) -> float:
    """√2 · V_LL, in V: a rectified three-phase bus at rest. Braking can hold it well above this.

    Raises ImpossibleStore.
    """
    return sqrt(2) * above_zero("line_to_line_v", line_to_line_v)


def time_constant_s(capacitance_f: float, bleeder_ohm: float) -> float:
    """R C, in s; from F and Ω. Raises ImpossibleStore."""
    return above_zero("capacitance_f", capacitance_f) * above_zero("bleeder_ohm", bleeder_ohm)


def voltage_after_v(voltage_v: float, time_constant_s: float, time_s: float) -> float:
    """V₀ e^(−t/RC), in V; from V, s, s. Raises ImpossibleStore."""
    tau = above_zero("time_constant_s", time_constant_s)
    return not_below_zero("voltage_v", voltage_v) * exp(-not_below_zero("time_s", time_s) / tau)


def wait_s(voltage_v: float, safe_v: float, time_constant_s: float) -> float:
    """R C ln(V₀/V_s), in s; 0 where the voltage is at or below `safe_v` already.

    Raises ImpossibleStore, also for a `safe_v` of zero: no wait reaches that. A bleeder fails open, and then
    the time means nothing.
    """
    start = not_below_zero("voltage_v", voltage_v)
    end = above_zero("safe_v", safe_v)
    return above_zero("time_constant_s", time_constant_s) * log(start / end) if start > end else 0.0


def bleeder_for_ohm(capacitance_f: float, voltage_v: float, safe_v: float, within_s: float) -> float:
    """The largest bleeder, in Ω, that brings `voltage_v` down to `safe_v` within `within_s`.

    Raises ImpossibleStore, also where the voltage is not above `safe_v`: then none is needed.
    """
    end = above_zero("safe_v", safe_v)
    start = above_zero("voltage_v", voltage_v)
    if start <= end:
        raise ImpossibleStore(
            "voltage_v", f"is {written(start)}, not above safe_v", "a voltage that must be brought down"
        )
    return above_zero("within_s", within_s) / (above_zero("capacitance_f", capacitance_f) * log(start / end))


def worst_case(
    capacitance_f: float,
    voltage_v: float,
    bleeder_ohm: float | None,
    *,
    voltage_over_percent: float = VOLTAGE_OVER_PERCENT,
    capacitance_over_percent: float = CAPACITANCE_OVER_PERCENT,
    bleeder_over_percent: float = BLEEDER_OVER_PERCENT,
) -> Bank:
    """The bank with every value at the end of its tolerance that holds more energy, longer.

    From F, V, Ω (None: no bleeder known) and percent. Raises ImpossibleStore.
    """
    volts = 1 + not_below_zero("voltage_over_percent", voltage_over_percent) / 100
    farads = 1 + not_below_zero("capacitance_over_percent", capacitance_over_percent) / 100
    ohms = 1 + not_below_zero("bleeder_over_percent", bleeder_over_percent) / 100
    return Bank(
        above_zero("capacitance_f", capacitance_f) * farads,
        not_below_zero("voltage_v", voltage_v) * volts,
        None if bleeder_ohm is None else above_zero("bleeder_ohm", bleeder_ohm) * ohms,
    )


def needs_warning(bank: Bank) -> bool:
    """Must it bear a warning with its waiting time, by IEC 60204-1, 6.2.4 [2]? Raises ImpossibleStore."""
    if bank.voltage_v <= RESIDUAL_V or charge_c(bank.capacitance_f, bank.voltage_v) < EXEMPT_C:
        return False
    if bank.bleeder_ohm is None:
        return True
    tau = time_constant_s(bank.capacitance_f, bank.bleeder_ohm)
    return wait_s(bank.voltage_v, RESIDUAL_V, tau) > RESIDUAL_S
