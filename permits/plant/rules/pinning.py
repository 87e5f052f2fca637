"""A plant in which some points are taken as locked or released, and others can't be. Pure."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence, Set
from dataclasses import replace

from permits.plant.rules.energy import Graph, Kind, Link


def without(graph: Graph, taken: Set[str], barred: Set[str]) -> Graph:
    """The plant with some points taken as locked or released, and others that can't be.

    A locked isolator passes nothing on: it loses its links. A released store is a carrier.
    """
    released = {id for id in taken if graph.nodes[id].kind is Kind.STORE}
    locked = {id for id in taken if graph.nodes[id].kind is Kind.ISOLATOR}
    changed = [replace(graph.nodes[id], kind=Kind.CARRIER) for id in released]
    changed += (replace(graph.nodes[id], lockable=False, releasable=False) for id in barred - released)
    if changed:
        graph = graph.with_nodes(changed)
    return graph.without_links_of(locked) if locked else graph


def bearing_on(
    graph: Graph,
    zones: Sequence[str],
    keep: Sequence[str],
    pinned: frozenset[str],
    forbidden: frozenset[str],
) -> Graph:
    """The part of the plant on which plans depend, with what is pinned taken and what is forbidden barred.

    The whole plant where it lacks a zone or a node to be kept live: `plan` says what is wrong with that.
    """
    if not all(id in graph.nodes for id in (*zones, *keep)):
        return graph
    small = _leading_to(graph, (*zones, *keep))
    return without(small, pinned & small.nodes.keys(), forbidden & small.nodes.keys())


def _leading_to(graph: Graph, ends: Iterable[str]) -> Graph:
    """The part of the plant from which energy could come to the ends, in the graph's own order."""
    leading = set(ends)
    queue = deque(leading)
    while queue:
        for near in graph.fed_by[queue.popleft()]:
            if near not in leading:
                leading.add(near)
                queue.append(near)
    if len(leading) == len(graph.nodes):
        return graph
    in_order = sorted(leading, key=graph.place.__getitem__)
    return Graph.of(
        (graph.nodes[id] for id in in_order),
        (Link(near, id) for id in in_order for near in graph.fed_by[id]),
    )
