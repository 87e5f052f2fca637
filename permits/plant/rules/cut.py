"""What can be locked and released between the sources and some zones, and the cheapest cut through it.

Only what reaches the zones is looked at. An isolator is an arc from its near side to its far side with the
capacity of its effort, a store is fed by an arc from the source with the capacity of its effort; everything
else, and a point that can't be locked or released, carries without limit.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Collection, Iterable
from copy import copy
from dataclasses import dataclass

from permits.plant.rules.energy import Graph, Kind, Node
from permits.plant.rules.exposure import follow, is_source
from permits.plant.rules.flow import SINK, SOURCE, Network


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

    `weigh` gives each lockable isolator and releasable store its capacity, a positive whole number. What is
    certain is merged first: no cut passes between a zone and what stands before it with nothing lockable
    between, nor behind a supply as far as nothing can be locked.
    """

    def __init__(self, graph: Graph, before: Approach, weigh: Callable[[Node], int]) -> None:
        region = _region(graph, before)
        fixed = [id for id in region if is_fixed(graph.nodes[id])]
        bound = _onward(graph, region, fixed, passes=lambda node: not is_lockable(node))
        self._network = network = Network()
        self._far_side = far_side = dict[str, int]()
        self._gaps: dict[str, tuple[int, int]] = {}
        self._stores: dict[str, int] = {}
        self._without_limit = 1
        near_side: dict[str, int] = {}
        for id in region:
            node = graph.nodes[id]
            if is_lockable(node):
                tail = SOURCE if any(near in bound for near in graph.fed_by[id]) else network.node()
                head = SINK if id in before.gates else network.node()
                near_side[id], far_side[id] = self._gaps[id] = tail, head
            elif id in bound:
                near_side[id] = far_side[id] = SOURCE
            else:
                near_side[id] = far_side[id] = SINK if id in before.onward else network.node()
                if node.kind is Kind.STORE:
                    self._stores[id] = near_side[id]
        for id, (tail, head) in self._gaps.items():
            self._without_limit += (weight := weigh(graph.nodes[id]))
            network.arc(tail, head, weight)
        for id, head in self._stores.items():
            self._without_limit += (weight := weigh(graph.nodes[id]))
            network.arc(SOURCE, head, weight)
        for id in region:
            head = near_side[id]
            if head == SOURCE:
                continue
            for near in graph.fed_by[id]:
                tail = far_side[near]
                if tail not in (SINK, head):
                    network.arc(tail, head, self._without_limit)

    def copy(self) -> Cuts:
        """Cuts of its own, so that more can be demanded of them."""
        twin = copy(self)
        twin._network = self._network.copy()
        return twin

    def leave_live(self, id: str) -> None:
        """From now on only cuts that leave this node on the live side; an isolator stays unlocked.

        The node must not stand before a zone with nothing lockable between. One that does not lead to the
        zones is on no side and changes nothing.
        """
        if id in self._far_side and self._far_side[id] != SOURCE:
            self._network.arc(SOURCE, self._far_side[id], self._without_limit)

    def least(self) -> int:
        """The least weight of a cut."""
        return self._network.fill()

    def nearest(self) -> Points:
        """Of the cuts of least weight the one nearest the zones, which is unique; after `least`."""
        layer = self._network.layer
        return Points(
            frozenset(id for id, (tail, head) in self._gaps.items() if layer[tail] < 0 <= layer[head]),
            frozenset(id for id, head in self._stores.items() if layer[head] >= 0),
        )


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
