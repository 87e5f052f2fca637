"""A plan as an officer tries it: its steps, what else it stops, its picture; or the path against it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from permits.plant.models import Machine
from permits.plant.pages.pictures import Pictured, pictured
from permits.plant.pages.words import StepLine, step_lines
from permits.plant.picture import Facts
from permits.plant.picture.standing import ancestors
from permits.plant.rules.energy import Graph, Kind, Node
from permits.plant.rules.plan import NoPlan, plan
from permits.plant.rules.stopping import stopped_by


@dataclass(frozen=True, slots=True)
class TriedPlan:
    """The answer. Without a plan `path` names the way by which energy would still come."""

    found: bool
    effort: int
    steps: list[StepLine]
    proven_cheapest: bool
    stops: list[str]
    path: tuple[str, ...]
    conflicts: list[tuple[str, str]]
    picture: Pictured | None


def keepable(graph: Graph, machine: str) -> list[Node]:
    """What may have to stay live for work at a machine: its carriers, and those that energy for it passes."""
    zones = [zone.id for zone in graph.zones_of(machine)]
    before = ancestors(graph, zones)
    carriers = [node for node in graph.nodes.values() if node.kind is Kind.CARRIER]
    return [node for node in carriers if node.machine == machine or node.id in before]


def try_plan(graph: Graph, machine: Machine, zones: Sequence[str], keep: Sequence[str]) -> TriedPlan:
    """The plan for some zones of a machine, in which some nodes stay live."""
    found = plan(graph, zones, keep)
    title = f"Energy picture of {machine.name}"
    if isinstance(found, NoPlan):
        return TriedPlan(
            found=False,
            effort=0,
            steps=[],
            proven_cheapest=True,
            stops=[],
            path=tuple(map(graph.name, found.path)),
            conflicts=[(graph.name(one.keep), graph.name(one.zone)) for one in found.conflicts],
            picture=pictured(graph, zones, Facts(), title=title, path=found.path or None),
        )
    return TriedPlan(
        found=True,
        effort=found.effort,
        steps=step_lines(graph, [(step.do.value, step.point) for step in found.order]),
        proven_cheapest=found.proven_cheapest,
        stops=_stops(graph, machine, found.lock, found.release),
        path=(),
        conflicts=[],
        picture=pictured(graph, zones, Facts(), {*found.lock, *found.release}, title=title),
    )


def _stops(graph: Graph, machine: Machine, lock: Sequence[str], release: Sequence[str]) -> list[str]:
    """What the plan stops beside this machine: zones by name with their machine, else machines."""
    stopped = stopped_by(graph, lock, release, besides=[machine.code])
    zones = [graph[zone] for zone in stopped.zones]
    told = {zone.machine for zone in zones}
    lines = [f"{zone.name}" + (f" ({zone.machine})" if zone.machine else "") for zone in zones]
    return lines + [f"a part of {code}" for code in stopped.machines if code not in told]
