"""The lines of `hazard.py` one by one: what each is for, its published value and its source. Pure.

A site may draw a line tighter than it is published, never looser. What it draws is kept as decimals by the
line's name, and only where it is tighter: a line that is not there is the published one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from permits.plant.rules.rows import plain
from permits.plant.rules.stores.hazard import PUBLISHED, Lines
from permits.plant.rules.stores.sources import (
    BURNS,
    GAS_UNDER_PRESSURE,
    HEAT_BY_CAPACITOR,
    REFLEX_BY_CAPACITOR,
    SHOCK_BY_CAPACITOR,
    Source,
)

SiteLines = Mapping[str, Decimal]
MOST_COOLER_K = Decimal(40)
"""Beyond this a burn threshold would lie at the temperature of the air, and everything would be hot."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line: its name in `Lines`, what people call it, what it is for, its unit, where it comes from."""

    name: str
    label: str
    meaning: str
    unit: str
    source: Source

    @property
    def published(self) -> Decimal:
        """The published value, exactly."""
        return Decimal(plain(Decimal(repr(getattr(PUBLISHED, self.name)))))

    @property
    def is_raised(self) -> bool:
        """Whether a larger number is the tighter one."""
        return self.name == "burn_cooler_by_k"

    @property
    def right(self) -> str:
        """What may stand here."""
        if self.is_raised:
            return f"a number from {plain(self.published)} to {plain(MOST_COOLER_K)} {self.unit}"
        return f"a number from 0 to {plain(self.published)} {self.unit}"

    def allows(self, value: Decimal) -> bool:
        """Whether a site may draw the line there."""
        return 0 <= value <= (MOST_COOLER_K if self.is_raised else self.published)

    def is_looser(self, value: Decimal) -> bool:
        """Whether a line there would let more pass than the published one."""
        return value < self.published if self.is_raised else value > self.published


LINES = {
    line.name: line
    for line in (
        Line(
            "shock_v",
            "Shock: voltage",
            "A capacitor at this voltage or more that also holds the energy of the next line can give a "
            "dangerous shock.",
            "V",
            SHOCK_BY_CAPACITOR,
        ),
        Line(
            "shock_j",
            "Shock: energy",
            "The energy that goes with the voltage of a shock.",
            "J",
            SHOCK_BY_CAPACITOR,
        ),
        Line(
            "reflex_v",
            "Start and fall: voltage",
            "Above this voltage less energy is enough: it makes a person start, and fall or strike a part.",
            "V",
            REFLEX_BY_CAPACITOR,
        ),
        Line(
            "reflex_j",
            "Start and fall: energy",
            "The energy that goes with that voltage.",
            "J",
            REFLEX_BY_CAPACITOR,
        ),
        Line(
            "heat_j",
            "Burn through a tool: energy",
            "A capacitor with more than this burns and melts metal at any voltage.",
            "J",
            HEAT_BY_CAPACITOR,
        ),
        Line(
            "gas_gauge_pa",
            "Gas: pressure above the surroundings",
            "Compressed gas above this can hurt. In pascals: 100000 Pa are 1 bar.",
            "Pa",
            GAS_UNDER_PRESSURE,
        ),
        Line(
            "burn_cooler_by_k",
            "Hot surfaces: cooler than the burn threshold by",
            "Taken off the temperature above which bare metal burns skin: with 3, a surface that is touched "
            "all shift counts as hot above 40 °C instead of 43 °C, and the wait lasts until it is that cool.",
            "K",
            BURNS,
        ),
    )
}
"""Every line by its name, in the order of `Lines`."""


def lines_of(site_lines: SiteLines) -> Lines:
    """The lines with those that the site draws tighter in their place. Raises ImpossibleStore."""
    return Lines(**{name: float(value) for name, value in site_lines.items()})
