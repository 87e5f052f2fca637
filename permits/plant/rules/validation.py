"""What a safety officer should look at in a plant's description before anyone relies on it. Pure.

A finding is no error: a plant file with findings is sound, but what it says of the plant is dangerous, is
unlikely to be so, or has to be known.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from permits.plant.rules.cut import approach, is_lockable, is_releasable
from permits.plant.rules.energy import Graph, Kind
from permits.plant.rules.exposure import witness
from permits.plant.rules.plan import Plan, plan
from permits.plant.rules.testlimits import looser_than_usual

MOST_PLANS = 500
"""In a plant with more zones than this not every plan is computed: `IN_NO_PLAN` is not asked, and every
tag-only point that energy for a zone passes is found as if it were in a plan."""


class Concern(StrEnum):
    """What is found, the most dangerous first."""

    NOT_ISOLATED = "zones that nothing can isolate"
    NOT_FED = "zones that nothing feeds"
    NO_LOCK_AFTER = "supplies with no lockable point after them"
    NO_TEST = "stores without a test"
    TAG_IN_A_PLAN = "points of a plan that take a tag, no lock"
    LOOSE_TEST = "tests that pass more than usual"
    CROSSES = "links that cross machines"
    SHARED = "isolators shared by several machines"
    LEADS_NOWHERE = "points that lead to no zone"
    IN_NO_PLAN = "points that no plan needs"

    @property
    def meaning(self) -> str:
        """Why it matters, and what would be right."""
        return _MEANINGS[self]


_MEANINGS = {
    Concern.NOT_ISOLATED: (
        "No permit can be asked for them: on the path shown nothing can be locked. An isolator that can, "
        "somewhere on it, would be right."
    ),
    Concern.NOT_FED: (
        "The plan for such a zone is empty, and it counts as dead without a lock. That is right only where "
        "no energy can come at all; otherwise a link is missing."
    ),
    Concern.NO_LOCK_AFTER: "What they feed cannot be cut off. A lockable isolator after each would be right.",
    Concern.NO_TEST: (
        "Nothing says how zero energy is read there, so people only look. A quantity, a unit and the highest "
        "reading that passes would be right."
    ),
    Concern.TAG_IN_A_PLAN: (
        "A tag warns and holds nothing: each needs its extra measure, done and recorded every time. A point "
        "that takes a lock would be right; since 2 January 1990 whatever is replaced, rebuilt or new has to "
        "take one (29 CFR 1910.147(c)(2)(iii))."
    ),
    Concern.LOOSE_TEST: (
        "Their limit lies above 50 V (29 CFR 1910.333(a)(1), second-hand; 60 V is the machine-design line), "
        "above 43 °C on a hot surface, or above standstill. That is right only where the machine-design line "
        "is the site's, the surface is touched for moments, or so slow a part cannot hurt; else a tighter "
        "limit would be."
    ),
    Concern.CROSSES: (
        "Locking the far machine's own points does not cut these off. People at both machines have to know."
    ),
    Concern.SHARED: (
        "Energy for zones of all the machines named passes each: locked for one, it may stop the others."
    ),
    Concern.LEADS_NOWHERE: (
        "No energy that they let through reaches a zone. Either a link is missing, or nobody needs the point."
    ),
    Concern.IN_NO_PLAN: (
        "For each zone, and for all of a machine, another choice is cheaper or nearer the work. For a "
        "board's own switch that is as it should be; for a point beside the work, look at its links and its "
        "effort."
    ),
}


@dataclass(frozen=True, slots=True)
class Finding:
    """One node or link that a concern is about.

    `id`: the node, or where the link begins; `other`: where the link ends. `path`: of energy, source first.
    `machines`: ids of the machines concerned, sorted.
    """

    concern: Concern
    id: str
    other: str = ""
    path: tuple[str, ...] = ()
    machines: tuple[str, ...] = ()


def findings(graph: Graph) -> tuple[Finding, ...]:
    """Everything worth a look, by concern and then in the graph's order."""
    found = [finding for check in _CHECKS for finding in check(graph)]
    order = list(Concern)
    return tuple(sorted(found, key=lambda finding: order.index(finding.concern)))


def _zones(graph: Graph) -> Iterator[Finding]:
    for zone in _of_kind(graph, Kind.ZONE):
        if path := approach(graph, [zone]).open_path:
            yield Finding(Concern.NOT_ISOLATED, zone, path=path)
        elif witness(graph, zone) is None:
            yield Finding(Concern.NOT_FED, zone)


def _supplies(graph: Graph) -> Iterator[Finding]:
    for supply in _of_kind(graph, Kind.SUPPLY):
        if not any(is_lockable(graph[id]) for id in _onward([supply], graph.feeds.__getitem__)):
            yield Finding(Concern.NO_LOCK_AFTER, supply)


def _tests(graph: Graph) -> Iterator[Finding]:
    for store in _of_kind(graph, Kind.STORE):
        if graph[store].test is None:
            yield Finding(Concern.NO_TEST, store)
    for id, node in graph.nodes.items():
        if looser_than_usual(node):
            yield Finding(Concern.LOOSE_TEST, id)


def _crossing(graph: Graph) -> Iterator[Finding]:
    for link in graph.links:
        ends = {graph[link.source].machine, graph[link.target].machine}
        if len(ends) == 2 and None not in ends:
            yield Finding(
                Concern.CROSSES, link.source, link.target, machines=tuple(sorted(m for m in ends if m))
            )


def _shared(graph: Graph) -> Iterator[Finding]:
    machines: dict[str, set[str]] = {id: set() for id in _of_kind(graph, Kind.ISOLATOR)}
    for machine, zones in _zones_by_machine(graph).items():
        for id in _beyond(zones, graph.fed_by.__getitem__):
            if id in machines:
                machines[id].add(machine)
    for id, served in machines.items():
        if len(served) > 1:
            yield Finding(Concern.SHARED, id, machines=tuple(sorted(served)))


def _points(graph: Graph) -> Iterator[Finding]:
    zones = _of_kind(graph, Kind.ZONE)
    leading = _beyond(zones, graph.fed_by.__getitem__)
    for id, node in graph.nodes.items():
        if node.is_point and id not in leading:
            yield Finding(Concern.LEADS_NOWHERE, id)
    tagged = [id for id, node in graph.nodes.items() if node.tag_only and is_lockable(node) and id in leading]
    if len(zones) > MOST_PLANS:
        yield from (Finding(Concern.TAG_IN_A_PLAN, id) for id in tagged)
        return
    scopes = [[zone] for zone in zones] + list(_zones_by_machine(graph).values())
    plans = [found for scope in scopes if isinstance(found := plan(graph, scope), Plan)]
    needed = {id for found in plans for id in (*found.lock, *found.release)}
    yield from (Finding(Concern.TAG_IN_A_PLAN, id) for id in tagged if id in needed)
    for id, node in graph.nodes.items():
        if (is_lockable(node) or is_releasable(node)) and id in leading and id not in needed:
            yield Finding(Concern.IN_NO_PLAN, id)


_CHECKS: tuple[Callable[[Graph], Iterable[Finding]], ...] = (
    _zones, _supplies, _tests, _crossing, _shared, _points,
)  # fmt: skip


def _of_kind(graph: Graph, kind: Kind) -> list[str]:
    return [id for id, node in graph.nodes.items() if node.kind is kind]


def _zones_by_machine(graph: Graph) -> dict[str, list[str]]:
    """The zones of each machine that has one; those of no machine are left out."""
    zones: dict[str, list[str]] = {}
    for zone in _of_kind(graph, Kind.ZONE):
        if machine := graph[zone].machine:
            zones.setdefault(machine, []).append(zone)
    return zones


def _beyond(starts: Iterable[str], near: Callable[[str], Iterable[str]]) -> set[str]:
    """Every node that is reached from the starts; a start counts only where something leads back to it."""
    return set(_onward(starts, near))


def _onward(starts: Iterable[str], near: Callable[[str], Iterable[str]]) -> Iterator[str]:
    """The same, nearest first, as far as it is asked for."""
    reached: set[str] = set()
    queue = deque(starts)
    while queue:
        for id in near(queue.popleft()):
            if id not in reached:
                reached.add(id)
                queue.append(id)
                yield id
