"""Which isolators count: of the grade that a site demands, in service, and taking more than a tag. Pure.

Everything here is settled before a plan is computed: an isolator that does not count is one that can't be
locked, so plans, exposure, procedures and permits need no rule of their own. A demand is about the isolators
of its medium only; one that states no medium falls under none. A medium without a demand takes any grade.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from permits.plant.rules.energy import Grade, Graph, Kind, Medium, Node

Demands = Mapping[Medium, Grade]
_RANKS = {Grade.NON_PROVED: 0, Grade.PROVED: 1, Grade.POSITIVE: 2}


@dataclass(frozen=True, slots=True)
class Shortfall:
    """An isolator that does not count, and why, in words that follow its name."""

    point: str
    why: str


@dataclass(frozen=True, slots=True)
class Measure:
    """A point that carries a tag instead of a lock, and what is done there besides."""

    point: str
    measure: str


def as_demanded(graph: Graph, demands: Demands, *, tag_out: bool = False) -> Graph:
    """The graph in which only isolators that count can be locked; the same graph where all of them do.

    `tag_out`: the site lets a tag with its extra measure stand for a lock. Then a tag-only point that is in
    service and of the grade demanded can be "locked"; `measures` says what has to be done there.
    """
    isolators = (node for node in graph.nodes.values() if node.kind is Kind.ISOLATOR)
    changed = [
        replace(node, lockable=counts)
        for node in isolators
        if node.lockable is not (counts := _counts(node, demands, tag_out=tag_out))
    ]
    return graph.with_nodes(changed) if changed else graph


def shortfall(graph: Graph, demands: Demands, path: Iterable[str]) -> tuple[Shortfall, ...]:
    """Which isolators on a path do not count and why, in the path's order; a refused plan gives its path.

    Takes the graph as written or as demanded. Ids that the graph lacks, and isolators against which nothing
    is said but that no lock fits them, are passed over.
    """
    nodes = (graph.nodes[id] for id in path if id in graph.nodes)
    return tuple(Shortfall(node.id, why) for node in nodes if (why := against(node, demands)))


def against(node: Node, demands: Demands) -> str:
    """Why an isolator does not count, in words that follow its name; "" where nothing here is against it."""
    reasons = list(_against(node, demands))
    if node.tag_only and not node.lockable:
        reasons.append("takes a tag but no lock")
    return "; ".join(reasons)


def in_short(node: Node, demands: Demands) -> str:
    """Why a point can't be locked or released in a plan, in few words; "" where it can."""
    if node.kind is Kind.STORE:
        return "" if node.releasable else "cannot be released"
    if node.kind is not Kind.ISOLATOR:
        return ""
    if node.out_of_service:
        return "out of service"
    if any(_against(node, demands)):
        return "grade too low" if node.grade else "no grade stated"
    if node.tag_only:
        return "takes a tag only"
    return "" if node.lockable else "cannot be locked"


def measures(graph: Graph, lock: Iterable[str]) -> tuple[Measure, ...]:
    """What has to be done at those of the points to be locked that only take a tag, in the order given."""
    nodes = (graph.nodes[id] for id in lock if id in graph.nodes)
    return tuple(Measure(node.id, node.tag_only.measure) for node in nodes if node.tag_only)


def _at_least(demanded: Grade) -> list[Grade]:
    return [grade for grade in _RANKS if _RANKS[grade] >= _RANKS[demanded]]


def _counts(node: Node, demands: Demands, *, tag_out: bool) -> bool:
    takes_one = node.lockable or (tag_out and node.tag_only is not None)
    return takes_one and not any(_against(node, demands))


def _against(node: Node, demands: Demands) -> Iterator[str]:
    if node.kind is not Kind.ISOLATOR:
        return
    if node.out_of_service:
        yield "is out of service"
    demanded = demands.get(node.medium) if node.medium else None
    if demanded is None:
        return
    right = f"{node.medium} isolation here must be {' or '.join(_at_least(demanded))}"
    if node.grade is None:
        yield f"states no grade: {right}"
    elif _RANKS[node.grade] < _RANKS[demanded]:
        yield f"is {node.grade}: {right}"
