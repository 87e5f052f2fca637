"""Reads for the board, a permit's page and a point's page; complete when they leave here, and never locking."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime

from permits.people.models import Site
from permits.plant.rules.energy import Kind, Node
from permits.work import models as rows
from permits.work import store
from permits.work.rules import state
from permits.work.rules.against import goes_stale, is_fresh, name_of
from permits.work.rules.clearing import areas_to_confirm
from permits.work.rules.due import due
from permits.work.rules.evolve import fold
from permits.work.rules.issuing import clashes
from permits.work.rules.next_step import Choice, Step, choices, next_step
from permits.work.rules.proving import machines_to_verify
from permits.work.rules.refusal import Unmet
from permits.work.rules.restoring import held_by_others, still_open
from permits.work.rules.words import CHECK_ITEMS, Phase, Sanction

# A phase as a state of the look (components/state_badge.html) and as people read it.
PHASES: dict[Phase, tuple[str, str]] = {
    Phase.REQUESTED: ("info", "Requested"),
    Phase.ISSUED: ("info", "Issued, not accepted"),
    Phase.ISOLATING: ("unproven", "Not proven dead"),
    Phase.ISOLATED: ("dead", "Proven dead"),
    Phase.TESTING: ("live", "Under test: power may be on"),
    Phase.RESTORING: ("unproven", "Going back to service"),
    Phase.CLOSED: ("over", "Closed"),
    Phase.CANCELLED: ("over", "Cancelled"),
}
LINE = (
    Phase.REQUESTED,
    Phase.ISSUED,
    Phase.ISOLATING,
    Phase.ISOLATED,
    Phase.TESTING,
    Phase.RESTORING,
    Phase.CLOSED,
)


@dataclass(frozen=True, slots=True)
class Look:
    """One permit as it is at `at`, with its site. `seen`: the last entry about it, for forms to send back."""

    site: state.Site
    permit: state.Permit
    seen: int
    at: datetime

    def name(self, ref: str) -> str:
        return self.site.name(ref) if ref else ""


def settled(site: Site, at: datetime) -> state.Site:
    """The site as it is at a time: what fell due and is not yet written is folded in, in memory."""
    now = store.load(site)
    return fold(now, due(now, at))


def look(site: Site, reference: str, at: datetime) -> Look | None:
    """A permit of the site, open or over; None where there is none with this reference."""
    row = rows.Permit.objects.filter(site=site, reference=reference).first()
    if row is None:
        return None
    now = settled(site, at)
    permit = now.permits.get(reference) or store.permits_from([row])[0]
    return Look(now, permit, row.last_entry, at)


# ── words and shapes ────────────────────────────────────────────────────────────────────────────────────


def badge(p: state.Permit) -> tuple[str, str]:
    """A permit's state for the eye and its word; people inside something unproven come first."""
    if p.signed_on and p.phase is not Phase.ISOLATED:
        return "unsafe", "Come out: not proven dead"
    if p.signed_on and p.expired_at is not None:
        return "unsafe", "Expired with people inside"
    if p.phase is Phase.TESTING and p.sanction is not None and p.sanction.ready_at is None:
        return "unproven", "Before a test: keep out"
    return PHASES[p.phase]


def steps_of(p: state.Permit) -> list[tuple[str, str]]:
    """The phases along the line, as components/steps.html takes them."""
    if p.phase is Phase.CANCELLED:
        return [("requested", "done"), ("cancelled", "now")]
    now = LINE.index(p.phase)
    return [
        (phase.value, "done" if i < now else "now" if i == now else "to_come") for i, phase in enumerate(LINE)
    ]


@dataclass(frozen=True, slots=True)
class PointLine:
    """A point of a plan as components/plan.html draws it. `does`: what is done there."""

    id: str
    name: str
    designation: str
    place: str
    does: str
    state: str
    word: str
    lock: str
    detail: str
    until: datetime | None


def point_line(site: state.Site, p: state.Permit, point: str, now: datetime) -> PointLine:
    node = site.graph.nodes.get(point) or Node(point, Kind.CARRIER, f"{point} (no longer in the plant)")
    locks = [lock for lock in p.hanging if lock.where == point]
    released = p.release_of(point)
    safe = bool(locks) or released is not None
    latest = p.verification(point)
    waiting = released.counts_from if released and released.counts_from > now else None
    if safe and p.is_verified(point, now):
        look_of, word = "dead", "proven dead"
    elif latest is not None and latest.void_at is None and not latest.passed:
        look_of, word = "unsafe", "test failed"
    elif waiting:
        look_of, word = "unproven", "running down"
    elif safe:
        look_of, word = "locked", "not proven" if locks else "released, not proven"
    else:
        look_of, word = "live", "not locked" if node.kind is Kind.ISOLATOR else "not released"
    if p.phase.is_over:
        look_of, word = "over", ""
    held = ", ".join(f"{site.name(lock.owner)} {lock.applied_at:%H:%M}" for lock in locks)
    return PointLine(
        id=point,
        name=node.name,
        designation=node.designation,
        place=node.place,
        does="Lock" if node.kind is Kind.ISOLATOR else "Release",
        state=look_of,
        word=word,
        lock=" ".join(lock.padlock for lock in locks),
        detail=held,
        until=waiting,
    )


@dataclass(frozen=True, slots=True)
class AreaLine:
    """A danger area: who said that it is clear, and until when that is believed."""

    name: str
    state: str
    word: str
    by: str
    until: datetime | None


def area_lines(site: state.Site, p: state.Permit, now: datetime) -> Iterator[AreaLine]:
    if p.phase not in (Phase.ISOLATED, Phase.TESTING, Phase.RESTORING) or p.reenergised_at is not None:
        return
    for area in areas_to_confirm(site, p):
        found = p.confirmation(area)
        name = site.graph.name(area)
        if found is None:
            yield AreaLine(name, "unproven", "not confirmed", "", None)
        elif is_fresh(site, p, area, now):
            word = "watched" if found.watching else "clear"
            yield AreaLine(name, "dead", word, site.name(found.by), goes_stale(site, found))
        else:
            yield AreaLine(name, "stale", "too old", site.name(found.by), None)


# ── one permit ──────────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class PermitPage:
    """Everything that a permit's page shows, in names."""

    id: str
    state: str
    word: str
    say: str
    work: str
    zones: str
    machines: str
    steps: list[tuple[str, str]]
    next: Step
    choices: tuple[Choice, ...]
    points: list[PointLine]
    facts: list[tuple[str, str]]
    crew: list[tuple[str, str, datetime]]
    defects: list[str]
    areas: list[AreaLine]
    clashes: list[Unmet]
    still_open: list[str]
    stopped_path: tuple[str, ...]
    people_inside: list[str]
    sanction_until: datetime | None
    sanction_text: str
    ends_at: datetime
    is_over: bool
    at: datetime


def permit_page(seen: Look, person: str) -> PermitPage:
    site, p, at = seen.site, seen.permit, seen.at
    shape, word = badge(p)
    inside = [seen.name(on.person) for on in p.signed_on]
    sanction = p.sanction
    return PermitPage(
        id=p.id,
        state=shape,
        word=word,
        say=p.stopped_because or (f"Inside: {', '.join(inside)}" if inside else ""),
        work=f"{p.kind_of_work}: {p.reason}",
        zones=", ".join(site.graph.name(z) if z in site.graph.nodes else z for z in p.zones),
        machines=", ".join(site.machines_of(p.zones)),
        steps=steps_of(p),
        next=next_step(site, p, person, at)
        if person in site.people
        else Step("", "Nothing for you to do here"),
        choices=choices(site, p, person, at) if person in site.people and not p.phase.is_over else (),
        points=[point_line(site, p, point, at) for point in p.points],
        facts=facts_of(seen),
        crew=[(seen.name(on.person), on.padlock, on.on_at) for on in p.signed_on],
        defects=[f"{dict(CHECK_ITEMS).get(d.item, d.item)}: {d.what}" for _, d in p.open_defects],
        areas=list(area_lines(site, p, at)),
        clashes=[] if p.phase.is_over else list(clashes(site, p)),
        still_open=[unmet.what for unmet in still_open(site, p)],
        stopped_path=p.stopped_path,
        people_inside=inside if shape == "unsafe" else [],
        sanction_until=sanction.until if sanction else None,
        sanction_text=sanction_text(site, sanction) if sanction else "",
        ends_at=p.ends_at,
        is_over=p.phase.is_over,
        at=at,
    )


def sanction_text(site: state.Site, sanction: Sanction) -> str:
    points = ", ".join(name_of(site, point) for point in sanction.points)
    return f"Cycle {sanction.cycle} of {sanction.cycles}. {sanction.limits}. Points: {points}."


def facts_of(seen: Look) -> list[tuple[str, str]]:
    p = seen.permit
    revisions = ", ".join(f"{machine} revision {revision}" for machine, revision in p.procedures)
    facts = [
        ("Asked for by", seen.name(p.requested_by)),
        ("Issuer", seen.name(p.issuer)),
        ("Holder", seen.name(p.holder)),
        ("Crew", ", ".join(seen.name(person) for person in p.crew_named)),
        ("Procedure", revisions),
    ]
    if p.coordinator:
        facts.append(("Coordinator", seen.name(p.coordinator)))
    if p.own_issue:
        facts.append(("Exception", "issuer and holder are one person"))
    if p.reenergised_at and not p.in_service:
        others = ", ".join(held_by_others(seen.site, p))
        facts.append(
            ("Machine", f"not in service: held by {others}" if others else "was not in service at close")
        )
    if not p.proven_cheapest:
        facts.append(("Plan", "not proven cheapest"))
    return facts


# ── the board ───────────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class BoardRow:
    """One open permit: most urgent first."""

    id: str
    state: str
    word: str
    work: str
    zones: str
    holder: str
    inside: list[str]
    next: str
    ends_at: datetime
    areas: list[AreaLine]
    stopped_because: str


URGENCY = ("unsafe", "live", "unproven", "dead", "info", "over")


def board(site: Site, *, at: datetime) -> list[BoardRow]:
    """Open permits, most urgent first; the number of queries does not grow with the number of permits."""
    now = settled(site, at)
    lines = [board_row(now, p, at) for p in now.permits.values()]
    return sorted(lines, key=lambda row: (URGENCY.index(row.state), row.ends_at))


def board_row(now: state.Site, p: state.Permit, at: datetime) -> BoardRow:
    shape, word = badge(p)
    step = (
        next_step(now, p, p.holder or p.requested_by, at)
        if (p.holder or p.requested_by) in now.people
        else None
    )
    return BoardRow(
        id=p.id,
        state=shape,
        word=word,
        work=p.kind_of_work,
        zones=", ".join(now.graph.name(z) if z in now.graph.nodes else z for z in p.zones),
        holder=now.name(p.holder or p.requested_by),
        inside=[now.name(on.person) for on in p.signed_on],
        next=step.title if step else "",
        ends_at=p.ends_at,
        areas=list(area_lines(now, p, at)),
        stopped_because=p.stopped_because,
    )


def mine(site: Site, person: str, at: datetime) -> list[tuple[BoardRow, Step]]:
    """Open permits that concern this person, with their next step; those they can act on come first."""
    now = settled(site, at)
    if person not in now.people:
        return []
    found = []
    for p in now.permits.values():
        step = next_step(now, p, person, at)
        concerned = p.works_under_it(person) or person in (p.requested_by, p.issuer, p.coordinator)
        if concerned or step.action:
            found.append((board_row(now, p, at), step))
    return sorted(found, key=lambda pair: (not pair[1].action, URGENCY.index(pair[0].state)))


# ── one point ───────────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class HangingLock:
    number: str
    person: str
    permit: str


@dataclass(frozen=True, slots=True)
class PointPage:
    """A point as someone meets it who has just scanned its plate."""

    id: str
    name: str
    designation: str
    place: str
    energy: str
    machine: str
    state: str
    word: str
    locks: list[HangingLock]
    releases: list[str]
    next_permit: str
    next: Step
    others: list[tuple[str, str]] = field(default_factory=list)


def point_page(site: Site, code: str, person: str, at: datetime) -> PointPage | None:
    """The point with this code; None where the site has no such point. Two or more permits may want it."""
    now = settled(site, at)
    node = now.graph.nodes.get(code)
    if node is None or not node.is_point:
        return None
    locks = [
        HangingLock(lock.padlock, now.name(lock.owner), permit.id) for permit, lock in now.locks_on(code)
    ]
    wanted = [p for p in now.permits.values() if code in p.points]
    shape, word = state_of_point(now, node, wanted, at)
    permit, step = next_at_point(now, code, wanted, person, at)
    return PointPage(
        id=code,
        name=node.name,
        designation=node.designation,
        place=node.place,
        energy=" ".join(x for x in (node.medium.value if node.medium else "", node.magnitude) if x),
        machine=node.machine or "",
        state=shape,
        word=word,
        locks=locks,
        releases=[f"released for {p.id}" for p in wanted if code in p.released],
        next_permit=permit,
        next=step,
        others=[(p.id, badge(p)[1]) for p in wanted],
    )


def state_of_point(now: state.Site, node: Node, wanted: list[state.Permit], at: datetime) -> tuple[str, str]:
    lines = [point_line(now, p, node.id, at) for p in wanted]
    if any(line.state == "unsafe" for line in lines):
        return "unsafe", "test failed"
    held = node.id in now.locked or node.id in now.released
    if held and any(line.state == "dead" for line in lines):
        return "dead", "proven dead"
    if held:
        return "locked", "locked, not proven dead" if node.id in now.locked else "released, not proven dead"
    return (
        "live",
        "not locked: take it as live" if node.kind is Kind.ISOLATOR else "not released: it holds energy",
    )


def next_at_point(
    now: state.Site, code: str, wanted: list[state.Permit], person: str, at: datetime
) -> tuple[str, Step]:
    """The one next thing that this person can do at this point, and under which permit."""
    if person not in now.people:
        return "", Step("", "Nothing for you to do here")
    waiting: list[tuple[str, Step]] = []
    for p in sorted(wanted, key=lambda p: not p.works_under_it(person)):
        step = next_step(now, p, person, at)
        here = step.point == code or step.action == "remove-locks"
        if step.action in ("lock", "release", "remove-locks") and here:
            if step.action != "remove-locks" or any(k.where == code and k.owner == person for k in p.hanging):
                return p.id, dataclasses.replace(
                    step, title=step.title if step.point else "Take your lock off"
                )
        if step.action == "verify" and now.graph[code].machine == (step.machine or None):
            return p.id, step
        if step.action == "lock" and step.point:
            waiting.append(
                (p.id, Step("", f"First {name_of(now, step.point)}", "It comes before this one in the plan."))
            )
        else:
            waiting.append(
                (p.id, dataclasses.replace(step, action="", why=step.why) if not step.action else step)
            )
    if waiting:
        return waiting[0]
    return "", Step("", "No open permit names this point", "Locks go on under a permit: ask for one first.")


def next_point(seen: Look, person: str) -> str:
    """The point at which this person's next step is; "" where it is at none."""
    return next_step(seen.site, seen.permit, person, seen.at).point if person in seen.site.people else ""


def machines_to_test(seen: Look) -> tuple[str, ...]:
    """The machines whose points the permit's plan names ("" for points of no machine)."""
    return machines_to_verify(seen.site, seen.permit)


def permits_of_site(site: Site) -> list[rows.Permit]:
    """Every permit of a site, newest first."""
    return list(rows.Permit.objects.filter(site=site).order_by("-number"))
