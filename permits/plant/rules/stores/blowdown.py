"""How long a vessel takes to empty through a hole, down to a stated pressure. Pure.

Real vessels lie between two assumptions: isothermal (the wall keeps the gas warm) and adiabatic (it does
not). Neither is always the longer time: while choked they cross at a pressure ratio P₁/P of about 87.6. So
`longest` computes both. Sources: choked forms [C], critical ratio [C]; below it integrated numerically.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import exp, log, sqrt

from permits.plant.rules.stores.gas import ATMOSPHERE_PA, GAMMA_AIR
from permits.plant.rules.stores.impossible import (
    above,
    above_zero,
    at_least,
    at_most,
    not_below_zero,
)
from permits.plant.rules.stores.orifice import AIR, Gas, choking, critical_ratio, flow_function

_PANELS = 100  # of Simpson's rule; the integrand is smooth: below 10⁻⁹ s off for the demo receiver


class Assumption(StrEnum):
    """What the gas in the vessel does while it leaves."""

    ISOTHERMAL = "isothermal"
    ADIABATIC = "adiabatic"


@dataclass(frozen=True, slots=True)
class Vessel:
    """A vessel with a hole. Absolute Pa, m³, m², K. Raises ImpossibleStore.

    `discharge`: the hole's discharge coefficient, above 0 and at most 1; `ambient_pa`: where the gas goes.
    """

    volume_m3: float
    pressure_pa: float
    area_m2: float
    discharge: float
    temperature_k: float
    ambient_pa: float = ATMOSPHERE_PA
    gas: Gas = AIR

    def __post_init__(self) -> None:
        above_zero("volume_m3", self.volume_m3)
        above_zero("area_m2", self.area_m2)
        at_most("discharge", above_zero("discharge", self.discharge), 1, "1")
        above_zero("temperature_k", self.temperature_k)
        above_zero("ambient_pa", self.ambient_pa)
        at_least("pressure_pa", self.pressure_pa, self.ambient_pa, "the ambient pressure")


def time_constant_s(vessel: Vessel) -> float:
    """V/(C_d A √(R T) · 0.684 731), in s: mass at the start over choked mass flow at the start."""
    hole = vessel.discharge * vessel.area_m2
    root_rt = sqrt(vessel.gas.constant_j_per_kg_k * vessel.temperature_k)
    return vessel.volume_m3 / (hole * root_rt * choking(vessel.gas.gamma))


def choked_time_s(
    time_constant_s: float, ratio: float, assumption: Assumption, gamma: float = GAMMA_AIR
) -> float:
    """The time, in s, in which the pressure falls by `ratio` = P₁/P ≥ 1 while the flow stays choked.

    Isothermal: τ ln(P₁/P). Adiabatic: 2τ/(γ−1) · [(P₁/P)^((γ−1)/(2γ)) − 1] (a handbook prints γ+1 there;
    γ−1 is right). Raises ImpossibleStore.
    """
    tau = above_zero("time_constant_s", time_constant_s)
    fall = at_least("ratio", ratio, 1.0, "no fall at all")
    k = above("gamma", gamma, 1.0, "that of any gas")
    if assumption is Assumption.ISOTHERMAL:
        return tau * log(fall)
    return float(2 * tau / (k - 1) * (fall ** ((k - 1) / (2 * k)) - 1))


def choked_pressure_pa(
    pressure_pa: float,
    time_constant_s: float,
    time_s: float,
    assumption: Assumption,
    gamma: float = GAMMA_AIR,
) -> float:
    """The pressure, in Pa, after `time_s` of choked flow. Isothermal: P₁ e^(−t/τ).

    Adiabatic: P₁ [1 + (γ−1)/2 · t/τ]^(2γ/(1−γ)). Raises ImpossibleStore.
    """
    start = above_zero("pressure_pa", pressure_pa)
    passed = not_below_zero("time_s", time_s) / above_zero("time_constant_s", time_constant_s)
    k = above("gamma", gamma, 1.0, "that of any gas")
    if assumption is Assumption.ISOTHERMAL:
        return start * exp(-passed)
    return float(start * (1 + (k - 1) / 2 * passed) ** (2 * k / (1 - k)))


def crossover_ratio(gamma: float = GAMMA_AIR) -> float:
    """The ratio P₁/P above 1 at which both choked times are the same: about 87.6 for air.

    Below it the isothermal time is the longer one, above it the adiabatic one. Raises ImpossibleStore.
    """
    low, high = 1.0, 1.0
    while _isothermal_is_longer(high := high * 2, gamma):
        low = high
    while high - low > 1e-9 * high:
        middle = (low + high) / 2
        low, high = (middle, high) if _isothermal_is_longer(middle, gamma) else (low, middle)
    return (low + high) / 2


def safer(ratio: float, gamma: float = GAMMA_AIR) -> Assumption:
    """The assumption that gives the longer choked time for a fall by `ratio` = P₁/P.

    Raises ImpossibleStore.
    """
    return Assumption.ISOTHERMAL if _isothermal_is_longer(ratio, gamma) else Assumption.ADIABATIC


def time_s(vessel: Vessel, end_pa: float, assumption: Assumption) -> float:
    """The time, in s, until the vessel stands at the absolute `end_pa`, also below the critical ratio.

    0 where it stands there already. Raises ImpossibleStore where `end_pa` is not above the surroundings:
    the last of it takes as long as one likes, so an end must be stated.
    """
    end = above("end_pa", end_pa, vessel.ambient_pa, "the ambient pressure")
    start, k = vessel.pressure_pa, vessel.gas.gamma
    if start <= end:
        return 0.0
    turn = max(end, min(start, vessel.ambient_pa / critical_ratio(k)))
    choked = choked_time_s(time_constant_s(vessel), start / turn, assumption, k) if turn < start else 0.0
    return choked + (_below_critical_s(vessel, turn, end, assumption) if end < turn else 0.0)


def longest(vessel: Vessel, end_pa: float) -> tuple[float, Assumption]:
    """The longer of both times, in s, and its assumption. Raises ImpossibleStore, as `time_s` does."""
    times = {assumption: time_s(vessel, end_pa, assumption) for assumption in Assumption}
    longer = max(times, key=lambda assumption: times[assumption])
    return times[longer], longer


def _isothermal_is_longer(ratio: float, gamma: float) -> bool:
    return choked_time_s(1.0, ratio, Assumption.ISOTHERMAL, gamma) >= choked_time_s(
        1.0, ratio, Assumption.ADIABATIC, gamma
    )


def _below_critical_s(vessel: Vessel, start_pa: float, end_pa: float, assumption: Assumption) -> float:
    """∫ dm/ṁ by Simpson's rule over s = √(P − P₀): in s the integrand has no pole at P₀."""
    p0, k = vessel.ambient_pa, vessel.gas.gamma
    hole = vessel.discharge * vessel.area_m2
    power = 0.0 if assumption is Assumption.ISOTHERMAL else (k - 1) / k
    held = 1.0 if assumption is Assumption.ISOTHERMAL else k  # dm = V dP/(R T) or V dP/(γ R T)

    def seconds_by_s(s: float) -> float:
        p = p0 + s * s
        rt = vessel.gas.constant_j_per_kg_k * vessel.temperature_k * (p / vessel.pressure_pa) ** power
        flow = hole * p / sqrt(rt) * flow_function(p, p0, k)
        return float(2 * s * vessel.volume_m3 / (held * rt * flow))

    first, last = sqrt(end_pa - p0), sqrt(start_pa - p0)
    step = (last - first) / _PANELS
    inner = sum((4 if i % 2 else 2) * seconds_by_s(first + i * step) for i in range(1, _PANELS))
    return step / 3 * (seconds_by_s(first) + inner + seconds_by_s(last))
