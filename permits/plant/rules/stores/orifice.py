"""Flow of a gas from a vessel through a hole or a valve: choked, and below the critical ratio. Pure.

Source: NASA Glenn, mass flow choking [C]; the subsonic form is the same nozzle equation before it chokes.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import expm1, log1p, pi, sqrt

from permits.plant.rules.stores.gas import GAMMA_AIR
from permits.plant.rules.stores.impossible import above, above_zero, at_least, at_most


@dataclass(frozen=True, slots=True)
class Gas:
    """A gas by its ratio of specific heats and its gas constant in J/(kg·K). Raises ImpossibleStore."""

    gamma: float = GAMMA_AIR
    constant_j_per_kg_k: float = 287.05

    def __post_init__(self) -> None:
        above("gamma", self.gamma, 1.0, "that of any gas")
        above_zero("constant_j_per_kg_k", self.constant_j_per_kg_k)


AIR = Gas()


def critical_ratio(gamma: float = GAMMA_AIR) -> float:
    """(2/(γ+1))^(γ/(γ−1)): the flow is choked while P₀/P is at or below this; 0.528 28 for air.

    Raises ImpossibleStore.
    """
    k = above("gamma", gamma, 1.0, "that of any gas")
    return float((2 / (k + 1)) ** (k / (k - 1)))


def choking(gamma: float = GAMMA_AIR) -> float:
    """√γ · (2/(γ+1))^((γ+1)/(2(γ−1))): ṁ √(R T)/(C_d A P) while choked; 0.684 731 for air.

    Raises ImpossibleStore.
    """
    k = above("gamma", gamma, 1.0, "that of any gas")
    return float(sqrt(k) * (2 / (k + 1)) ** ((k + 1) / (2 * (k - 1))))


def area_m2(diameter_m: float) -> float:
    """The area of a round hole, in m². Raises ImpossibleStore."""
    return pi * above_zero("diameter_m", diameter_m) ** 2 / 4


def mass_flow_kg_s(
    pressure_pa: float,
    temperature_k: float,
    area_m2: float,
    discharge: float,
    *,
    ambient_pa: float,
    gas: Gas = AIR,
) -> float:
    """Mass flow, in kg/s, from absolute `pressure_pa` and `temperature_k` to `ambient_pa`.

    `discharge`: the discharge coefficient, above 0 and at most 1. Raises ImpossibleStore, also where the
    pressure is below the surroundings: then gas flows in.
    """
    p0 = above_zero("ambient_pa", ambient_pa)
    p = at_least("pressure_pa", pressure_pa, p0, "the ambient pressure (pressures are absolute)")
    hole = above_zero("area_m2", area_m2) * at_most("discharge", above_zero("discharge", discharge), 1, "1")
    root_rt = sqrt(gas.constant_j_per_kg_k * above_zero("temperature_k", temperature_k))
    return hole * p / root_rt * flow_function(p, p0, gas.gamma)


def flow_function(pressure_pa: float, ambient_pa: float, gamma: float) -> float:
    """ṁ √(R T)/(C_d A P), without dimension, for checked values: `choking` or less."""
    if ambient_pa / pressure_pa <= critical_ratio(gamma):
        return choking(gamma)
    log_r = -log1p((pressure_pa - ambient_pa) / ambient_pa)  # exact near P₀, where a difference would not be
    ratio_power = (ambient_pa / pressure_pa) ** (1 / gamma)
    rise = max(0.0, -expm1((gamma - 1) / gamma * log_r))
    return float(sqrt(2 * gamma / (gamma - 1) * rise) * ratio_power)
