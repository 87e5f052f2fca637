"""A raised mass: its energy and the speed it would land with. Pure."""

from __future__ import annotations

from math import sqrt

from permits.plant.rules.stores.impossible import above_zero, not_below_zero

GRAVITY_M_PER_S2 = 9.80665  # exact by convention (3rd General Conference on Weights and Measures, 1901)


def energy_j(mass_kg: float, height_m: float) -> float:
    """m g h, in J; from kg and the m it can fall. Raises ImpossibleStore."""
    return above_zero("mass_kg", mass_kg) * GRAVITY_M_PER_S2 * not_below_zero("height_m", height_m)


def landing_speed_m_s(height_m: float) -> float:
    """√(2 g h), in m/s, without friction. Raises ImpossibleStore."""
    return sqrt(2 * GRAVITY_M_PER_S2 * not_below_zero("height_m", height_m))
