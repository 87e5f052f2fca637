"""Does the test of a point pass more than it may? A published limit is never loosened. Pure.

Voltage, and the surface of a hot part whose contact is described, have a published limit: a looser test is
refused. Of the two published voltages the looser, the machine-design line, is the one that refuses; between
the two a test is worth a look (`validation.py`). So it is for standstill, and for a hot part of which nothing
else is said: there is practice, and the strictest of several thresholds; to pass more may be right.
"""

from __future__ import annotations

from dataclasses import dataclass

from permits.plant.rules.energy import Medium, Node
from permits.plant.rules.rows import Row, plain
from permits.plant.rules.stores import dead, ends, heat
from permits.plant.rules.stores.impossible import written
from permits.plant.rules.stores.kinds import MEDIUM_OF, Hot
from permits.plant.rules.stores.sources import BURNS, LIVE_PARTS, RESIDUAL_VOLTAGE, STANDSTILL, Source

MACHINE_LINE_V = 60.0
_TURNS = frozenset({"rpm", "1/min", "r/min", "/min", "min-1", "min⁻¹"})


@dataclass(frozen=True, slots=True)
class Loose:
    """A test's limit that lies above another one: that one, with its unit, and where it comes from."""

    than: float
    unit: str
    source: Source

    def __str__(self) -> str:
        return f"{written(self.than)} {self.unit} ({self.source})"


def looser_than_published(node: Node) -> Loose | None:
    """The published limit that the node's test passes over, or None where it keeps to it or none is known."""
    volts, celsius = ends.volts(node.test), ends.celsius(node.test)
    if volts is not None and _medium(node) in (None, Medium.ELECTRICAL) and volts > MACHINE_LINE_V:
        return Loose(MACHINE_LINE_V, "V", RESIDUAL_VOLTAGE)
    if celsius is not None and isinstance(node.physics, Hot):
        threshold = heat.burn_threshold_c(float(node.physics.contact_s))
        if celsius > threshold:
            return Loose(threshold, "°C", BURNS)
    return None


def looser_than_usual(node: Node) -> Loose | None:
    """The limit that the node's test passes over, published or only usual; None where it passes over none."""
    if published := looser_than_published(node):
        return published
    if node.test is None:
        return None
    volts, celsius = ends.volts(node.test), ends.celsius(node.test)
    if volts is not None and _medium(node) in (None, Medium.ELECTRICAL) and volts > dead.VOLTAGE_V:
        return Loose(dead.VOLTAGE_V, "V", LIVE_PARTS)
    if celsius is not None and _medium(node) is Medium.THERMAL and not isinstance(node.physics, Hot):
        threshold = heat.burn_threshold_c(heat.HANDS_ON_S)
        return Loose(threshold, "°C", BURNS) if celsius > threshold else None
    if node.test.unit.strip() in _TURNS and node.test.limit > 0:
        return Loose(0.0, node.test.unit.strip(), STANDSTILL)
    return None


def refuse_loose_limit(row: Row, node: Node) -> None:
    """Notes a test's limit that is looser than the published one, at the row of the plant file."""
    if node.test is not None and (loose := looser_than_published(node)):
        row.wrong(
            "test.limit",
            f"is {plain(node.test.limit)} {node.test.unit}, looser than the published limit of {loose}",
            f"{written(loose.than)} {loose.unit} or less: a limit may be tightened, never loosened",
        )


def _medium(node: Node) -> Medium | None:
    if node.medium is None and node.physics is not None:
        return Medium(MEDIUM_OF[node.physics.kind])
    return node.medium
