"""What of a plant loses its energy when some points are locked and released. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from permits.plant.rules.energy import Graph, Kind
from permits.plant.rules.exposure import live


@dataclass(frozen=True, slots=True)
class Stopped:
    """What no energy reaches any more: zones, and the machines that they and other nodes belong to."""

    zones: tuple[str, ...]
    machines: tuple[str, ...]


def stopped_by(
    graph: Graph, lock: Iterable[str], release: Iterable[str], *, besides: Iterable[str] = ()
) -> Stopped:
    """What was live and is dead with these points locked and released, in the graph's order.

    The points themselves do not count. Nodes of the machines in `besides` are left out: those stand anyway.
    """
    lock, release, besides = frozenset(lock), frozenset(release), frozenset(besides)
    lost = live(graph) - live(graph, locked=lock, released=release) - lock - release
    dead = [node for node in graph.nodes.values() if node.id in lost and node.machine not in besides]
    return Stopped(
        zones=tuple(node.id for node in dead if node.kind is Kind.ZONE),
        machines=tuple(dict.fromkeys(node.machine for node in dead if node.machine)),
    )
