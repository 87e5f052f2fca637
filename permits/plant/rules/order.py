"""The order of a plan's steps: stop, lock, release, verify. Pure."""

from __future__ import annotations

import heapq
from collections import deque
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from enum import StrEnum

from permits.plant.rules.energy import Graph, Kind


class Do(StrEnum):
    STOP = "stop"
    LOCK = "lock"
    RELEASE = "release"
    VERIFY = "verify"


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do, at a point; the stop has none."""

    do: Do
    point: str | None


def in_order(graph: Graph, lock: Set[str], release: Set[str]) -> tuple[Step, ...]:
    """The steps of a plan; none where it has no points.

    Stop first. Then the locks by (sequence, id). Then the releases: each store after every store of the plan
    that can recharge it, otherwise by (sequence, id). Then a verification of each point, in the same order.
    """
    points = [(Do.LOCK, id) for id in sorted(lock, key=lambda id: _turn(graph, id))]
    points += [(Do.RELEASE, id) for id in _releases(graph, lock, release)]
    if not points:
        return ()
    return (
        Step(Do.STOP, None),
        *(Step(do, id) for do, id in points),
        *(Step(Do.VERIFY, id) for _, id in points),
    )


def _turn(graph: Graph, id: str) -> tuple[int, str]:
    return graph.nodes[id].sequence, id


def _releases(graph: Graph, locked: Set[str], stores: Set[str]) -> list[str]:
    """Always the store of the lowest (sequence, id) next, of those that no store still to come can recharge.

    A store recharges another when it reaches it without crossing a locked isolator. Stores that recharge each
    other wait for the same others, not for each other.
    """
    if len(stores) < 2:
        return list(stores)
    feeds = _feeds_between(graph, locked, stores)
    rings = _rings(feeds)
    ring_of = {id: ring for ring, members in enumerate(rings) for id in members}
    onward = [
        [ring_of[near] for id in members for near in feeds[id] if ring_of[near] != ring]
        for ring, members in enumerate(rings)
    ]
    waits_for = [0] * len(rings)
    for after in onward:
        for ring in after:
            waits_for[ring] += 1
    left = [sum(id in stores for id in members) for members in rings]

    order: list[str] = []
    ready: list[tuple[tuple[int, str], int]] = []
    opened = deque(ring for ring in range(len(rings)) if not waits_for[ring])
    while opened or ready:
        if opened:
            ring = opened.popleft()
            for id in rings[ring]:
                if id in stores:
                    heapq.heappush(ready, (_turn(graph, id), ring))
        else:
            (_, id), ring = heapq.heappop(ready)
            order.append(id)
            left[ring] -= 1
        if not left[ring]:
            for after_ring in onward[ring]:
                waits_for[after_ring] -= 1
                if not waits_for[after_ring]:
                    opened.append(after_ring)
    return order


def _feeds_between(graph: Graph, locked: Set[str], stores: Iterable[str]) -> dict[str, list[str]]:
    """Who feeds whom among the stores and all that reaches them without crossing a locked isolator."""
    feeds: dict[str, list[str]] = {id: [] for id in stores}
    queue = deque(feeds)
    while queue:
        here = queue.popleft()
        for near in graph.fed_by[here]:
            if near in locked and graph.nodes[near].kind is Kind.ISOLATOR:
                continue
            if near not in feeds:
                feeds[near] = []
                queue.append(near)
            feeds[near].append(here)
    return feeds


def _rings(feeds: Mapping[str, Sequence[str]]) -> list[list[str]]:
    """The nodes grouped so that two are together when each reaches the other (Tarjan 1972)."""
    found: dict[str, int] = {}
    lowest: dict[str, int] = {}
    grouped: set[str] = set()
    held: list[str] = []
    rings: list[list[str]] = []
    for first in feeds:
        if first in found:
            continue
        found[first] = lowest[first] = len(found)
        held.append(first)
        trail = [(first, iter(feeds[first]))]
        while trail:
            here, rest = trail[-1]
            for near in rest:
                if near not in found:
                    found[near] = lowest[near] = len(found)
                    held.append(near)
                    trail.append((near, iter(feeds[near])))
                    break
                if near not in grouped:
                    lowest[here] = min(lowest[here], found[near])
            else:
                trail.pop()
                if trail:
                    lowest[trail[-1][0]] = min(lowest[trail[-1][0]], lowest[here])
                if lowest[here] == found[here]:
                    ring = [held.pop()]
                    while ring[-1] != here:
                        ring.append(held.pop())
                    grouped.update(ring)
                    rings.append(ring)
    return rings
