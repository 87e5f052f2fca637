"""What of a plant loses its energy when some points are locked and released. Pure.

A node that loses its energy is one of the points or has a feeder that loses it too. So the search goes
outward from the points for as long as it finds such nodes, whatever the size of the plant, and asks of each
node that it comes by whether energy still reaches it another way.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Set
from dataclasses import dataclass

from permits.plant.rules.energy import Graph, Kind
from permits.plant.rules.exposure import is_source, witness


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
    Ids that the graph does not know change nothing.
    """
    lock, release, besides = frozenset(lock), frozenset(release), frozenset(besides)
    lost = _lost(graph, lock, release) - lock - release
    dead = [graph.nodes[id] for id in sorted(lost, key=graph.place.__getitem__)]
    dead = [node for node in dead if node.machine not in besides]
    return Stopped(
        zones=tuple(node.id for node in dead if node.kind is Kind.ZONE),
        machines=tuple(dict.fromkeys(node.machine for node in dead if node.machine)),
    )


def _lost(graph: Graph, lock: Set[str], release: Set[str]) -> set[str]:
    """Every node that was live and is dead now, the points among them."""
    after = _After(graph, lock, release)
    points = [id for id in (*lock, *release) if id in graph.nodes]
    were_live = (id for id in points if is_source(graph.nodes[id]) or witness(graph, id))
    lost = {id for id in were_live if after.is_dead(id)}
    queue = deque(lost)
    while queue:
        for near in graph.feeds[queue.popleft()]:
            if near not in lost and after.is_dead(near):
                lost.add(near)
                queue.append(near)
    return lost


class _After:
    """Which nodes are dead with these points locked and released; what was found is kept."""

    def __init__(self, graph: Graph, lock: Set[str], release: Set[str]) -> None:
        self._graph = graph
        self._release = release
        self._dead = {id for id in lock if id in graph.nodes and graph.nodes[id].kind is Kind.ISOLATOR}
        self._live: set[str] = set()

    def is_dead(self, id: str) -> bool:
        """Looks for a live node backward from this one, nearest first, around what is known to be dead."""
        if id in self._dead:
            return True
        seen = {id}
        queue = deque(seen)
        while queue:
            here = queue.popleft()
            if here in self._live or is_source(self._graph.nodes[here], self._release):
                self._live.add(id)
                return False
            for near in self._graph.fed_by[here]:
                if near not in seen and near not in self._dead:
                    seen.add(near)
                    queue.append(near)
        self._dead |= seen  # nothing live leads to any of them
        return True
