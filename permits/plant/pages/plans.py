"""A plan as an officer tries it: its steps, what else it stops, the next ones; or the path against it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from urllib.parse import urlencode

from django.urls import reverse

from permits.plant.models import Machine
from permits.plant.pages.pictures import Pictured, pictured
from permits.plant.pages.words import StepLine, step_lines
from permits.plant.picture import Facts
from permits.plant.picture.standing import ancestors
from permits.plant.rules.alternatives import alternatives, plan_with
from permits.plant.rules.cut import is_lockable, is_releasable
from permits.plant.rules.demands import Demands, shortfall
from permits.plant.rules.energy import Graph, Kind, Node
from permits.plant.rules.plan import Do, NoPlan, Plan
from permits.plant.rules.stopping import Stopped, stopped_by

OTHERS = 5
"""As many plans are shown beside the first."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of a plan: ids of zones, of nodes that stay live, of points in it and not in it."""

    zones: Sequence[str]
    keep: Sequence[str] = ()
    pin: Sequence[str] = ()
    forbid: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class OtherPlan:
    """A plan that isolates as well: its points by name in their order, those that the first plan has and it
    has not, and the other way round; what it stops; the addresses to look at it or to draft a revision."""

    effort: int
    points: list[str]
    instead_of: list[str]
    more: list[str]
    stops: list[str]
    proven_cheapest: bool
    look_at: str
    draft: str


@dataclass(frozen=True, slots=True)
class TriedPlan:
    """The answer. Without a plan `path` names the way by which energy would still come, and `shortfalls`
    which isolators on it do not count and why; `draft`: the address to draft a revision from the plan."""

    found: bool
    effort: int = 0
    steps: list[StepLine] = field(default_factory=list)
    proven_cheapest: bool = True
    stops: list[str] = field(default_factory=list)
    path: tuple[str, ...] = ()
    conflicts: list[tuple[str, str]] = field(default_factory=list)
    shortfalls: list[str] = field(default_factory=list)
    draft: str = ""
    others: list[OtherPlan] = field(default_factory=list)
    picture: Pictured | None = None


def keepable(graph: Graph, machine: str) -> list[Node]:
    """What may have to stay live for work at a machine: its carriers, and those that energy for it passes."""
    zones = [zone.id for zone in graph.zones_of(machine)]
    before = ancestors(graph, zones)
    carriers = [node for node in graph.nodes.values() if node.kind is Kind.CARRIER]
    return [node for node in carriers if node.machine == machine or node.id in before]


def pinnable(graph: Graph, machine: str) -> list[Node]:
    """The points that may be in a plan for a machine's zones: lockable or releasable, and leading there."""
    before = ancestors(graph, [zone.id for zone in graph.zones_of(machine)])
    nodes = [node for node in graph.nodes.values() if is_lockable(node) or is_releasable(node)]
    return [node for node in nodes if node.id in before]


def try_plan(graph: Graph, machine: Machine, asked: Asked, demands: Demands) -> TriedPlan:
    """The plan for some zones of a machine, what it stops beside the machine, and the next-cheapest ones."""
    found = plan_with(graph, asked.zones, asked.keep, pin=asked.pin, forbid=asked.forbid)
    title = f"Energy picture of {machine.name}"
    if isinstance(found, NoPlan):
        return TriedPlan(
            found=False,
            path=tuple(map(graph.name, found.path)),
            conflicts=[(graph.name(one.keep), graph.name(one.zone)) for one in found.conflicts],
            shortfalls=[
                f"{graph.name(one.point)} {one.why}." for one in shortfall(graph, demands, found.path)
            ],
            picture=pictured(graph, asked.zones, Facts(), title=title, path=found.path or None),
        )
    return TriedPlan(
        found=True,
        effort=found.effort,
        steps=step_lines(graph, [(step.do.value, step.point) for step in found.order]),
        proven_cheapest=found.proven_cheapest,
        stops=_lines(graph, stopped_by(graph, found.lock, found.release, besides=[machine.code])),
        draft=_draft_from(machine, asked, found),
        others=_others(graph, machine, asked, found),
        picture=pictured(graph, asked.zones, Facts(), {*found.lock, *found.release}, title=title),
    )


def _others(graph: Graph, machine: Machine, asked: Asked, first: Plan) -> list[OtherPlan]:
    """The cheapest plans but the first, which is one of them."""
    found = alternatives(
        graph,
        asked.zones,
        asked.keep,
        pin=asked.pin,
        forbid=asked.forbid,
        most=OTHERS + 1,
        besides=[machine.code],
    )
    others = [one for one in found if (one.plan.lock, one.plan.release) != (first.lock, first.release)]
    before = _points_in_order(first)

    def names(ids: Iterable[str], but: Iterable[str] = ()) -> list[str]:
        return [graph.name(id) for id in ids if id not in but]

    return [
        OtherPlan(
            effort=one.plan.effort,
            points=names(points := _points_in_order(one.plan)),
            instead_of=names(before, but=points),
            more=names(points, but=before),
            stops=_lines(graph, one.stops),
            proven_cheapest=one.plan.proven_cheapest,
            look_at=_look_at(machine, asked, one.plan),
            draft=_draft_from(machine, asked, one.plan),
        )
        for one in others[:OTHERS]
    ]


def _points_in_order(found: Plan) -> list[str]:
    return [step.point for step in found.order if step.point is not None and step.do is Do.VERIFY]


def _look_at(machine: Machine, asked: Asked, other: Plan) -> str:
    """The same page with every point of the plan pinned: then it is the plan."""
    query = {"asked": 1, "zone": asked.zones, "keep": asked.keep, "pin": (*other.lock, *other.release)}
    return f"{reverse('plant:plan', args=[machine.code])}?{urlencode(query, doseq=True)}"


def _draft_from(machine: Machine, asked: Asked, found: Plan) -> str:
    """Where it is drafted: with its points, and with all that was asked for, which the revision remembers."""
    query = {"zone": asked.zones, "keep": asked.keep, "lock": found.lock, "release": found.release}
    query |= {"pin": asked.pin, "forbid": asked.forbid, "chosen": ["1"]}
    return f"{reverse('plant:write-procedure', args=[machine.code])}?{urlencode(query, doseq=True)}"


def _lines(graph: Graph, stopped: Stopped) -> list[str]:
    """What loses its energy: zones by name with their machine, else machines."""
    zones = [graph[zone] for zone in stopped.zones]
    told = {zone.machine for zone in zones}
    lines = [f"{zone.name}" + (f" ({zone.machine})" if zone.machine else "") for zone in zones]
    return lines + [f"a part of {code}" for code in stopped.machines if code not in told]
