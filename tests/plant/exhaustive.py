"""What the planner must find, by trying every set of points: written from the design, sharing nothing with
the product but the nodes and links themselves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain, combinations

from permits.plant.rules.energy import Graph, Kind

Points = tuple[frozenset[str], frozenset[str]]  # to lock, to release


def arcs(graph: Graph) -> set[tuple[str, str]]:
    there = {(link.source, link.target) for link in graph.links}
    return there | {(link.target, link.source) for link in graph.links if link.both}


def spread(graph: Graph, starts: Iterable[str], locked: Iterable[str] = ()) -> set[str]:
    """All that is reached from the starts, starts included, without entering a locked isolator."""
    reached = set(starts)
    while True:
        more = {b for a, b in arcs(graph) if a in reached and b not in reached and b not in locked}
        if not more:
            return reached
        reached |= more


def kinds(graph: Graph, kind: Kind) -> set[str]:
    return {id for id, node in graph.nodes.items() if node.kind is kind}


def lockable(graph: Graph) -> set[str]:
    return {id for id in kinds(graph, Kind.ISOLATOR) if graph[id].lockable}


def releasable(graph: Graph) -> set[str]:
    return {id for id in kinds(graph, Kind.STORE) if graph[id].releasable}


def isolated(graph: Graph, zones: Iterable[str], lock: Iterable[str], release: Iterable[str]) -> bool:
    sources = kinds(graph, Kind.SUPPLY) | (kinds(graph, Kind.STORE) - set(release))
    return not spread(graph, sources, lock) & set(zones)


def kept_live(graph: Graph, keep: Iterable[str], lock: Iterable[str]) -> bool:
    return set(keep) <= spread(graph, kinds(graph, Kind.SUPPLY), lock) - set(lock)


def every_subset(ids: Iterable[str]) -> Iterator[frozenset[str]]:
    ids = sorted(ids)
    return map(frozenset, chain.from_iterable(combinations(ids, size) for size in range(len(ids) + 1)))


def cheapest(graph: Graph, zones: Iterable[str], keep: Iterable[str] = ()) -> tuple[int, list[Points]] | None:
    """The least effort and every set of points that has it; None where no set will do."""
    best: tuple[int, list[Points]] | None = None
    for points in every_subset(lockable(graph) | releasable(graph)):
        effort = sum(graph[id].effort for id in points)
        if best and effort > best[0]:
            continue
        lock, release = points & lockable(graph), points & releasable(graph)
        if isolated(graph, zones, lock, release) and kept_live(graph, keep, lock):
            if best is None or effort < best[0]:
                best = (effort, [])
            best[1].append((lock, release))
    return best


def side_of_the_work(graph: Graph, zones: Iterable[str], lock: Iterable[str]) -> set[tuple[str, str]]:
    """The near and far sides of nodes from which energy would come to the zones past the locks."""
    backward: dict[str, set[str]] = {}
    for source, target in arcs(graph):
        backward.setdefault(target, set()).add(source)
    found = {(zone, "near") for zone in zones}
    while True:
        more = {(id, "near") for id, side in found if side == "far" and id not in lock}
        more |= {(before, "far") for id, side in found if side == "near" for before in backward.get(id, ())}
        if more <= found:
            return found
        found |= more


def nearest(graph: Graph, zones: Iterable[str], plans: list[Points]) -> Points:
    """The plan whose side of the work lies within that of every other; there is always exactly one."""
    sides = [side_of_the_work(graph, zones, lock) for lock, _ in plans]
    (best,) = [at for at, side in enumerate(sides) if all(side <= other for other in sides)]
    return plans[best]


def first_by_ids(plans: list[Points]) -> Points:
    """The plan with the fewest points, then the smallest sorted ids."""
    return min(plans, key=lambda points: (len(points[0] | points[1]), sorted(points[0] | points[1])))


def order_of_releases(graph: Graph, lock: Iterable[str], release: Iterable[str]) -> list[str]:
    """Always the first by (sequence, id) of the stores that none of the rest can recharge one-sidedly."""
    reach = {id: spread(graph, [id], lock) for id in release}
    left, order = set(release), []
    while left:
        free = [id for id in left if not any(id in reach[o] and o not in reach[id] for o in left - {id})]
        order.append(min(free, key=lambda id: (graph[id].sequence, id)))
        left.remove(order[-1])
    return order
