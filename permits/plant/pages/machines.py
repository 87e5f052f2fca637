"""Machines at a glance, and one machine with its picture, points, zones, links elsewhere and procedures."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from permits.people.models import Site
from permits.plant import queries
from permits.plant.models import Machine, Procedure, Tag
from permits.plant.pages.pictures import Pictured, here, pictured
from permits.plant.pages.words import (
    UNFED,
    Badge,
    PointLine,
    badge_of,
    badge_of_procedure,
    energy_of,
    point_line,
)
from permits.plant.picture import Facts
from permits.plant.picture.standing import states_of
from permits.plant.rules.demands import Demands
from permits.plant.rules.energy import Graph, Kind, Node
from permits.plant.rules.exposure import witness
from permits.plant.rules.procedures import State
from permits.plant.standing import standing_of
from permits.plant.store import demands_of, graph_of


@dataclass(frozen=True, slots=True)
class MachineLine:
    """One machine in the list. `revision`: the approved one; `draft`: the newest that waits; 0: none."""

    code: str
    name: str
    designation: str
    place: str
    hazards: str
    points: int
    procedure: Badge
    revision: int
    draft: int
    service: tuple[str, ...] = ()  # why it is not in service


def machine_lines(site: Site, *, at: datetime) -> list[MachineLine]:
    """Every machine of the site, in the plant's order, as it stands at a time. Queries do not grow."""
    service = standing_of(site, at).service
    points = Counter(node.machine for node in graph_of(site).nodes.values() if node.is_point)
    approved: dict[int, Procedure] = {}
    drafts: dict[int, int] = {}
    revisions = Procedure.objects.filter(machine__site=site, state__in=[State.APPROVED, State.DRAFT])
    for revision in revisions.order_by("revision"):
        if revision.state == State.APPROVED.value:
            approved[revision.machine_id] = revision
            drafts.pop(revision.machine_id, None)
        else:
            drafts[revision.machine_id] = revision.revision
    return [
        MachineLine(
            code=machine.code,
            name=machine.name,
            designation=machine.designation,
            place=machine.place,
            hazards=machine.hazards,
            points=points[machine.code],
            procedure=badge_of_procedure(approved.get(machine.pk)),
            revision=approved[machine.pk].revision if machine.pk in approved else 0,
            draft=drafts.get(machine.pk, 0),
            service=service.get(machine.code, ()),
        )
        for machine in queries.machines(site)
    ]


@dataclass(frozen=True, slots=True)
class ZoneLine:
    """A zone of the machine and how it stands now."""

    code: str
    name: str
    note: str
    badge: Badge


@dataclass(frozen=True, slots=True)
class NodeLine:
    """Any node in a list."""

    code: str
    kind: str
    name: str
    note: str


@dataclass(frozen=True, slots=True)
class Crossing:
    """A link between this machine and what is not of it. `where`: the other machine, or "shared"."""

    code: str
    name: str
    where: str
    own_code: str
    own_name: str
    both: bool


@dataclass(frozen=True, slots=True)
class MachinePage:
    """Everything that a machine's page shows."""

    machine: Machine
    facts: list[tuple[str, object]]
    procedure: Badge
    approved: Procedure | None
    draft: Procedure | None
    revisions: int
    picture: Pictured | None
    points: list[PointLine]
    zones: list[ZoneLine]
    others: list[NodeLine]
    fed_from: list[Crossing]
    feeds: list[Crossing]
    at: datetime
    service: tuple[str, ...] = ()  # why it is not in service


def machine_page(site: Site, machine: Machine, *, at: datetime) -> MachinePage:
    """One machine as it stands at a time. A fixed number of queries, whatever its size."""
    graph = graph_of(site)
    standing = standing_of(site, at)
    facts = here(graph, standing)
    procedures = queries.procedures(machine)
    approved = next((one for one in procedures if one.state == State.APPROVED.value), None)
    draft = procedures[0] if procedures and procedures[0].state == State.DRAFT.value else None
    own = [node for node in graph.nodes.values() if node.machine == machine.code]
    zones = [node.id for node in own if node.kind is Kind.ZONE]
    names = dict(queries.machine_codes(site))
    planned = {*approved.lock, *approved.release} if approved else set()
    return MachinePage(
        machine=machine,
        facts=[
            ("Code", machine.code),
            ("Designation", machine.designation),
            ("Place", machine.place),
            ("Points", sum(node.is_point for node in own)),
            ("Zones", len(zones)),
        ],
        procedure=badge_of_procedure(approved),
        approved=approved,
        draft=draft,
        revisions=len(procedures),
        picture=pictured(graph, zones, facts, planned, title=f"Energy picture of {machine.name}"),
        points=_point_lines(graph, own, facts, _tags(site, machine), demands_of(site)),
        zones=_zone_lines(graph, zones, facts),
        others=[_node_line(n) for n in own if not n.is_point and n.kind is not Kind.ZONE],
        fed_from=list(_crossings(graph, own, names, inward=True)),
        feeds=list(_crossings(graph, own, names, inward=False)),
        at=at,
        service=standing.service.get(machine.code, ()),
    )


@dataclass(frozen=True, slots=True)
class SharedPage:
    """What belongs to no machine: supplies, boards, mains and their points."""

    points: list[PointLine]
    others: list[NodeLine]


def shared_page(site: Site, *, at: datetime) -> SharedPage:
    """The nodes that belong to no machine, as they stand at a time."""
    graph = graph_of(site)
    facts = here(graph, standing_of(site, at))
    own = [node for node in graph.nodes.values() if node.machine is None]
    return SharedPage(
        points=_point_lines(graph, own, facts, _tags(site, None), demands_of(site)),
        others=[_node_line(node) for node in own if not node.is_point],
    )


def shared_nodes(site: Site) -> int:
    """How many nodes belong to no machine."""
    return sum(node.machine is None for node in graph_of(site).nodes.values())


def _tags(site: Site, machine: Machine | None) -> dict[str, str]:
    """Short codes of the live tags of a machine's points, by the point's code. One query."""
    live = Tag.objects.filter(site=site, withdrawn_at=None, node__machine=machine)
    return dict(live.values_list("node__code", "short_code"))


def _point_lines(
    graph: Graph, own: list[Node], facts: Facts, tags: dict[str, str], demands: Demands
) -> list[PointLine]:
    points = [node for node in own if node.is_point]
    standing = states_of(graph, [node.id for node in points], facts)
    points.sort(key=lambda node: (node.kind is Kind.STORE, node.sequence))
    return [point_line(node, standing[node.id], facts, tags.get(node.id, ""), demands) for node in points]


def _zone_lines(graph: Graph, zones: list[str], facts: Facts) -> list[ZoneLine]:
    standing = states_of(graph, zones, facts)
    return [
        ZoneLine(
            code=zone,
            name=graph.name(zone),
            note=_zone_note(graph[zone]),
            badge=UNFED if witness(graph, zone) is None else badge_of(graph[zone], standing[zone], facts),
        )
        for zone in zones
    ]


def _zone_note(zone: Node) -> str:
    what = "danger area, outfeed" if zone.outfeed else "danger area" if zone.danger_area else ""
    return ", ".join(filter(None, (zone.place, what)))


def _node_line(node: Node) -> NodeLine:
    note = ", ".join(filter(None, (node.kind.value, node.device, energy_of(node))))
    return NodeLine(node.id, node.kind.value, node.name, note)


def _crossings(graph: Graph, own: list[Node], names: dict[str, str], *, inward: bool) -> Iterable[Crossing]:
    near = graph.fed_by if inward else graph.feeds
    back = graph.feeds if inward else graph.fed_by
    for node in own:
        for id in near[node.id]:
            other = graph[id]
            if other.machine == node.machine:
                continue
            where = names.get(other.machine, other.machine) if other.machine else "shared"
            yield Crossing(id, other.name, where, node.id, node.name, both=id in back[node.id])
