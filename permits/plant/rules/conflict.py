"""Which nodes can't be kept live while which zones are isolated, and the path that shows it. Pure.

A node is kept live when some supply reaches it without crossing a locked isolator; a store does not keep
anything live, and a kept isolator is not locked itself.

Whether that is possible is simple to say. Energy that passes one of the last lockable isolators before a
zone, its gates, reaches the zone. So a node can be kept live exactly when a supply still reaches it with the
gates of all zones locked.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence, Set
from dataclasses import dataclass

from permits.plant.rules.cut import approach
from permits.plant.rules.energy import Graph, Kind
from permits.plant.rules.exposure import NOTHING, path_to, witness


@dataclass(frozen=True, slots=True)
class Conflict:
    """A node that can't be kept live while a zone is isolated."""

    keep: str
    zone: str


def supplied(graph: Graph, id: str, locked: Set[str] = NOTHING) -> tuple[str, ...] | None:
    """A shortest path by which a supply keeps the node live; None where none does."""
    node = graph.nodes[id]
    if node.kind is Kind.SUPPLY:
        return (id,)
    if node.kind is Kind.ISOLATOR and id in locked:
        return None
    return path_to(graph, id, locked=locked, starts=lambda near: near.kind is Kind.SUPPLY)


def conflicts(graph: Graph, zones: Sequence[str], keep: Sequence[str]) -> tuple[Conflict, ...]:
    """What keeps the nodes from being kept live, for zones that can be isolated otherwise; empty: nothing.

    For each node the zones that exclude it even by themselves; for a node that only several zones together
    exclude, a choice of them of which none can be left out.
    """
    gates = {zone: frozenset(approach(graph, [zone]).gates) for zone in zones}

    def excluded(id: str, by: Iterable[str]) -> bool:
        return supplied(graph, id, frozenset().union(*(gates[zone] for zone in by))) is None

    found: list[Conflict] = []
    for id in keep:
        if not excluded(id, zones):
            continue
        against = [zone for zone in zones if excluded(id, [zone])]
        if not against:
            against = list(zones)
            for zone in zones:
                others = [other for other in against if other != zone]
                if excluded(id, others):
                    against = others
        found += (Conflict(id, zone) for zone in against)
    return tuple(found)


def path_through(graph: Graph, against: Sequence[Conflict]) -> tuple[str, ...]:
    """How energy reaches a zone once the first conflict's node is live: source first, no node twice.

    Through the node where nothing can be locked after it; else along a way that feeds it, through the first
    gate on that way. Where no supply reaches the node at all, the shortest path to a zone as it is, if any.
    """
    keep = against[0].keep
    zones = [conflict.zone for conflict in against if conflict.keep == keep]
    feeding = supplied(graph, keep)
    if feeding is None:
        paths = [path for zone in zones if (path := witness(graph, zone))]
        return min(paths, key=len, default=())
    before = approach(graph, zones)
    if keep in before.onward or keep in before.gates:
        turn = len(feeding) - 1
    else:
        turn = next(at for at, id in enumerate(feeding) if id in before.gates)
    return _without_loops(feeding[:turn] + before.path(feeding[turn]))


def _without_loops(path: Iterable[str]) -> tuple[str, ...]:
    """The path without the detours that come back to a node it was at before."""
    straight: dict[str, None] = {}
    for id in path:
        while id in straight:
            straight.popitem()
        straight[id] = None
    return tuple(straight)
