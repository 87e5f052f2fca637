"""The tags of a site or a machine: which points have one, and what is printed on it."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from permits.people.models import Site
from permits.plant import queries
from permits.plant.models import Machine
from permits.plant.pages.words import energy_of
from permits.plant.rules.codes import shown, tag_url
from permits.plant.store import node_of
from permits.plant.tags import TagFace

SHARED = "-"  # stands for the points that belong to no machine


@dataclass(frozen=True, slots=True)
class TagLine:
    """A point and its tag; `code` is empty where it has none yet."""

    point: str
    name: str
    designation: str
    machine: str
    place: str
    code: str
    reissue: int
    issued: str


def points_of(site: Site, machine: str) -> list[queries.Point]:
    """The points of one machine by its code, of none ("-"), or of the whole site ("").

    Raises Machine.DoesNotExist for an unknown machine.
    """
    if machine in ("", SHARED):
        found = queries.points(site)
        return [point for point in found if not machine or point.machine is None]
    return queries.points(site, queries.machine_of(site, machine))


def tag_lines(site: Site, points: Iterable[queries.Point]) -> list[TagLine]:
    """Points with their tags, those without one first."""
    lines = [
        TagLine(
            point=point.node.code,
            name=point.node.name,
            designation=point.node.designation,
            machine=_machine(point.machine),
            place=point.node.place,
            code=shown(point.tag.short_code) if point.tag else "",
            reissue=point.tag.reissue if point.tag else 0,
            issued=f"{point.tag.issued_at.astimezone(site.zone):%d %b %Y}" if point.tag else "",
        )
        for point in points
    ]
    return sorted(lines, key=lambda line: bool(line.code))


def faces(
    site: Site, points: Iterable[queries.Point], *, public_url: str, only: Collection[str] = ()
) -> list[TagFace]:
    """What is printed on each point's tag; points without a tag are left out, as are all but `only`.

    Raises CodeError where the site's public address cannot stand in a code.
    """
    return [
        TagFace(
            url=tag_url(public_url, point.tag.token),
            short_code=point.tag.short_code,
            designation=point.node.designation,
            machine=_machine(point.machine),
            point_name=point.node.name,
            energy=energy_of(node_of(point.node)),
            site=site.name,
            reissue=point.tag.reissue,
        )
        for point in points
        if point.tag is not None and (not only or point.node.code in only)
    ]


def _machine(machine: Machine | None) -> str:
    return machine.name if machine else "shared"
