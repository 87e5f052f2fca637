"""Writing and approving a machine's energy-control procedure, and proving it again when the plant changes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db.models import Max

from permits.ledger.pen import Key, Pen, writing
from permits.people.models import Person, Site
from permits.plant.models import Machine, Procedure
from permits.plant.rules.alternatives import as_plan
from permits.plant.rules.cut import is_lockable, is_releasable
from permits.plant.rules.demands import Demands, shortfall
from permits.plant.rules.energy import Graph
from permits.plant.rules.facts import Fact
from permits.plant.rules.plan import NoPlan, Plan, isolates, plan
from permits.plant.rules.procedures import (
    TEXTS,
    Choice,
    State,
    as_stored,
    flaws,
    in_words,
    kept_dead,
    missing_texts,
)
from permits.plant.rules.refused import PlantRefused
from permits.plant.store import demands_of, graph_of, version_of


@dataclass(frozen=True, slots=True)
class Chosen:
    """Isolators to lock and stores to release, by id, as an officer chose them among the plans, and what the
    officer asked of the plans."""

    lock: tuple[str, ...]
    release: tuple[str, ...]
    choice: Choice = field(default_factory=Choice)


def draft_procedure(
    *,
    machine: Machine,
    zones: Sequence[str],
    texts: Mapping[str, str],
    keep_live: Sequence[str] = (),
    chosen: Chosen | None = None,
    by: Person,
    at: datetime,
    key: Key | None = None,
) -> Procedure:
    """Write the next revision for some zones of a machine, with the plan computed on the plant as it is now.

    `texts`: the parts named in `rules.procedures.TEXTS`; they may still be empty. `keep_live`: nodes that
    have to stay live. `chosen`: the points that the officer chose instead of the computed ones; they are
    proven before anything is kept. Raises PlantRefused where a zone is not this machine's, a node is not in
    the plant, a part has no such name, nothing isolates the zones and leaves those nodes live, or what was
    chosen does not.
    """
    site = machine.site
    with writing(site.head_id, by=by.author, at=at, key=key) as pen:
        graph = graph_of(site)
        keep_live = sorted(set(keep_live))
        if reasons := list(_against_scope(graph, machine, zones, keep_live, texts)):
            raise PlantRefused(reasons)
        if chosen is None:
            found = _computed(graph, zones, keep_live, demands_of(site))
        else:
            found = _proven(graph, zones, keep_live, chosen)
        last = Procedure.objects.filter(machine=machine).aggregate(last=Max("revision"))["last"] or 0
        procedure = Procedure.objects.create(
            machine=machine,
            revision=last + 1,
            state=State.DRAFT.value,
            author=by,
            written_at=pen.at,
            zones=sorted(set(zones)),
            keep_live=keep_live,
            choice=_choice(graph, zones, keep_live, chosen),
            **_plan_columns(found),
            **{field: texts.get(field, "").strip() for field in TEXTS},
        )
        pen.write(Fact.PROCEDURE_DRAFTED, procedure.about, _content(procedure, version_of(site)))
    return procedure


def approve_procedure(*, procedure: Procedure, by: Person, at: datetime, key: Key | None = None) -> None:
    """Approve a draft: it takes the place of the revision approved before.

    Raises PlantRefused, with every reason, where it is no draft, the approver wrote it, a part is not
    written, or its plan no longer isolates its zones or keeps live what has to stay so.
    """
    site = procedure.machine.site
    with writing(site.head_id, by=by.author, at=at, key=key) as pen:
        procedure.refresh_from_db()
        if reasons := list(_against_approval(procedure, graph_of(site), by)):
            raise PlantRefused(reasons)
        for earlier in Procedure.objects.filter(machine=procedure.machine, state=State.APPROVED.value):
            earlier.state = State.SUPERSEDED.value
            earlier.save(update_fields=["state"])
            pen.write(Fact.PROCEDURE_SUPERSEDED, earlier.about, {"by_revision": procedure.revision})
        procedure.state, procedure.approver, procedure.approved_at = State.APPROVED.value, by, pen.at
        procedure.flaws = []
        procedure.save(update_fields=["state", "approver", "approved_at", "flaws"])
        pen.write(Fact.PROCEDURE_APPROVED, procedure.about, {"plant_version": version_of(site)})


def prove_procedures(pen: Pen, site: Site, graph: Graph) -> None:
    """Prove every approved procedure of the site on a new graph, under an open pen; enter what changed."""
    approved = Procedure.objects.filter(machine__site=site, state=State.APPROVED.value)
    for procedure in approved.select_related("machine").order_by("pk"):
        found = [
            as_stored(flaw)
            for flaw in flaws(graph, procedure.zones, procedure.lock, procedure.release, procedure.keep_live)
        ]
        if procedure.machine.removed_at is not None:
            found.append({"id": procedure.machine.code, "path": []})
        if found == procedure.flaws:
            continue
        procedure.flaws = found
        procedure.save(update_fields=["flaws"])
        fact = Fact.PROCEDURE_UNPROVEN if found else Fact.PROCEDURE_PROVEN_AGAIN
        pen.write(fact, procedure.about, {"flaws": found})


def _against_scope(
    graph: Graph,
    machine: Machine,
    zones: Sequence[str],
    keep_live: Sequence[str],
    texts: Mapping[str, str],
) -> list[str]:
    own = {node.id for node in graph.zones_of(machine.code)}
    right = f"of {', '.join(sorted(own))}" if own else "to give the machine a zone first"
    reasons = [
        f"{zone} is no zone of {machine.name}; right would be one {right}."
        for zone in zones
        if zone not in own
    ]
    if not zones:
        reasons.append(f"No zone was named; right would be one {right}.")
    reasons += [
        f"{id} has to stay live but is not in the plant; a node that is would be right."
        for id in keep_live
        if id not in graph.nodes
    ]
    unknown = sorted(set(texts) - set(TEXTS))
    reasons += [
        f"A procedure has no part {name}; right would be one of {', '.join(TEXTS)}." for name in unknown
    ]
    return reasons


def _against_approval(procedure: Procedure, graph: Graph, by: Person) -> list[str]:
    reasons = []
    if procedure.state != State.DRAFT.value:
        reasons.append(f"Revision {procedure.revision} is {procedure.state}; only a draft can be approved.")
    if procedure.author_id == by.pk:
        reasons.append("Nobody approves what they wrote; another safety officer can.")
    written = {field: getattr(procedure, field) for field in TEXTS}
    missing = missing_texts(written, releases=bool(procedure.release))
    reasons += [f"It does not say {words}; a revision that does would be right." for words in missing]
    found = flaws(graph, procedure.zones, procedure.lock, procedure.release, procedure.keep_live)
    reasons += [f"{in_words(flaw, graph)} A new revision would be right." for flaw in found]
    return reasons


def _computed(graph: Graph, zones: Sequence[str], keep_live: Sequence[str], demands: Demands) -> Plan:
    found = plan(graph, zones, keep_live)
    if isinstance(found, NoPlan) and found.conflicts:
        raise PlantRefused(
            f"{graph.name(one.keep)} cannot stay live while {graph.name(one.zone)} is isolated; "
            "letting it go dead, or leaving the zone out, would be right."
            for one in found.conflicts
        )
    if isinstance(found, NoPlan):
        path = " → ".join(graph.name(id) for id in found.path)
        short = [f"{graph.name(one.point)} {one.why}." for one in shortfall(graph, demands, found.path)]
        raise PlantRefused([f"Nothing isolates these zones: no isolator on {path} can be locked.", *short])
    return found


def _proven(graph: Graph, zones: Sequence[str], keep_live: Sequence[str], chosen: Chosen) -> Plan:
    """The officer's choice as a plan. Every point has to be one that can be locked, or released, now."""
    points = {*chosen.lock, *chosen.release}

    def called(id: str) -> str:
        return graph.name(id) if id in graph.nodes else id

    reasons = [
        f"{called(id)} is no isolator that can be locked now; one that can would be right."
        for id in chosen.lock
        if id not in graph.nodes or not is_lockable(graph[id])
    ]
    reasons += [
        f"{called(id)} is no store that can be released now; one that can would be right."
        for id in chosen.release
        if id not in graph.nodes or not is_releasable(graph[id])
    ]
    reasons += [
        f"{called(id)} was asked for and is not among the points chosen; a plan with it would be right."
        for id in chosen.choice.pinned
        if id not in points
    ]
    reasons += [
        f"{called(id)} was ruled out and is among the points chosen; a plan without it would be right."
        for id in chosen.choice.forbidden
        if id in points
    ]
    if reasons:
        raise PlantRefused(reasons)
    exposed = isolates(graph, zones, chosen.lock, chosen.release)
    if exposed:
        raise PlantRefused(
            f"The points chosen do not isolate {graph.name(zone)}: energy reaches it by "
            f"{' → '.join(map(graph.name, path))}. A point on that path as well would be right."
            for zone, path in exposed.items()
        )
    if dead := kept_dead(graph, chosen.lock, keep_live):
        right = "Points that leave it live would be right."
        raise PlantRefused(f"{in_words(flaw, graph)} {right}" for flaw in dead)
    return as_plan(graph, chosen.lock, chosen.release)


def _choice(
    graph: Graph, zones: Sequence[str], keep_live: Sequence[str], chosen: Chosen | None
) -> dict[str, Any] | None:
    """What the officer asked for, for the records; None where the points are the computed ones."""
    if chosen is None:
        return None
    asked = chosen.choice
    if not asked.pinned and not asked.forbidden:
        found = plan(graph, zones, keep_live)
        points = (set(chosen.lock), set(chosen.release))
        if isinstance(found, Plan) and (set(found.lock), set(found.release)) == points:
            return None
    return {"pinned": sorted(set(asked.pinned)), "forbidden": sorted(set(asked.forbidden))}


def _plan_columns(found: Plan) -> dict[str, Any]:
    return {
        "effort": found.effort,
        "lock": list(found.lock),
        "release": list(found.release),
        "order": [{"do": step.do.value, "point": step.point} for step in found.order],
    }


def _content(procedure: Procedure, version: int) -> dict[str, Any]:
    columns = ("revision", "zones", "keep_live", "choice", "effort", "lock", "release", "order", *TEXTS)
    return {"plant_version": version} | {column: getattr(procedure, column) for column in columns}
