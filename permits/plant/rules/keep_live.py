"""The cheapest isolation that leaves given nodes energised. Pure, and the same answer however often asked.

Hard in general, so found by branch and bound (Land and Doig 1960). The least cut that has the kept nodes on
its live side is never dearer than the plan. Where it still leaves one of them without a supply, the isolators
that it locks around that node are tried one after the other: each in turn is to be live and unlocked, those
tried before it are not. What every way to a kept node passes is kept as well.

Each point weighs its effort first, one point more next, and the smaller ids last, in one whole number: so
there is one cheapest plan, whatever the order of the search.
"""

from __future__ import annotations

import heapq
from collections import deque
from collections.abc import Callable, Sequence, Set
from dataclasses import dataclass

from permits.plant.rules.conflict import supplied
from permits.plant.rules.cut import Approach, Cuts, Points, choices
from permits.plant.rules.energy import Graph, Kind, Node
from permits.plant.rules.exposure import follow

EXACT_POINTS = 40  # with so many points to choose from the search is always finished
MOST_WORK = 100_000  # beyond it, cuts tried times points to choose from: some seconds
RANKED_POINTS = 4_000  # with more, ids no longer decide between equals: the weights grow too long


def cheapest(graph: Graph, before: Approach, keep: Sequence[str]) -> tuple[Points, bool]:
    """The plan of least effort that leaves the nodes live, and whether it is proven to be the cheapest.

    Of several, the one with the fewest points, then with the smallest sorted ids. There must be a plan.
    With up to EXACT_POINTS points to choose from it is always proven, with more only if the search ends
    within MOST_WORK; else it is the best plan found.
    """
    points = choices(graph, before)
    search = _Search(graph, before, keep, points)
    trials = None if len(points) <= EXACT_POINTS else MOST_WORK // len(points)
    return search.run(trials)


@dataclass(frozen=True, slots=True)
class _Trial:
    """Isolators that are to be live and unlocked, others that are not both, and the least cut with the first.

    No plan of which both are true weighs less than `weight`. `passing` are the isolators to be unlocked, with
    those that every way to a live node passes.
    """

    weight: int
    points: Points
    chosen: tuple[str, ...]
    shut: frozenset[str]
    passing: frozenset[str]


class _Search:
    def __init__(self, graph: Graph, before: Approach, keep: Sequence[str], points: Sequence[str]) -> None:
        self._graph = graph
        self._isolators = frozenset(id for id in points if graph.nodes[id].kind is Kind.ISOLATOR)
        self._keep = tuple(keep)
        self._gates = frozenset(before.gates)
        self._cuts = Cuts(graph, before, _weigher(points))
        for id in keep:
            self._cuts.leave_live(id)
        self._cuts.least()
        self.trials = 0

    def run(self, most_trials: int | None) -> tuple[Points, bool]:
        """The best plan, and whether none is better. Without a number of trials it goes on to the end."""
        first = self._trial((), self._gates)
        assert first is not None, "a kept node that no plan keeps live"
        waiting = [(first.weight, self.trials, first)]
        found: _Trial | None = None
        while waiting:
            _, _, trial = heapq.heappop(waiting)
            dead = self._dead(trial)
            if not dead:
                return trial.points, True
            if most_trials is not None:
                plan = self._completed(trial)
                if found is None or plan.weight < found.weight:
                    found = plan
                if trial.weight >= found.weight:
                    return found.points, True
            shut = trial.shut
            for id in min((self._locked_around(id, trial) for id in dead), key=len):
                if found is not None and most_trials is not None and self.trials > most_trials:
                    return found.points, False
                if next_trial := self._trial((*trial.chosen, id), shut):
                    heapq.heappush(waiting, (next_trial.weight, self.trials, next_trial))
                shut |= {id}
        raise AssertionError("every trial has a plan")

    def _trial(self, chosen: tuple[str, ...], shut: frozenset[str]) -> _Trial | None:
        """The trial; None where nothing can keep one of its nodes live."""
        passing = set(chosen)
        for id in (*self._keep, *chosen):
            on_every_way = _on_every_way(self._graph, id, shut)
            if on_every_way is None:
                return None
            passing |= self._isolators.intersection(on_every_way)
        self.trials += 1
        cuts = self._cuts.copy()
        for id in passing:
            cuts.leave_live(id)
        return _Trial(cuts.least(), cuts.nearest(), chosen, shut, frozenset(passing))

    def _dead(self, trial: _Trial) -> list[str]:
        """The kept nodes that the trial's cut leaves without a supply."""
        return [id for id in self._keep if supplied(self._graph, id, trial.points.lock) is None]

    def _locked_around(self, id: str, trial: _Trial) -> list[str]:
        """The isolators next around a dead node that the trial locks and a supply could pass instead."""
        locked = trial.points.lock | trial.shut
        around: dict[str, None] = {}
        seen = {id}
        queue = deque(seen)
        while queue:
            for near in self._graph.fed_by[queue.popleft()]:
                if near in locked:
                    around[near] = None
                elif near not in seen:
                    seen.add(near)
                    queue.append(near)
        shut = trial.shut
        return [near for near in around if near not in shut and supplied(self._graph, near, shut)]

    def _completed(self, trial: _Trial) -> _Trial:
        """A plan: the trial with a way opened to each kept node that has none."""
        while dead := self._dead(trial):
            opened = self._least_locked_way(dead[0], trial)
            next_trial = self._trial((*trial.chosen, *opened), trial.shut)
            assert next_trial is not None, "a way past what is shut"
            trial = next_trial
        return trial

    def _least_locked_way(self, id: str, trial: _Trial) -> list[str]:
        """The isolators on a way from a supply to a node, around what is shut, that crosses fewest locks."""
        onward: dict[str, str | None] = {}
        queue: deque[tuple[str, str | None]] = deque([(id, None)])
        while queue:
            here, after = queue.popleft()
            if here in onward:
                continue
            onward[here] = after
            if self._graph.nodes[here].kind is Kind.SUPPLY:
                way = follow(onward, here)
                return [near for near in way if near in self._isolators and near not in trial.chosen]
            for near in self._graph.fed_by[here]:
                if near in trial.points.lock and near not in trial.shut:
                    queue.append((near, here))
                elif near not in trial.shut:
                    queue.appendleft((near, here))
        raise AssertionError("every node of a trial has a way")


def _on_every_way(graph: Graph, id: str, shut: Set[str]) -> list[str] | None:
    """The nodes that every way from a supply to a node passes, around what is shut; None without a way.

    Goes along one way, away from the node, and notes how far along it any detour comes back to it: where no
    detour leads past a node, every way passes it.
    """
    way = supplied(graph, id, shut)
    if way is None:
        return None
    line = way[::-1]
    place = {near: at for at, near in enumerate(line)}
    seen = set(line)
    passed: list[str] = []
    begun, furthest = 0, 0
    while furthest < len(line):
        if begun == furthest:
            passed.append(line[begun])
        queue = list(line[begun : max(furthest, begun + 1)])
        begun = max(furthest, begun + 1)
        if queue[-1] == line[-1]:
            break
        while queue:
            for near in graph.fed_by[queue.pop()]:
                if near in place:
                    furthest = max(furthest, place[near])
                elif near not in seen and near not in shut:
                    seen.add(near)
                    if graph.nodes[near].kind is Kind.SUPPLY:
                        furthest = len(line)
                    queue.append(near)
    return passed


def _weigher(points: Sequence[str]) -> Callable[[Node], int]:
    """Whole numbers whose sums compare as (effort, number of points, sorted ids) do.

    Of as many ids, those that have the smallest id that the others lack come first when sorted. So a point's
    id counts half of the id before it, to be made as great as possible. A point that no source reaches is in
    no least cut, whatever it weighs.
    """
    if len(points) > RANKED_POINTS:
        return lambda node: node.effort * (len(points) + 1) + 1
    places = len(points)
    place = {id: 1 << (places - 1 - at) for at, id in enumerate(points)}
    one_point = (places + 1) << places
    one_effort = (places + 1) * one_point
    return lambda node: node.effort * one_effort + one_point + (1 << places) - place.get(node.id, 0)
