"""How a figure reads in a sentence: three or four digits and a unit of fitting size. Pure."""

from __future__ import annotations

from math import ceil


def joules(energy_j: float) -> str:
    """An energy to four figures: "352 J", "10.46 kJ", "6.375 MJ"."""
    for factor, unit in ((1e6, "MJ"), (1e3, "kJ")):
        if energy_j >= factor:
            return f"{energy_j / factor:.4g} {unit}"
    return f"{energy_j:.4g} J"


def duration(seconds: float) -> str:
    """A time, rounded up: "154 s", from ten minutes on "89 min", whole hours as "8 h"."""
    if seconds >= 3600 and seconds % 3600 == 0:
        return f"{seconds / 3600:g} h"
    return f"{ceil(seconds)} s" if seconds < 600 else f"{ceil(seconds / 60)} min"


def bar(pascals: float) -> str:
    """A pressure in bar to three figures."""
    return f"{pascals / 1e5:.3g} bar"
