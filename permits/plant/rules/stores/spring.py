"""A spring: its energy from the free length, between two positions, and the speed it could give. Pure."""

from __future__ import annotations

from math import sqrt

from permits.plant.rules.stores.impossible import above_zero, at_most, not_below_zero


def energy_j(stiffness_n_per_m: float, travel_m: float) -> float:
    """½ k x², in J; x in m from the **free** length. Raises ImpossibleStore."""
    return above_zero("stiffness_n_per_m", stiffness_n_per_m) * not_below_zero("travel_m", travel_m) ** 2 / 2


def energy_between_j(stiffness_n_per_m: float, travel_m: float, left_m: float) -> float:
    """½ k (x₁² − x₂²), in J: given off from `travel_m` to `left_m`, both from the free length.

    Raises ImpossibleStore, also where `left_m` is the longer one.
    """
    held = energy_j(stiffness_n_per_m, travel_m)
    left = at_most("left_m", not_below_zero("left_m", left_m), travel_m, "travel_m")
    return held - energy_j(stiffness_n_per_m, left)


def launch_speed_m_s(energy_j: float, mass_kg: float) -> float:
    """√(2 E/m), in m/s: all the energy in one loose part. Raises ImpossibleStore."""
    return sqrt(2 * not_below_zero("energy_j", energy_j) / above_zero("mass_kg", mass_kg))
