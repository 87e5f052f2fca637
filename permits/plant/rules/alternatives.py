"""The next-cheapest plans for some zones, and what each stops elsewhere. Pure.

A plan here is a set of points of which none could be left out: the zones would be exposed. A point that is
pinned is in every plan, needed or not; one that is forbidden is in none. How they are found: `dividing.py`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence, Set
from dataclasses import dataclass, replace

from permits.plant.rules.cut import is_lockable, is_releasable
from permits.plant.rules.dividing import Division
from permits.plant.rules.energy import Graph, Kind
from permits.plant.rules.order import in_order
from permits.plant.rules.pinning import bearing_on
from permits.plant.rules.plan import NoPlan, Plan, plan
from permits.plant.rules.stopping import Stopped, stopped_by


@dataclass(frozen=True, slots=True)
class Alternative:
    """A plan without needless points, and what loses its energy by it beside the zones to be isolated.

    `plan.proven_cheapest` is False where nodes are kept live and a cheaper plan may have been missed.
    """

    plan: Plan
    stops: Stopped


def alternatives(
    graph: Graph,
    zones: Iterable[str],
    keep_live: Iterable[str] = (),
    *,
    pin: Iterable[str] = (),
    forbid: Iterable[str] = (),
    most: int = 5,
    besides: Iterable[str] = (),
) -> list[Alternative]:
    """Up to `most` plans for the zones by effort, then fewest points, then smallest ids; empty: no plan.

    Every plan leaves the nodes to be kept live supplied. Of what a plan stops, the zones asked for are left
    out, and what belongs to the machines in `besides`. Raises ValueError for a pinned point that can't
    be locked or released, a forbidden one that is no node, one that is both, and as `plan` does.
    """
    zones, keep = tuple(dict.fromkeys(zones)), tuple(dict.fromkeys(keep_live))
    pinned, forbidden = _checked(graph, pin, forbid)
    if isinstance(plan_with(graph, zones, keep, pin=pinned, forbid=forbidden), NoPlan):
        return []
    search = Division(graph, zones, keep, pinned, forbidden)
    besides = frozenset(besides)
    found = []
    for points, proven in search.cheapest_first():
        found.append(_alternative(graph, zones, _as_plan(graph, points, proven), besides))
        if len(found) >= most:
            break
    return found


def plan_with(
    graph: Graph,
    zones: Iterable[str],
    keep_live: Iterable[str] = (),
    *,
    pin: Iterable[str] = (),
    forbid: Iterable[str] = (),
) -> Plan | NoPlan:
    """The plan, with points that are in it whatever it costs and points that are not.

    Of several cheapest it is the one nearest the work, as `plan` has it, where `alternatives` goes by ids.
    Without pinned or forbidden points it is `plan`. A path of a NoPlan is one on which nothing else than what
    is forbidden can be locked. Raises ValueError as `alternatives` does.
    """
    pinned, forbidden = _checked(graph, pin, forbid)
    if not pinned and not forbidden:
        return plan(graph, zones, keep_live)
    zones, keep = tuple(dict.fromkeys(zones)), tuple(dict.fromkeys(keep_live))
    found = plan(bearing_on(graph, zones, keep, pinned, forbidden), zones, keep)
    if isinstance(found, NoPlan):
        return found
    return _as_plan(graph, {*found.lock, *found.release, *pinned}, found.proven_cheapest)


def as_plan(graph: Graph, lock: Iterable[str], release: Iterable[str]) -> Plan:
    """Points that someone chose, with their effort and order. Whether they isolate is not asked here."""
    return _as_plan(graph, {*lock, *release}, False)


def _checked(
    graph: Graph, pin: Iterable[str], forbid: Iterable[str]
) -> tuple[frozenset[str], frozenset[str]]:
    pinned, forbidden = frozenset(pin), frozenset(forbid)
    for id in sorted(pinned):
        node = graph.nodes.get(id)
        if node is None or not (is_lockable(node) or is_releasable(node)):
            right = "what is pinned can be locked or released"
            raise ValueError(f"{id!r} can't be pinned: {right}")
    for id in sorted(forbidden):
        if id not in graph.nodes:
            raise ValueError(f"no node has the id {id!r}: what is forbidden is a node of the graph")
    if both := sorted(pinned & forbidden):
        raise ValueError(f"{both[0]!r} is pinned and forbidden: one of the two would be right")
    return pinned, forbidden


def _alternative(graph: Graph, zones: Sequence[str], found: Plan, besides: frozenset[str]) -> Alternative:
    stopped = stopped_by(graph, found.lock, found.release, besides=besides)
    elsewhere = tuple(id for id in stopped.zones if id not in zones)
    return Alternative(found, replace(stopped, zones=elsewhere))


def _as_plan(graph: Graph, points: Set[str], proven: bool) -> Plan:
    lock = {id for id in points if graph.nodes[id].kind is Kind.ISOLATOR}
    release = points - lock
    return Plan(
        effort=sum(graph.nodes[id].effort for id in points),
        lock=tuple(sorted(lock)),
        release=tuple(sorted(release)),
        order=in_order(graph, lock, release),
        proven_cheapest=proven,
    )
