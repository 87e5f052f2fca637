"""The plan of a permit as someone reads it before they ask for it, issue it, accept it or sanction a test."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from permits.people.models import Site
from permits.plant import queries as plant
from permits.plant.rules.energy import Node
from permits.work.queries.look import Look, day_and_clock, zone_names
from permits.work.queries.states import PointLine, node_of, point_line
from permits.work.rules import commands as c
from permits.work.rules import state
from permits.work.rules.evolve import fold
from permits.work.rules.issuing import clashes, request
from permits.work.rules.proving import test_of
from permits.work.rules.refusal import Unmet


@dataclass(frozen=True, slots=True)
class PlannedPoint:
    """A point with its energy, how it is held, and how it is proven dead. `besides`: where no lock fits, what
    is done beside the tag."""

    line: PointLine
    energy: str
    how: str
    test: str
    besides: str


@dataclass(frozen=True, slots=True)
class PlanPage:
    """What is to be isolated, by which points, with which hazards, and who else wants the same points.

    `procedures`: (machine, revision) as signed out or, before, as approved now; 0 where there is none.
    """

    zones: str
    keep_live: str
    window: str
    asked_by: str
    points: list[PlannedPoint]
    hazards: list[tuple[str, str]]
    procedures: list[tuple[str, int]]
    clashes: list[Unmet]


def plan_page(site: Site, seen: Look) -> PlanPage:
    """The plan of a permit, in names. One query."""
    now, p = seen.site, seen.permit
    codes = now.machines_of(p.zones)
    machines = {row.code: row for row in plant.machines(site) if row.code in codes}
    signed = dict(p.procedures)
    names = {code: machines[code].name if code in machines else code for code in codes}
    return PlanPage(
        zones=zone_names(now, p.zones),
        keep_live=zone_names(now, p.keep_live),
        window=f"from {day_and_clock(now, p.starts_at)} until {day_and_clock(now, p.ends_at)}",
        asked_by=seen.name(p.requested_by),
        points=list(planned_points(now, p, seen.at)),
        hazards=[(row.name, row.hazards) for row in machines.values() if row.hazards],
        procedures=[(names[code], signed.get(code) or approved(now, code)) for code in codes],
        clashes=list(clashes(now, p)),
    )


def planned_points(site: state.Site, p: state.Permit, at: datetime) -> Iterator[PlannedPoint]:
    for point in p.points:
        node = node_of(site, point)
        test = test_of(node)
        limit = f"{format(test.limit, 'f')} {test.unit}".strip()
        yield PlannedPoint(
            line=point_line(site, p, point, at),
            energy=energy_of(node),
            how=node.release.method if node.release else node.device,
            test=f"{test.quantity}, dead at {limit} or less" if node.is_point else "",
            besides=node.tag_only.measure if node.tag_only else "",
        )


def energy_of(node: Node) -> str:
    """ "electrical, 400 V AC, 63 A"."""
    return ", ".join(part for part in (node.medium.value if node.medium else "", node.magnitude) if part)


def approved(site: state.Site, machine: str) -> int:
    procedure = site.procedures.get(machine)
    return procedure.revision if procedure else 0


def planned(
    now: state.Site, *, zones: tuple[str, ...], keep_live: tuple[str, ...], by: str, at: datetime
) -> Look:
    """The permit that would be asked for, on the site as it would be then; nothing is written.

    Raises Refused where the zones cannot be isolated, or this person may not ask.
    """
    [asked] = request(now, c.RequestPermit(
        by=by, at=at, zones=zones, keep_live=keep_live, kind_of_work="Not said yet", reason="Not said yet",
        starts_at=at, ends_at=at + timedelta(hours=1),
    ))  # fmt: skip
    after = fold(now, [asked])
    return Look(after, after.permits[asked.permit], 0, at)
