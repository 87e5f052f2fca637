"""What can be locked and released between the sources and some zones, and the cheapest cut through it.

Only what reaches the zones is looked at. An isolator is an arc from its near side to its far side with the
capacity of its effort, a store is fed by an arc from the source with the capacity of its effort; everything
else, and a point that can't be locked or released, carries without limit. The network grows from the zones
outward and ends where the nearest sources settle the matter.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Collection, Iterable
from copy import copy
from dataclasses import dataclass

from permits.plant.rules.energy import Graph, Kind, Node
from permits.plant.rules.exposure import follow, is_source
from permits.plant.rules.flow import SINK, SOURCE, UNLIMITED, Network


def is_lockable(node: Node) -> bool:
    return node.kind is Kind.ISOLATOR and node.lockable


def is_releasable(node: Node) -> bool:
    return node.kind is Kind.STORE and node.releasable


def is_fixed(node: Node) -> bool:
    """A source that no release ends: a supply, or a store that can't be released."""
    return node.kind is Kind.SUPPLY or (node.kind is Kind.STORE and not node.releasable)


@dataclass(frozen=True, slots=True)
class Approach:
    """What stands before some zones with nothing lockable between.

    `onward`: each such node, zones included, and the next one on a shortest way to a zone (None for the
    zones). `gates`: the last lockable isolators before them, likewise. `open_path`: a shortest path from a
    supply, or from a store that can't be released, with no lockable isolator on it; then nothing isolates.
    """

    onward: dict[str, str | None]
    gates: dict[str, str]
    open_path: tuple[str, ...] | None

    def path(self, start: str) -> tuple[str, ...]:
        """A shortest way to a zone from one of these nodes or from a gate."""
        if start in self.gates:
            return (start, *follow(self.onward, self.gates[start]))
        return follow(self.onward, start)


def approach(graph: Graph, zones: Iterable[str]) -> Approach:
    """What stands before the zones. Raises KeyError for a zone that the graph lacks."""
    onward: dict[str, str | None] = dict.fromkeys(zones)
    gates: dict[str, str] = {}
    queue = deque(onward)
    while queue:
        here = queue.popleft()
        for near in graph.fed_by[here]:
            if near in onward or near in gates:
                continue
            node = graph.nodes[near]
            if is_lockable(node):
                gates[near] = here
                continue
            onward[near] = here
            if is_fixed(node):
                return Approach(onward, gates, follow(onward, near))
            queue.append(near)
    return Approach(onward, gates, None)


@dataclass(frozen=True, slots=True)
class Points:
    """Isolators to lock and stores to release."""

    lock: frozenset[str]
    release: frozenset[str]

    def effort(self, graph: Graph) -> int:
        return sum(graph.nodes[id].effort for id in self.lock | self.release)


class Cuts:
    """The plans that isolate some zones, as the cuts of a network; needs an approach without an open path.

    `weigh` gives each lockable isolator and releasable store its capacity, a positive whole number. What
    stands before the zones with nothing lockable between is one with the sink: no cut passes there.
    """

    def __init__(self, graph: Graph, before: Approach, weigh: Callable[[Node], int]) -> None:
        self._graph = graph
        self._before = before
        self._weigh = weigh
        self._network = Network()
        self._place: list[tuple[str, bool]] = [("", False), ("", False)]  # per network node: id, far side?
        self._near: dict[str, int] = {}
        self._far: dict[str, int] = dict.fromkeys(before.gates, SINK)
        self._gaps: dict[str, tuple[int, int]] = {}
        self._stores: dict[str, int] = {}
        self._live: set[str] = set()

    def copy(self) -> Cuts:
        """Cuts of its own, so that more can be demanded of them."""
        twin = copy(self)
        twin._network = self._network.copy()
        twin._place = self._place.copy()
        twin._near, twin._far, twin._gaps = self._near.copy(), self._far.copy(), self._gaps.copy()
        twin._stores, twin._live = self._stores.copy(), self._live.copy()
        return twin

    def leave_live(self, id: str) -> None:
        """From now on only cuts that leave this node on the live side; an isolator stays unlocked.

        The node must not stand before a zone with nothing lockable between. One that does not lead to the
        zones is on no side and changes nothing.
        """
        self._live.add(id)
        sides = self._far if is_lockable(self._graph.nodes[id]) else self._near
        if id in sides:
            self._network.arc(SOURCE, sides[id], UNLIMITED)

    def least(self) -> int:
        """The least weight of a cut."""
        return self._network.fill(self._add_arcs_into)

    def nearest(self) -> Points:
        """Of the cuts of least weight the one nearest the zones, which is unique; after `least`."""
        layer = self._network.layer
        return Points(
            frozenset(id for id, (near, far) in self._gaps.items() if layer[near] < 0 <= layer[far]),
            frozenset(id for id, node in self._stores.items() if layer[node] >= 0),
        )

    def _add_arcs_into(self, node: int) -> None:
        if node == SINK:
            for gate in self._before.gates:
                self._add_gap(gate, SINK)
            for id in self._before.onward:
                if self._graph.nodes[id].kind is Kind.STORE:
                    self._add_store(id, SINK)
            return
        id, is_far_side = self._place[node]
        here = self._graph.nodes[id]
        if is_fixed(here) or id in self._live:
            self._network.arc(SOURCE, node, UNLIMITED)  # and what lies behind makes no difference
            return
        if is_far_side:
            self._add_gap(id, node)
            return
        if here.kind is Kind.STORE:
            self._add_store(id, node)
        for near in self._graph.fed_by[id]:
            if near in self._before.gates or near in self._before.onward:
                continue
            side = self._side(near, far=is_lockable(self._graph.nodes[near]))
            self._network.arc(side, node, UNLIMITED)

    def _add_gap(self, isolator: str, far: int) -> None:
        near = self._side(isolator, far=False)
        self._gaps[isolator] = near, far
        self._network.arc(near, far, self._weigh(self._graph.nodes[isolator]))

    def _add_store(self, store: str, node: int) -> None:
        self._stores[store] = node
        self._network.arc(SOURCE, node, self._weigh(self._graph.nodes[store]))

    def _side(self, id: str, *, far: bool) -> int:
        """The network's node for the near or the far side; only a lockable isolator has two."""
        sides = self._far if far else self._near
        if id not in sides:
            sides[id] = self._network.node()
            self._place.append((id, far))
        return sides[id]


def choices(graph: Graph, before: Approach) -> list[str]:
    """Every point that could be of use, sorted: what can be locked or released, leads to the zones and is
    reached by a source."""
    region = _region(graph, before)
    sources = [id for id in region if is_source(graph.nodes[id])]
    reached = _onward(graph, region, sources, passes=lambda _: True)
    nodes = [graph.nodes[id] for id in reached]
    return sorted(node.id for node in nodes if is_lockable(node) or is_releasable(node))


def _region(graph: Graph, before: Approach) -> dict[str, None]:
    """Every node from which energy could reach the zones, zones included, nearest first."""
    region = dict.fromkeys((*before.onward, *before.gates))
    queue = deque(before.gates)
    while queue:
        for near in graph.fed_by[queue.popleft()]:
            if near not in region:
                region[near] = None
                queue.append(near)
    return region


def _onward(
    graph: Graph, region: Collection[str], starts: Iterable[str], passes: Callable[[Node], bool]
) -> set[str]:
    """What of a region is reached from its starts, through nodes that let energy pass."""
    reached = set(starts)
    queue = deque(reached)
    while queue:
        for near in graph.feeds[queue.popleft()]:
            if near not in reached and near in region and passes(graph.nodes[near]):
                reached.add(near)
                queue.append(near)
    return reached
