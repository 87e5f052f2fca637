"""Every set of points that isolates some zones and of which none is needless, cheapest first. Pure.

The sets are found by dividing what is left to search (Murty 1968, Lawler 1972). The cheapest set S of a part
is found by the planner. Every other set without needless points lacks some point of S: so the part falls into
one part for each point of S, which lacks that point and has those of S before it. A point that a part has is
taken out of the plant, as a lock takes it out; one that it lacks can't be locked there. The cheapest set of a
part may hold points that are needless by then: it is no answer, but its part is divided all the same. A part
is dropped where a point that it has could be needed in no set.
"""

from __future__ import annotations

import heapq
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence, Set
from dataclasses import dataclass, replace

from permits.plant.rules.cut import approach, choices
from permits.plant.rules.energy import Graph, Kind, Node
from permits.plant.rules.exposure import is_source, witness
from permits.plant.rules.pinning import bearing_on, without
from permits.plant.rules.plan import NoPlan, plan

EXACT_POINTS = 12
"""With so many points to choose from every plan is found. With more the list may end early; what is on it is
still in its right place, cheapest first."""
MOST_WORK = 400_000
"""Beyond EXACT_POINTS the search ends after so many parts times nodes leading to the zones: some seconds."""
RANKED_POINTS = 300
"""With more points to choose from, ids no longer decide which of several equals is found first."""


@dataclass(frozen=True, slots=True)
class _Part:
    """The sets that have the points `has` and lack those in `lacks`, and the cheapest of them.

    `points` are sorted, without those pinned; `weight` compares as effort, number of points and ids do.
    """

    weight: int
    points: tuple[str, ...]
    has: frozenset[str]
    lacks: frozenset[str]


class Division:
    """The search for some zones, with nodes that stay live, points in every set and points in none.

    There must be a plan. `parts`: how many have been planned so far.
    """

    def __init__(
        self,
        graph: Graph,
        zones: Sequence[str],
        keep: Sequence[str],
        pinned: frozenset[str],
        forbidden: frozenset[str],
    ) -> None:
        self._zones, self._keep, self._pinned = zones, keep, pinned
        self._graph = bearing_on(graph, zones, keep, pinned, forbidden)
        points = choices(self._graph, approach(self._graph, zones))
        self._weigh = _weigher(points)
        nodes = (self._graph.nodes[id] for id in points)
        self._weighted = self._graph.with_nodes(replace(node, effort=self._weigh(node)) for node in nodes)
        exact = len(points) <= EXACT_POINTS
        self._most_parts = None if exact else max(1, MOST_WORK // len(self._graph.nodes))
        self.parts = 0
        self._proven = True  # that the cheapest set of every part so far is its cheapest

    def cheapest_first(self) -> Iterator[tuple[frozenset[str], bool]]:
        """Each plan's points, those pinned included, and whether no cheaper one was missed."""
        waiting: list[tuple[int, tuple[str, ...], int, _Part]] = []

        def add(part: _Part | None) -> None:
            if part is not None:
                heapq.heappush(waiting, (part.weight, part.points, self.parts, part))

        add(self._part(frozenset(), frozenset()))
        while waiting:
            _, _, _, part = heapq.heappop(waiting)
            if self._needs_all(part.points):
                yield self._pinned.union(part.points), self._proven
            has = part.has
            for point in part.points:
                if point in part.has:
                    continue
                if self._most_parts is not None and self.parts >= self._most_parts:
                    return
                if self._could_be_needed(has):
                    add(self._part(has, part.lacks | {point}))
                has |= {point}

    def _part(self, has: frozenset[str], lacks: frozenset[str]) -> _Part | None:
        """The part with its cheapest set; None where it has none."""
        self.parts += 1
        found = plan(without(self._weighted, has, lacks), self._zones, self._keep)
        if isinstance(found, NoPlan):
            return None
        self._proven = self._proven and found.proven_cheapest
        points = tuple(sorted({*found.lock, *found.release, *has}))
        weight = sum(self._weighted.nodes[id].effort for id in points)
        return _Part(weight, points, has, lacks)

    def _needs_all(self, points: Iterable[str]) -> bool:
        """Whether the zones are exposed as soon as any one of the points is left out."""
        chosen = frozenset(points)
        return all(self._exposed(chosen - {point}) for point in chosen)

    def _exposed(self, points: Set[str]) -> bool:
        return any(
            witness(self._graph, zone, locked=points, released=points) is not None for zone in self._zones
        )

    def _could_be_needed(self, has: frozenset[str]) -> bool:
        """Whether energy could still reach a zone by each of the points, past none of the others.

        A store can be a source, and an isolator, however it is fed, only passes energy on.
        """
        return all(self._leads_on(point, has - {point}) for point in has)

    def _leads_on(self, point: str, others: Set[str]) -> bool:
        nodes = self._graph.nodes
        zones = set(self._zones)
        stopped = {id for id in others if nodes[id].kind is Kind.ISOLATOR}
        if not _reaches(point, self._graph.feeds.__getitem__, lambda id: id in zones, stopped):
            return False
        return _reaches(
            point, self._graph.fed_by.__getitem__, lambda id: is_source(nodes[id], others), stopped
        )


def _reaches(
    start: str, near: Callable[[str], Iterable[str]], ends: Callable[[str], bool], stopped: Set[str]
) -> bool:
    """Whether a walk from `start` comes to a node that `ends` it without entering a stopped one."""
    seen = {start}
    queue = deque(seen)
    while queue:
        here = queue.popleft()
        if ends(here):
            return True
        for id in near(here):
            if id not in seen and id not in stopped:
                seen.add(id)
                queue.append(id)
    return False


def _weigher(points: Sequence[str]) -> Callable[[Node], int]:
    """Whole numbers whose sums compare as (effort, number of points, sorted ids) do; no two sets weigh alike.

    Of as many ids, those come first that have the smallest id that the others lack: so each id counts half of
    the one before it, and the sum of what is not chosen is to be small.
    """
    if len(points) > RANKED_POINTS:
        return lambda node: node.effort * (len(points) + 1) + 1
    places = len(points)
    rank = {id: 1 << (places - 1 - at) for at, id in enumerate(points)}
    one_point = (places + 1) << places
    one_effort = (places + 1) * one_point
    return lambda node: node.effort * one_effort + one_point + (1 << places) - rank[node.id]
