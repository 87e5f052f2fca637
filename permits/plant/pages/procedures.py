"""A machine's procedure: one revision as it reads and whether it holds, and two revisions side by side."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from permits.people.models import Membership, Person, Site
from permits.people.rules.roles import Role
from permits.plant.models import Machine, Procedure
from permits.plant.pages.pictures import Pictured, pictured
from permits.plant.pages.words import Badge, StepLine, badge_of_procedure, step_lines
from permits.plant.picture import Facts
from permits.plant.rules.energy import Graph
from permits.plant.rules.order import Do, in_order
from permits.plant.rules.procedures import TEXTS, Flaw, State, flaws, in_words, missing_texts
from permits.plant.rules.wording import Wording, side_by_side
from permits.plant.store import graph_of

TITLES = {
    "shutdown": "Shutdown",
    "isolation": "Isolation",
    "release_text": "Release of stored energy",
    "verification": "Verification",
    "restoration": "Restoration",
    "local_rules": "Local rules",
}


@dataclass(frozen=True, slots=True)
class FlawLine:
    """What speaks against a revision: a sentence, and the path by name where there is one."""

    text: str
    path: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ProcedurePage:
    """One revision. `missing`: what has to be written before it can be approved; `approvers`: who could."""

    procedure: Procedure
    badge: Badge
    facts: list[tuple[str, object]]
    zones: list[str]
    steps: list[StepLine]
    texts: list[tuple[str, str]]
    flaws: list[FlawLine]
    missing: tuple[str, ...]
    approvers: list[str]
    picture: Pictured | None
    earlier: int

    @property
    def is_draft(self) -> bool:
        return self.procedure.state == State.DRAFT.value

    @property
    def can_be_approved(self) -> bool:
        """A draft with every part written whose plan isolates: all that is missing is another officer."""
        return self.is_draft and not self.missing and not self.flaws


def procedure_page(site: Site, procedure: Procedure) -> ProcedurePage:
    """A revision, proven against the plant as it is now."""
    graph = graph_of(site)
    points = {*procedure.lock, *procedure.release}
    gone = {id: f"{id}, no longer in the plant" for id in procedure.zones if id not in graph.nodes}
    zones = [gone.get(id) or graph.name(id) for id in procedure.zones]
    order = [(step["do"], step["point"]) for step in procedure.order]
    facts: list[tuple[str, object]] = [
        ("Zones", ", ".join(zones)),
        ("Written by", procedure.author.name),
        ("Written", f"{procedure.written_at.astimezone(site.zone):%d %b %Y, %H:%M}"),
    ]
    if procedure.approver is not None and procedure.approved_at is not None:
        facts += [
            ("Approved by", procedure.approver.name),
            ("Approved", f"{procedure.approved_at.astimezone(site.zone):%d %b %Y, %H:%M}"),
        ]
    facts += [("Points", len(points)), ("Effort", procedure.effort)]
    title = f"Energy picture of {procedure}"
    return ProcedurePage(
        procedure=procedure,
        badge=badge_of_procedure(procedure),
        facts=facts,
        zones=zones,
        steps=step_lines(graph, order),
        texts=[(words, getattr(procedure, field)) for field, words in TITLES.items()],
        flaws=_flaw_lines(graph, procedure),
        missing=missing_texts(texts_of(procedure), releases=bool(procedure.release)),
        approvers=_officers_but(site, procedure.author),
        picture=pictured(graph, procedure.zones, Facts(), points, title=title),
        earlier=procedure.revision - 1,
    )


def chosen_lines(graph: Graph, lock: Iterable[str], release: Iterable[str]) -> list[str]:
    """The points that someone chose, in words, in the order in which they would be done."""
    known = [id for id in (*lock, *release) if id in graph.nodes]
    gone = [f"{id}, which is not in the plant" for id in (*lock, *release) if id not in graph.nodes]
    stores = {id for id in release if id in graph.nodes}
    order = in_order(graph, set(known) - stores, stores)
    return [
        f"{step.do.value} {graph.name(step.point)}"
        for step in order
        if step.point is not None and step.do is not Do.VERIFY
    ] + gone


def texts_of(procedure: Procedure) -> dict[str, str]:
    """The six parts by field."""
    return {field: getattr(procedure, field) for field in TEXTS}


def _flaw_lines(graph: Graph, procedure: Procedure) -> list[FlawLine]:
    """Now, for a draft or the approved one; for one that was superseded it is not asked any more."""
    if procedure.state == State.SUPERSEDED.value:
        return []
    if procedure.state == State.APPROVED.value:
        found = [Flaw(flaw["id"], tuple(flaw["path"])) for flaw in procedure.flaws]
    else:
        found = list(flaws(graph, procedure.zones, procedure.lock, procedure.release))
    there = [flaw if all(id in graph.nodes for id in flaw.path) else Flaw(flaw.id) for flaw in found]
    return [
        FlawLine(
            f"Energy reaches {graph.name(flaw.id)}." if flaw.path else in_words(flaw, graph),
            tuple(map(graph.name, flaw.path)),
        )
        for flaw in there
    ]


def _officers_but(site: Site, author: Person) -> list[str]:
    officers = (
        Membership.objects.live()
        .filter(site=site, role=Role.OFFICER.value, person__is_active=True)
        .exclude(person=author)
    )
    return sorted(officers.values_list("person__name", flat=True))


def broken_procedures(site: Site) -> dict[int, str]:
    """The approved procedures that no longer hold, in words, by their row. One query."""
    approved = Procedure.objects.filter(machine__site=site, state=State.APPROVED.value).exclude(flaws=[])
    return {one.pk: str(one) for one in approved.select_related("machine")}


@dataclass(frozen=True, slots=True)
class TextPair:
    """One part in both revisions."""

    title: str
    old: Wording
    new: Wording
    same: bool


@dataclass(frozen=True, slots=True)
class PointPair:
    """A zone or point that either revision has."""

    name: str
    what: str
    old: bool
    new: bool

    @property
    def same(self) -> bool:
        return self.old == self.new


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two revisions of one machine's procedure."""

    old: Procedure
    new: Procedure
    texts: list[TextPair]
    points: list[PointPair]

    @property
    def same_points(self) -> bool:
        return all(point.same for point in self.points)


def compare(machine: Machine, old: Procedure, new: Procedure) -> Comparison:
    """Part by part, and point by point; what both have and what only one has."""
    graph = graph_of(machine.site)
    pairs = []
    for field, title in TITLES.items():
        before, after = getattr(old, field), getattr(new, field)
        pairs.append(TextPair(title, *side_by_side(before, after), same=before == after))
    return Comparison(old, new, pairs, _point_pairs(graph, old, new))


def _point_pairs(graph: Graph, old: Procedure, new: Procedure) -> list[PointPair]:
    pairs = []
    for what, before, after in (
        ("Zone", old.zones, new.zones),
        ("Lock", old.lock, new.lock),
        ("Release", old.release, new.release),
    ):
        for id in dict.fromkeys([*before, *after]):
            name = graph.name(id) if id in graph.nodes else id
            pairs.append(PointPair(name, what, id in before, id in after))
    return pairs
