"""The cheapest isolation of some zones, nearest the work, and its order; or the path that rules it out.

Without nodes to keep live the plan is the minimum cut nearest the zones: of several cheapest plans the one
that stops the least of the plant. With nodes to keep live, whatever they are, ties go to the fewest points
and then to the smallest sorted ids, so that the answer does not depend on how it was searched for.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from permits.plant.rules.conflict import Conflict, conflicts, path_through, supplied
from permits.plant.rules.cut import Approach, Cuts, Points, approach, is_lockable, is_releasable
from permits.plant.rules.energy import Graph, Kind
from permits.plant.rules.exposure import exposed
from permits.plant.rules.keep_live import cheapest
from permits.plant.rules.order import Do, Step, in_order

__all__ = ["Conflict", "Do", "NoPlan", "Plan", "Step", "isolates", "plan"]


@dataclass(frozen=True, slots=True)
class Plan:
    """Isolators to lock and stores to release, each sorted by id, their effort, and the steps in order.

    `proven_cheapest` is False where nodes are kept live and there were too many points to try everything.
    """

    effort: int
    lock: tuple[str, ...]
    release: tuple[str, ...]
    order: tuple[Step, ...]
    proven_cheapest: bool = True


@dataclass(frozen=True, slots=True)
class NoPlan:
    """Nothing isolates the zones, and the path by which energy would still come, source first.

    No lockable isolator is on the path. Where keeping live is what prevents a plan, `conflicts` says which
    node stands against which zone, and the lockable isolators on the path are those the node needs.
    """

    path: tuple[str, ...]
    conflicts: tuple[Conflict, ...] = ()


def plan(graph: Graph, zones: Iterable[str], keep_live: Iterable[str] = ()) -> Plan | NoPlan:
    """The plan for the zones, in which a supply still reaches every node that is to be kept live.

    A zone that nothing feeds needs no points. Zones or nodes given twice count once. Raises ValueError for an
    id that is no zone or, to be kept live, no node of the graph.
    """
    zones, keep = tuple(dict.fromkeys(zones)), tuple(dict.fromkeys(keep_live))
    _check(graph, zones, keep)
    before = approach(graph, zones)
    if before.open_path:
        return NoPlan(before.open_path)
    if against := conflicts(graph, zones, keep):
        return NoPlan(path_through(graph, against), against)
    if keep:
        points, proven = cheapest(graph, before, keep)
    else:
        points, proven = _nearest(graph, before), True
    _prove(graph, zones, keep, points)
    return Plan(
        effort=points.effort(graph),
        lock=tuple(sorted(points.lock)),
        release=tuple(sorted(points.release)),
        order=in_order(graph, points.lock, points.release),
        proven_cheapest=proven,
    )


def isolates(
    graph: Graph, zones: Iterable[str], lock: Iterable[str], release: Iterable[str]
) -> dict[str, tuple[str, ...]]:
    """The zones that a plan made earlier does not isolate in this graph, each with the path; empty: it holds.

    Only what the graph still lets be done counts: an isolator that is gone, is none any more or can't be
    locked now stops nothing, and a store that can't be released now is one that is live. A zone that is gone
    can't be proven: its path is the zone alone.
    """
    nodes = graph.nodes
    locked = {id for id in lock if id in nodes and is_lockable(nodes[id])}
    released = {id for id in release if id in nodes and is_releasable(nodes[id])}
    there = list(dict.fromkeys(zones))
    gone = {zone: (zone,) for zone in there if zone not in nodes}
    found = exposed(graph, (zone for zone in there if zone not in gone), locked=locked, released=released)
    return gone | found


def _nearest(graph: Graph, before: Approach) -> Points:
    cuts = Cuts(graph, before, lambda node: node.effort)
    cuts.least()
    return cuts.nearest()


def _check(graph: Graph, zones: Iterable[str], keep: Iterable[str]) -> None:
    for id in zones:
        if id not in graph.nodes:
            raise ValueError(f"no node has the id {id!r}: a zone to isolate is a node of kind 'zone'")
        if graph.nodes[id].kind is not Kind.ZONE:
            raise ValueError(f"{id!r} is of kind {graph.nodes[id].kind.value!r}: only a zone can be isolated")
    for id in keep:
        if id not in graph.nodes:
            raise ValueError(f"no node has the id {id!r}: what is kept live is a node of the graph")


def _prove(graph: Graph, zones: Iterable[str], keep: Iterable[str], points: Points) -> None:
    """Checks a plan by exposure alone before anyone sees it: another way than it was found by."""
    paths = isolates(graph, zones, points.lock, points.release)
    dead = [id for id in keep if supplied(graph, id, points.lock) is None]
    if paths or dead:
        raise AssertionError(f"a plan was computed that does not hold: exposed {paths}, dead {dead}")
