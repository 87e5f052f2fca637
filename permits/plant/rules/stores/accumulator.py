"""A gas-charged accumulator: oil held, work, what stays when the oil is gone, pressure that comes back. Pure.

Absolute pressures. The gas fills `volume_m3` at `precharge_pa`; at `pressure_pa` it is squeezed by oil.
n is the polytropic exponent: 1 where it goes slowly, 1.4 where it goes fast. Source: the textbook form [M],
recomputed [V].
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, expm1, log

from permits.plant.rules.stores import gas
from permits.plant.rules.stores.gas import ATMOSPHERE_PA, GAMMA_AIR
from permits.plant.rules.stores.impossible import (
    ImpossibleStore,
    above,
    above_zero,
    at_least,
    at_most,
    not_below_zero,
)

SLOW = 1.0
FAST = 1.4


@dataclass(frozen=True, slots=True)
class Vented:
    """The gas right after a fast vent, shut in: volume, temperature, and where its pressure returns to."""

    gas_m3: float
    temperature_k: float
    pressure_pa: float
    returns_to_pa: float


def gas_volume_m3(precharge_pa: float, volume_m3: float, pressure_pa: float, n: float = SLOW) -> float:
    """V₀ (p₀/p₂)^(1/n), in m³: the gas at `pressure_pa`. Raises ImpossibleStore."""
    p0, v0, p2, exponent = _checked(precharge_pa, volume_m3, pressure_pa, n)
    return float(v0 * (p0 / p2) ** (1 / exponent))


def oil_held_m3(precharge_pa: float, volume_m3: float, pressure_pa: float, n: float = SLOW) -> float:
    """V₀ − V₂, in m³. Raises ImpossibleStore."""
    return above_zero("volume_m3", volume_m3) - gas_volume_m3(precharge_pa, volume_m3, pressure_pa, n)


def gas_work_j(precharge_pa: float, volume_m3: float, pressure_pa: float, n: float = SLOW) -> float:
    """The work, in J, that the gas does on the oil down to the precharge.

    n = 1: p₀ V₀ ln(p₂/p₀). n > 1: (p₂ V₂ − p₀ V₀)/(n − 1). Raises ImpossibleStore.
    """
    p0, v0, p2, exponent = _checked(precharge_pa, volume_m3, pressure_pa, n)
    log_ratio = log(p2 / p0)
    if exponent - 1 < 1e-9:
        return p0 * v0 * log_ratio
    return p0 * v0 * expm1((exponent - 1) / exponent * log_ratio) / (exponent - 1)


def most_work_j(precharge_pa: float, volume_m3: float, pressure_pa: float) -> tuple[float, float]:
    """The larger of the slow and the fast work, in J, with its n: slow up to p₂/p₀ of about 9.4.

    Raises ImpossibleStore.
    """
    return max((gas_work_j(precharge_pa, volume_m3, pressure_pa, n), n) for n in (SLOW, FAST))


def rupture_energy_j(
    precharge_pa: float, volume_m3: float, *, ambient_pa: float = ATMOSPHERE_PA, gamma: float = GAMMA_AIR
) -> float:
    """The energy, in J, of the precharge alone, isentropic: it stays when all the oil is gone.

    Bleeding the oil does not remove it. Raises ImpossibleStore.
    """
    return gas.energy_j(precharge_pa, volume_m3, gas.Model.ISENTROPIC, ambient_pa=ambient_pa, gamma=gamma)


def vent_fast(
    gas_m3: float, pressure_pa: float, vented_to_pa: float, temperature_k: float, gamma: float = GAMMA_AIR
) -> Vented:
    """Settled gas let down fast (adiabatic) to `vented_to_pa` and shut in there: it has turned cold.

    As it warms back to `temperature_k` in the same volume, its pressure returns to
    p₃ (p₂/p₃)^((γ−1)/γ). The same holds for the gas left in any vessel. Raises ImpossibleStore.
    """
    p3 = above_zero("vented_to_pa", vented_to_pa)
    p2 = at_least("pressure_pa", pressure_pa, p3, "vented_to_pa")
    k = above("gamma", gamma, 1.0, "that of any gas")
    warm = above_zero("temperature_k", temperature_k)
    cold = warm * (p3 / p2) ** ((k - 1) / k)
    grown = above_zero("gas_m3", gas_m3) * (p2 / p3) ** (1 / k)
    return Vented(grown, cold, p3, p3 * warm / cold)


def pressure_on_warming_pa(
    vented: Vented, temperature_k: float, time_constant_s: float, time_s: float
) -> float:
    """The pressure, in Pa, of shut-in gas `time_s` after a fast vent, warming with a time constant.

    Raises ImpossibleStore, also where the surroundings are colder than the gas.
    """
    warm = at_least("temperature_k", temperature_k, vented.temperature_k, "that of the vented gas")
    passed = not_below_zero("time_s", time_s) / above_zero("time_constant_s", time_constant_s)
    now = warm + (vented.temperature_k - warm) * exp(-passed)
    return vented.pressure_pa * now / vented.temperature_k


def return_time_s(time_constant_s: float, part: float) -> float:
    """The time, in s, until `part` of the rise has come back: −τ ln(1 − part). Raises ImpossibleStore."""
    if not 0 <= at_most("part", part, 1, "the whole") < 1:
        raise ImpossibleStore("part", f"is {part:g}", "from 0 to below 1; the whole takes for ever")
    return -above_zero("time_constant_s", time_constant_s) * log(1 - part)


def _checked(
    precharge_pa: float, volume_m3: float, pressure_pa: float, n: float
) -> tuple[float, float, float, float]:
    p0 = above_zero("precharge_pa", precharge_pa)
    return (
        p0,
        above_zero("volume_m3", volume_m3),
        at_least("pressure_pa", pressure_pa, p0, "precharge_pa (below it there is no oil)"),
        at_least("n", n, 1.0, "that of a slow change"),
    )
