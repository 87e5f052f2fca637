"""Is it dead, by a reading? Limits with their sources, which an officer may tighten and never loosen. Pure.

A different question from `hazard.py`. Readings count by their absolute value, as a point's test does.
"""

from __future__ import annotations

from dataclasses import dataclass

from permits.plant.rules.stores import heat
from permits.plant.rules.stores.impossible import ImpossibleStore, above, not_below_zero, number, written
from permits.plant.rules.stores.sources import BURNS, LIVE_PARTS, STANDSTILL, STATED_PRESSURE, Source

VOLTAGE_V = 50.0  # the machine-design line of IEC 60204-1 is 60 V, which is looser


@dataclass(frozen=True, slots=True)
class Reading:
    """Whether a reading shows the store dead, why, the limit it was held against, and that limit's source."""

    dead: bool
    why: str
    limit: str
    source: Source


def voltage(reading_v: float, limit_v: float = VOLTAGE_V) -> Reading:
    """Is a reading at or below the limit, in V? Raises ImpossibleStore, also for a limit above 50 V."""
    return _reading("reading_v", reading_v, _tightened("limit_v", limit_v, VOLTAGE_V), "V", LIVE_PARTS)


def pressure(reading_gauge_pa: float, limit_gauge_pa: float) -> Reading:
    """Is a gauge reading, in Pa, at or below the end pressure that the point's test states?

    There is no published limit, so none is assumed; a vacuum counts as pressure. Raises ImpossibleStore.
    """
    limit = not_below_zero("limit_gauge_pa", limit_gauge_pa)
    return _reading("reading_gauge_pa", reading_gauge_pa, limit, "Pa gauge", STATED_PRESSURE)


def speed(reading_rpm: float) -> Reading:
    """Does it stand still? Only a reading of zero says so. Raises ImpossibleStore."""
    return _reading("reading_rpm", reading_rpm, 0.0, "rpm", STANDSTILL)


def temperature(
    reading_c: float, contact_s: float = heat.HANDS_ON_S, limit_c: float | None = None
) -> Reading:
    """Is a reading, in °C, at or below the burn threshold for this contact, or a tighter `limit_c`?

    Raises ImpossibleStore, also for a limit above the threshold.
    """
    threshold = heat.burn_threshold_c(contact_s)
    limit = threshold if limit_c is None else above("limit_c", limit_c, heat.ABSOLUTE_ZERO_C, "absolute zero")
    if limit > threshold:
        raise _looser("limit_c", limit, threshold)
    degrees = above("reading_c", reading_c, heat.ABSOLUTE_ZERO_C, "absolute zero")
    return _answer(degrees, limit, "°C", BURNS)


def _tightened(field: str, limit: float, published: float) -> float:
    checked = not_below_zero(field, limit)
    if checked > published:
        raise _looser(field, checked, published)
    return checked


def _looser(field: str, limit: float, published: float) -> ImpossibleStore:
    return ImpossibleStore(
        field,
        f"is {written(limit)}, looser than the line",
        f"{written(published)} or less: a limit may be tightened, never loosened",
    )


def _reading(field: str, reading: float, limit: float, unit: str, source: Source) -> Reading:
    return _answer(abs(number(field, reading)), limit, unit, source)


def _answer(size: float, limit: float, unit: str, source: Source) -> Reading:
    dead = size <= limit
    why = f"{written(size)} {unit} is {'not above' if dead else 'above'} {written(limit)} {unit}"
    return Reading(dead, why, f"{written(limit)} {unit}", source)
