"""Which nodes does energy reach, and by which path? Pure; the length of a path is counted in links.

Everywhere below `locked` are the isolators that are held off now and `released` the stores that are harmless
now, as facts: whether a point may be locked or released is the plan's question. Only a locked isolator stops
energy. A released store is no source any more but still passes on what reaches it. Ids that the graph does
not know, and ids in `locked` that are no isolators, change nothing.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Mapping, Set

from permits.plant.rules.energy import Graph, Kind, Node

NOTHING: frozenset[str] = frozenset()


def witness(
    graph: Graph, zone: str, *, locked: Set[str] = NOTHING, released: Set[str] = NOTHING
) -> tuple[str, ...] | None:
    """A shortest path, source first, by which energy reaches the zone; None where none does: it is proven.

    Looks only at what leads to the zone, nearest first. Raises KeyError for a node that the graph lacks.
    """
    return path_to(graph, zone, locked=locked, starts=lambda node: is_source(node, released))


def exposed(
    graph: Graph, zones: Iterable[str], *, locked: Set[str] = NOTHING, released: Set[str] = NOTHING
) -> dict[str, tuple[str, ...]]:
    """The exposed ones among the zones, each with its witness path, in the order given."""
    paths = {zone: witness(graph, zone, locked=locked, released=released) for zone in zones}
    return {zone: path for zone, path in paths.items() if path is not None}


def live(graph: Graph, *, locked: Set[str] = NOTHING, released: Set[str] = NOTHING) -> frozenset[str]:
    """Every node that energy reaches now, sources included. A locked isolator is not live itself."""
    sources = [id for id, node in graph.nodes.items() if is_source(node, released)]
    return _reached(graph, sources, locked)


def fed(
    graph: Graph, point: str, *, locked: Set[str] = NOTHING, released: Set[str] = NOTHING
) -> tuple[str, ...] | None:
    """A shortest path by which a source other than the point itself reaches it; None where none does.

    It asks about the point's own upstream side, so the point may be locked. What can come back to it through
    a link that carries both ways counts as well. Raises KeyError for a node that the graph lacks.
    """
    return path_to(graph, point, locked=locked, starts=lambda node: is_source(node, released))


def downstream(graph: Graph, points: Iterable[str], *, locked: Set[str] = NOTHING) -> frozenset[str]:
    """Every node that energy let through these points reaches, the points included.

    It passes the points whether they are locked or not, and stops at every other locked isolator, which is
    not reached itself. Raises KeyError for a node that the graph lacks.
    """
    return _reached(graph, points, locked)


def is_source(node: Node, released: Set[str] = NOTHING) -> bool:
    """A supply, or a store that is not released."""
    return node.kind is Kind.SUPPLY or (node.kind is Kind.STORE and node.id not in released)


def path_to(
    graph: Graph, target: str, *, locked: Set[str], starts: Callable[[Node], bool]
) -> tuple[str, ...] | None:
    """A shortest path from a node that `starts` accepts to the target, one link at least; else None.

    Searches backward from the target, nearest first, and stops at locked isolators. The target itself is
    never asked whether it starts or is locked. Raises KeyError for a node that the graph lacks.
    """
    onward: dict[str, str | None] = {target: None}
    queue = deque([target])
    while queue:
        here = queue.popleft()
        for near in graph.fed_by[here]:
            if near in onward or (near in locked and graph.nodes[near].kind is Kind.ISOLATOR):
                continue
            onward[near] = here
            if starts(graph.nodes[near]):
                return follow(onward, near)
            queue.append(near)
    return None


def follow(onward: Mapping[str, str | None], start: str) -> tuple[str, ...]:
    """The path from `start` that always takes the next node `onward`, until there is none."""
    path = [start]
    while (step := onward[path[-1]]) is not None:
        path.append(step)
    return tuple(path)


def _reached(graph: Graph, starts: Iterable[str], locked: Set[str]) -> frozenset[str]:
    """Step by step outward from the starts; each step is one union of sets, which is quick at any size."""
    stopped = {id for id in locked if id in graph.nodes and graph.nodes[id].kind is Kind.ISOLATOR}
    reached = set(starts)
    front: Set[str] = set(reached)
    while front:
        front = set().union(*map(graph.feeds.__getitem__, front)) - reached - stopped
        reached |= front
    return frozenset(reached)
