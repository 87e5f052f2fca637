"""A hot part: how it cools, and from which temperature it burns. Pure.

Temperatures in °C: only differences and published thresholds count.
"""

from __future__ import annotations

from math import exp, log

from permits.plant.rules.stores.impossible import (
    ImpossibleStore,
    above,
    above_zero,
    at_least,
    not_below_zero,
    number,
    written,
)

ABSOLUTE_ZERO_C = -273.15

# ISO 13732-1, bare smooth metal: contact in s, lower edge of its band in °C [M]. The standard gives
# thresholds from 0.5 s and sets no limits itself. Cross-checked in tests with independent burn data.
BURN_THRESHOLDS = (
    (0.5, 67.0),
    (1.0, 65.0),
    (10.0, 55.0),
    (60.0, 51.0),
    (600.0, 48.0),
    (28_800.0, 43.0),
)
SHORTEST_CONTACT_S = BURN_THRESHOLDS[0][0]
HANDS_ON_S = BURN_THRESHOLDS[-1][0]


def temperature_after_c(hot_c: float, ambient_c: float, time_constant_s: float, time_s: float) -> float:
    """Tₐ + (T₀ − Tₐ) e^(−t/τ), in °C: Newton's cooling. Raises ImpossibleStore."""
    ambient = _celsius("ambient_c", ambient_c)
    passed = not_below_zero("time_s", time_s) / above_zero("time_constant_s", time_constant_s)
    return ambient + (_celsius("hot_c", hot_c) - ambient) * exp(-passed)


def wait_s(hot_c: float, safe_c: float, ambient_c: float, time_constant_s: float) -> float:
    """τ ln((T₀ − Tₐ)/(T_s − Tₐ)), in s; 0 where the part is no hotter than `safe_c`.

    Raises ImpossibleStore where `safe_c` is not above the surroundings: no wait reaches that.
    """
    ambient = _celsius("ambient_c", ambient_c)
    start, end = _celsius("hot_c", hot_c), _celsius("safe_c", safe_c)
    tau = above_zero("time_constant_s", time_constant_s)
    if start <= end:
        return 0.0
    above("safe_c", end, ambient, "ambient_c")
    return tau * log((start - ambient) / (end - ambient))


def time_constant_from_reading_s(hot_c: float, reading_c: float, ambient_c: float, after_s: float) -> float:
    """The time constant, in s, of a part that fell from `hot_c` to `reading_c` in `after_s`.

    Raises ImpossibleStore where the reading is not between the surroundings and the start.
    """
    ambient = _celsius("ambient_c", ambient_c)
    reading = above("reading_c", _celsius("reading_c", reading_c), ambient, "ambient_c")
    start = above("hot_c", _celsius("hot_c", hot_c), reading, "reading_c")
    return above_zero("after_s", after_s) / log((start - ambient) / (reading - ambient))


def heat_j(mass_kg: float, specific_heat_j_per_kg_k: float, hot_c: float, to_c: float) -> float:
    """m c (T − T'), in J: what the part gives off as it cools to `to_c`. Raises ImpossibleStore."""
    fall = at_least("hot_c", _celsius("hot_c", hot_c), _celsius("to_c", to_c), "to_c") - to_c
    heat = above_zero("specific_heat_j_per_kg_k", specific_heat_j_per_kg_k)
    return above_zero("mass_kg", mass_kg) * heat * fall


def burn_threshold_c(contact_s: float) -> float:
    """The lowest temperature, in °C, at which bare metal may burn skin in a contact of `contact_s`.

    Between two published contact times that of the longer one counts; from 8 h on 43 °C. Raises
    ImpossibleStore below 0.5 s, where the standard gives none. Source: ISO 13732-1 [M].
    """
    contact = number("contact_s", contact_s)
    if contact < SHORTEST_CONTACT_S:
        raise ImpossibleStore(
            "contact_s", f"is {written(contact)}", "0.5 s or more, where published thresholds begin"
        )
    return next((lowest_c for longest_s, lowest_c in BURN_THRESHOLDS if contact <= longest_s), 43.0)


def _celsius(field: str, value: float) -> float:
    return above(field, value, ABSOLUTE_ZERO_C, "absolute zero")
