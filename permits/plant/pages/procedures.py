"""A machine's procedure: one revision as it reads and whether it holds, and two revisions side by side."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from permits.people.models import Membership, Person, Site
from permits.people.rules.roles import Role
from permits.plant.models import Machine, Procedure
from permits.plant.pages.pictures import Pictured, pictured
from permits.plant.pages.plans import keepable
from permits.plant.pages.words import Badge, StepLine, badge_of_procedure, step_lines, tag_in_words
from permits.plant.picture import Facts
from permits.plant.rules.energy import Graph, Node
from permits.plant.rules.order import Do, in_order
from permits.plant.rules.procedures import (
    TEXTS,
    Choice,
    Flaw,
    State,
    flaws,
    in_words,
    missing_texts,
    stored_flaw,
)
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
    """What speaks against a revision: a sentence, the path by name where there is one, and what it shows."""

    text: str
    path: tuple[str, ...]
    shows: str = "How energy reaches the zone"


@dataclass(frozen=True, slots=True)
class ProcedurePage:
    """One revision. `missing`: what has to be written before it can be approved; `approvers`: who could."""

    procedure: Procedure
    badge: Badge
    facts: list[tuple[str, object]]
    zones: list[str]
    stays_live: list[str]
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
    zones = [called(graph, id) for id in procedure.zones]
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
    stays_live = [called(graph, id) for id in procedure.keep_live]
    if stays_live:
        facts.append(("Stays live", ", ".join(stays_live)))
    if procedure.choice is not None:
        facts.append(("Points chosen", " ".join(asked_lines(graph, choice_of(procedure)))))
    title = f"Energy picture of {procedure}"
    return ProcedurePage(
        procedure=procedure,
        badge=badge_of_procedure(procedure),
        facts=facts,
        zones=zones,
        stays_live=stays_live,
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
        _chosen(graph, step.do, step.point)
        for step in order
        if step.point is not None and step.do is not Do.VERIFY
    ] + gone


def _chosen(graph: Graph, do: Do, point: str) -> str:
    if besides := tag_in_words(graph[point]) if do is Do.LOCK else "":
        return f"tag {graph.name(point)}. {besides}"
    return f"{do.value} {graph.name(point)}"


def keepable_nodes(graph: Graph, machine: str, kept: Iterable[str]) -> list[Node]:
    """What may have to stay live for a machine's work, and what has to already, as far as it is there."""
    found = keepable(graph, machine)
    there = {node.id for node in found}
    return found + [graph[id] for id in dict.fromkeys(kept) if id in graph.nodes and id not in there]


def asked_lines(graph: Graph, choice: Choice) -> list[str]:
    """That an officer chose the points, and what they asked of the plans, in sentences."""
    lines = ["By a safety officer, not computed."]
    for words, ids in (("Had to be in it", choice.pinned), ("Ruled out", choice.forbidden)):
        if ids:
            lines.append(f"{words}: {', '.join(called(graph, id) for id in ids)}.")
    return lines


def choice_of(procedure: Procedure) -> Choice:
    """What the officer asked of the plans; empty where the plan is the computed one."""
    stored = procedure.choice or {}
    return Choice(tuple(stored.get("pinned", ())), tuple(stored.get("forbidden", ())))


def called(graph: Graph, id: str) -> str:
    """The node by name; by its id, said to be gone, where the plant has it no more."""
    return graph.name(id) if id in graph.nodes else f"{id}, no longer in the plant"


def texts_of(procedure: Procedure) -> dict[str, str]:
    """The six parts by field."""
    return {field: getattr(procedure, field) for field in TEXTS}


def _flaw_lines(graph: Graph, procedure: Procedure) -> list[FlawLine]:
    """Now, for a draft or the approved one; for one that was superseded it is not asked any more."""
    if procedure.state == State.SUPERSEDED.value:
        return []
    if procedure.state == State.APPROVED.value:
        found = [stored_flaw(flaw) for flaw in procedure.flaws]
    else:
        plan = (procedure.lock, procedure.release, procedure.keep_live)
        found = list(flaws(graph, procedure.zones, *plan))
    return [_flaw_line(graph, flaw) for flaw in found]


def _flaw_line(graph: Graph, flaw: Flaw) -> FlawLine:
    if not all(id in graph.nodes for id in flaw.path):
        flaw = replace(flaw, path=())
    path = tuple(map(graph.name, flaw.path))
    if flaw.kept_dead and path:
        words = f"{graph.name(flaw.id)} has to stay live, and the points locked cut it off from every supply."
        return FlawLine(words, path, "A way to it that they cut")
    return FlawLine(f"Energy reaches {graph.name(flaw.id)}." if path else in_words(flaw, graph), path)


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
    """A zone or point that either revision has, or that either was asked for. `what`: as what it has it."""

    name: str
    what: str
    old: bool
    new: bool

    @property
    def same(self) -> bool:
        return self.old == self.new

    @property
    def change(self) -> str:
        """What happened to it, where it is not the same."""
        came, went = _CHANGES.get(self.what, ("added", "removed"))
        return came if self.new else went


_CHANGES = {
    "Stays live": ("stays live now", "need not stay live now"),
    "Had to be in it": ("asked for now", "no longer asked for"),
    "Ruled out": ("ruled out now", "no longer ruled out"),
}


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
        ("Stays live", old.keep_live, new.keep_live),
        ("Had to be in it", choice_of(old).pinned, choice_of(new).pinned),
        ("Ruled out", choice_of(old).forbidden, choice_of(new).forbidden),
    ):
        for id in dict.fromkeys([*before, *after]):
            name = graph.name(id) if id in graph.nodes else id
            pairs.append(PointPair(name, what, id in before, id in after))
    return pairs
