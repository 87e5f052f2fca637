"""Words and shapes of a permit, its points and its danger areas, as the components draw them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from permits.plant.rules.energy import Kind, Node
from permits.work.queries.look import clock
from permits.work.rules import state
from permits.work.rules.against import goes_stale, is_fresh
from permits.work.rules.clearing import areas_to_confirm
from permits.work.rules.reaching import is_proven
from permits.work.rules.words import Confirmation, HaltKind, Lock, Phase

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


# What holds a permit up, in one word; where there are several, the first of these.
HALTS: dict[HaltKind, str] = {
    HaltKind.EMERGENCY: "Stopped in an emergency",
    HaltKind.STOP: "Stopped",
    HaltKind.PLANT: "Stopped: the plant has changed",
    HaltKind.SUSPENSION: "Suspended",
}


def halt_word(p: state.Permit) -> str:
    """What holds the permit up, in one word; "" where nothing does."""
    kinds = {halt.kind for halt in p.halted}
    return "" if p.phase.is_over else next((word for kind, word in HALTS.items() if kind in kinds), "")


def badge(p: state.Permit) -> tuple[str, str]:
    """A permit's state for the eye and its word; people inside something unproven come first."""
    powered = p.phase is Phase.RESTORING and p.reenergised_at is not None
    if word := halt_word(p):
        if p.signed_on:
            plant = word == HALTS[HaltKind.PLANT]
            return "unsafe", f"Come out: {'not proven dead' if plant else word.lower()}"
        return ("live", f"{word}: power is back") if powered else ("unproven", word)
    if p.signed_on and p.phase is not Phase.ISOLATED:
        return "unsafe", "Come out: not proven dead"
    if p.signed_on and p.expired_at is not None:
        return "unsafe", "Expired with people inside"
    if p.phase is Phase.TESTING and p.sanction is not None and p.sanction.ready_at is None:
        return "unproven", "Before a test: keep out"
    if powered:
        return "live", "Power is back, not signed closed"
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
    """A point of a plan as components/plan.html draws it.

    `does`: what is done there; `detail`: whose locks hang, since when, and what was done besides a tag;
    `until`: when a store has run down.
    """

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


def node_of(site: state.Site, point: str) -> Node:
    """The point's node; a stand-in that says so where the plant has it no longer."""
    return site.graph.nodes.get(point) or Node(point, Kind.CARRIER, f"{point} (no longer in the plant)")


def point_line(site: state.Site, p: state.Permit, point: str, now: datetime) -> PointLine:
    node = node_of(site, point)
    locks = [lock for lock in p.hanging if lock.where == point]
    look_of, word = state_under(site, p, node, now)
    if p.phase.is_over:
        look_of, word = "over", ""
    return PointLine(
        id=point,
        name=node.name,
        designation=node.designation,
        place=node.place,
        does="Release" if point in p.plan_release else "Tag" if node.tag_only else "Lock",
        state=look_of,
        word=word,
        lock=" ".join(lock.padlock for lock in locks),
        detail=held_by(site, node, locks),
        until=running_down(p, point, now),
    )


def held_by(site: state.Site, node: Node, locks: list[Lock]) -> str:
    """Whose locks hang, since when; where a tag stands for a lock, what was done besides, or has to be."""
    if node.tag_only and not locks:
        return f"Takes a tag, not a lock. Do this as well: {node.tag_only.measure}"
    return ", ".join(
        f"{site.name(lock.owner)} {clock(site, lock.applied_at)}"
        + (f", a tag, no lock. Done besides: {lock.measure_done}" if lock.is_tag else "")
        for lock in locks
    )


FED_AGAIN = ("live", "released, but fed again")
"""Of a store whose prop or bleed hangs, while power stands upstream that was not there when it was tested."""


def state_under(site: state.Site, p: state.Permit, node: Node, now: datetime) -> tuple[str, str]:
    """How a point stands under one permit: look and word."""
    point = node.id
    locks = [lock for lock in p.hanging if lock.where == point]
    released = p.release_of(point)
    safe = bool(locks) or released is not None
    latest = p.verification(point)
    if safe and is_proven(site, p, point, now):
        return "dead", "proven dead"
    if latest is not None and latest.void_at is None and not latest.passed:
        return "unsafe", "test failed"
    if running_down(p, point, now):
        return "unproven", "running down"
    if point in p.plan_release and released is None:
        return ("unproven", "locked, not released") if locks else ("live", "not released")
    if safe and p.is_verified(point, now) and point in p.plan_release:
        return FED_AGAIN
    if safe:
        return "locked", "not proven" if locks else "released, not proven"
    return "live", "not tagged" if node.tag_only else "not locked"


def running_down(p: state.Permit, point: str, now: datetime) -> datetime | None:
    """When a released store's reading begins to count, while that is still to come."""
    released = p.release_of(point)
    return released.counts_from if released and released.counts_from > now else None


@dataclass(frozen=True, slots=True)
class AreaLine:
    """A danger area: who said that it is clear, and until when that is believed."""

    name: str
    state: str
    word: str
    by: str
    until: datetime | None


def areas_matter(p: state.Permit) -> bool:
    """Does power come next, so that danger areas have to be clear? Under a sanction, and when restoring."""
    if p.phase is Phase.RESTORING:
        return p.reenergised_at is None
    return p.phase in (Phase.ISOLATED, Phase.TESTING) and p.sanction is not None


def area_lines(site: state.Site, p: state.Permit, now: datetime) -> Iterator[AreaLine]:
    if not areas_matter(p):
        return
    for area in areas_to_confirm(site, p):
        found = p.confirmation(area)
        name = site.graph.name(area)
        if found is None:
            yield AreaLine(name, "unproven", "not confirmed", "", None)
        elif is_fresh(site, p, area, now):
            word = "watched" if found.watching else "clear"
            yield AreaLine(name, "dead", word, who_saw(site, found), goes_stale(site, found))
        else:
            yield AreaLine(name, "stale", "too old", who_saw(site, found), None)


def who_saw(site: state.Site, found: Confirmation) -> str:
    """Who sees the area; by radio, whom they told it as well."""
    told = f", by radio to {site.name(found.by)}" if found.seen_by else ""
    return f"{site.name(found.eyes)}{told}"
