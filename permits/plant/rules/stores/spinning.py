"""A spinning mass: moment of inertia, energy, and how long it coasts. Pure."""

from __future__ import annotations

from math import exp, log, pi

from permits.plant.rules.stores.impossible import ImpossibleStore, above_zero, not_below_zero


def angular_speed_rad_s(speed_rpm: float) -> float:
    """2π n/60, in rad/s. Raises ImpossibleStore."""
    return 2 * pi * not_below_zero("speed_rpm", speed_rpm) / 60


def energy_j(inertia_kg_m2: float, speed_rpm: float) -> float:
    """½ J ω², in J; from kg·m² and revolutions a minute. Raises ImpossibleStore."""
    return above_zero("inertia_kg_m2", inertia_kg_m2) * angular_speed_rad_s(speed_rpm) ** 2 / 2


def disc_inertia_kg_m2(mass_kg: float, radius_m: float) -> float:
    """½ m r²: a solid disc about its axis. Raises ImpossibleStore."""
    return above_zero("mass_kg", mass_kg) * above_zero("radius_m", radius_m) ** 2 / 2


def disc_mass_kg(diameter_m: float, thickness_m: float, density_kg_m3: float) -> float:
    """The mass of a solid disc, in kg. Raises ImpossibleStore."""
    area_m2 = pi * above_zero("diameter_m", diameter_m) ** 2 / 4
    return area_m2 * above_zero("thickness_m", thickness_m) * above_zero("density_kg_m3", density_kg_m3)


def rod_inertia_kg_m2(mass_kg: float, length_m: float) -> float:
    """⅓ m L²: a thin rod about its end, such as one blade of a rotor. Raises ImpossibleStore."""
    return above_zero("mass_kg", mass_kg) * above_zero("length_m", length_m) ** 2 / 3


def rim_speed_m_s(radius_m: float, speed_rpm: float) -> float:
    """ω r, in m/s. Raises ImpossibleStore."""
    return angular_speed_rad_s(speed_rpm) * above_zero("radius_m", radius_m)


def coast_down_s(inertia_kg_m2: float, speed_rpm: float, friction_n_m: float) -> float:
    """J ω₀/T, in s, to standstill with a constant friction torque T in N·m. Raises ImpossibleStore.

    Friction that grows with speed alone never brings it to rest: use `viscous_time_s`.
    """
    momentum = above_zero("inertia_kg_m2", inertia_kg_m2) * angular_speed_rad_s(speed_rpm)
    return momentum / above_zero("friction_n_m", friction_n_m)


def viscous_speed_rpm(inertia_kg_m2: float, speed_rpm: float, viscous_n_m_s: float, time_s: float) -> float:
    """ω₀ e^(−c t/J), in revolutions a minute: drag c·ω only, c in N·m·s. It never reaches zero.

    Raises ImpossibleStore.
    """
    rate = above_zero("viscous_n_m_s", viscous_n_m_s) / above_zero("inertia_kg_m2", inertia_kg_m2)
    return not_below_zero("speed_rpm", speed_rpm) * exp(-rate * not_below_zero("time_s", time_s))


def viscous_time_s(inertia_kg_m2: float, speed_rpm: float, viscous_n_m_s: float, to_rpm: float) -> float:
    """(J/c) ln(ω₀/ω), in s, down to `to_rpm`; 0 where it is no faster already.

    Raises ImpossibleStore, also for a `to_rpm` of zero: no time reaches that.
    """
    tau = above_zero("inertia_kg_m2", inertia_kg_m2) / above_zero("viscous_n_m_s", viscous_n_m_s)
    start = not_below_zero("speed_rpm", speed_rpm)
    if not not_below_zero("to_rpm", to_rpm):
        raise ImpossibleStore(
            "to_rpm",
            "is 0, which viscous drag alone never reaches",
            "a speed above zero; standstill is seen or read, not waited for",
        )
    end = above_zero("to_rpm", to_rpm)
    return tau * log(start / end) if start > end else 0.0
