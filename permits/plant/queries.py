"""Reads of the plant for pages, prints and the rooms above. What is returned is complete."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from permits.people.models import Site
from permits.plant.models import Machine, Node, PlantState, Procedure, Tag
from permits.plant.rules.codes import parse_short_code
from permits.plant.rules.energy import Kind
from permits.plant.rules.procedures import State


@dataclass(frozen=True, slots=True)
class PlantFacts:
    """A site's plant at a glance; `version` 0 and no time where none was imported."""

    version: int
    digest: str
    changed_at: datetime | None
    machines: int
    nodes: int
    points: int


@dataclass(frozen=True, slots=True)
class Point:
    """An isolator or a store with its machine and its live tag, if it has one."""

    node: Node
    machine: Machine | None
    tag: Tag | None


def plant_facts(site: Site) -> PlantFacts:
    """The plant at a glance. Four queries."""
    state = PlantState.objects.filter(site=site).first()
    nodes = Node.objects.live().filter(site=site)
    return PlantFacts(
        version=state.version if state else 0,
        digest=state.digest if state else "",
        changed_at=state.changed_at if state else None,
        machines=Machine.objects.live().filter(site=site).count(),
        nodes=nodes.count(),
        points=nodes.filter(kind__in=[Kind.ISOLATOR.value, Kind.STORE.value]).count(),
    )


def machines(site: Site) -> list[Machine]:
    """The site's machines, in the plant's order."""
    return list(Machine.objects.live().filter(site=site).order_by("pk"))


def machine_codes(site: Site) -> list[tuple[str, str]]:
    """(code, name) of each machine of the site, in the plant's order."""
    return [(machine.code, machine.name) for machine in machines(site)]


def machine_of(site: Site, code: str) -> Machine:
    """The site's machine with this code. Raises Machine.DoesNotExist."""
    return Machine.objects.live().select_related("site").get(site=site, code=code)


def node_of(site: Site, code: str) -> Node:
    """The site's node with this code. Raises Node.DoesNotExist."""
    return Node.objects.live().select_related("site", "machine").get(site=site, code=code)


def points(site: Site, machine: Machine | None = None) -> list[Point]:
    """The points of a site, or of one of its machines, in the plant's order. Two queries."""
    nodes = (
        Node.objects.live()
        .filter(site=site, kind__in=[Kind.ISOLATOR.value, Kind.STORE.value])
        .select_related("site", "machine")
        .order_by("pk")
    )
    if machine is not None:
        nodes = nodes.filter(machine=machine)
    tags = {tag.node_id: tag for tag in Tag.objects.filter(site=site, withdrawn_at=None)}
    return [Point(node, node.machine, tags.get(node.pk)) for node in nodes]


def tag_by_token(token: str) -> Tag:
    """The tag whose code holds this token, in capitals or not, withdrawn or not. Raises Tag.DoesNotExist."""
    return Tag.objects.select_related("site", "node", "node__machine").get(token=token.upper())


def tag_by_short_code(site: Site, typed: str) -> Tag:
    """The site's tag with the short code that a person typed, withdrawn or not.

    Raises CodeError, with words for the person, for what can be no code, and Tag.DoesNotExist.
    """
    tags = Tag.objects.select_related("site", "node", "node__machine")
    return tags.get(site=site, short_code=parse_short_code(typed))


def tags_of(node: Node) -> list[Tag]:
    """Every tag that the point has or had, newest first."""
    return list(Tag.objects.filter(node=node).order_by("-reissue"))


def procedures(machine: Machine) -> list[Procedure]:
    """Every revision of the machine's procedure, newest first."""
    found = Procedure.objects.filter(machine=machine).select_related("machine", "author", "approver")
    return list(found.order_by("-revision"))


def approved_procedure(machine: Machine) -> Procedure | None:
    """The machine's approved procedure, also where it no longer holds (`.holds`); None: it has none."""
    found = Procedure.objects.filter(machine=machine, state=State.APPROVED.value)
    return found.select_related("machine", "author", "approver").first()
