"""Hand back, take locks off each by its owner, re-energise, close."""

from __future__ import annotations

from collections.abc import Iterator

from . import commands as c
from . import events as e
from .against import (
    crew_signed_on,
    name_of,
    not_clear,
    not_holder,
    phase_is_not,
    the_permit,
)
from .clearing import areas_to_confirm
from .closing import still_out_of_use
from .reaching import is_undoable, reached_zones
from .refusal import Unmet, refuse_if
from .state import Permit, Site
from .whom import (
    LOOK_AND_CONFIRM,
    NOTHING_LEFT,
    comes_out,
    page_of,
    spot,
    take_theirs_off,
    takes_away,
    takes_off,
    tells,
    the_holder,
)
from .words import AT_WORK, Phase, Stage


def hand_back(site: Site, ask: c.HandBack) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_hand_back(site, p, ask))
    events: list[e.Event] = []
    if p.sanction is not None:
        events.append(e.SanctionEnded(permit=p.id, by=ask.by, at=ask.at, why="handed back"))
    from_test = p.phase is Phase.TESTING or may_be_running(site, p)
    events.append(
        e.HandedBack(permit=p.id, by=ask.by, at=ask.at, from_test=from_test, signed=c.SIGNED[c.HandBack])
    )
    return events


def against_hand_back(site: Site, p: Permit, ask: c.HandBack) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, *AT_WORK, asked="handing back")
    yield from not_holder(site, ask.by, p, "hand the machine back")
    yield from crew_signed_on(site, p, "everyone must be out first")
    for told, what in (
        (ask.machine_whole, "the machine is whole"),
        (ask.guards_on, "the guards are on"),
        (ask.tools_out, "tools and material are out"),
        (ask.people_out, "people are out"),
    ):
        if not told:
            yield Unmet("not-handed-back", f"It is not confirmed that {what}.", LOOK_AND_CONFIRM)
    if p.phase is Phase.TESTING or may_be_running(site, p):
        for told, what in (
            (ask.standstill, "everything stands still"),
            (ask.neutral, "the controls are in neutral"),
        ):
            if not told:
                yield Unmet("not-at-rest", f"It is not confirmed that {what}.", LOOK_AND_CONFIRM)
    if may_be_running(site, p):
        yield from not_clear(site, p, areas_to_confirm(site, p), ask.at)


def may_be_running(site: Site, p: Permit) -> bool:
    """Can the machine be under power: in a test since *ready*, or once it was with points still unlocked?

    Once people were told that it starts again, it is taken to have been under power.
    """
    if p.phase is Phase.TESTING:
        return p.sanction is not None and p.sanction.ready_at is not None
    once = any(s.cycle for s in p.sanctions) or any(n.stage is Stage.AFTER for n in p.notices)
    return p.phase is Phase.ISOLATING and once and any(reached_zones(site, p))


# ── locks off ───────────────────────────────────────────────────────────────────────────────────────────


def remove_locks(site: Site, ask: c.RemoveLocks) -> list[e.Event]:
    """Each owner takes off their own; what a lock held released is undone with the last lock on it."""
    p = the_permit(site, ask.permit)
    refuse_if(against_removing(site, p, ask))
    events: list[e.Event] = []
    for point in dict.fromkeys(ask.points):
        for hanging in p.hanging:
            if hanging.where == point and hanging.owner == ask.by:
                events.append(
                    e.LockRemoved(
                        permit=p.id,
                        by=ask.by,
                        at=ask.at,
                        point=point,
                        padlock=hanging.padlock,
                        was_tag=hanging.is_tag,
                    )
                )
        if point in p.released and is_last(p, point, ask.by):
            events.append(e.ReleaseUndone(permit=p.id, by=ask.by, at=ask.at, point=point))
    return events


def is_last(p: Permit, point: str, person: str) -> bool:
    """Would the point carry no lock of this permit without this person's?"""
    return not any(k.where == point and k.owner != person for k in p.hanging)


def against_removing(site: Site, p: Permit, ask: c.RemoveLocks) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, *AT_WORK, Phase.RESTORING, asked="taking locks off")
    points = tuple(dict.fromkeys(ask.points))
    if not points:
        yield Unmet(
            "no-point",
            "No point is named.",
            "You name the points that your locks come off, on this page.",
        )
    own: list[str] = []
    for point in points:
        mine = any(k.where == point and k.owner == ask.by for k in p.hanging)
        others = [k for k in p.hanging if k.where == point and k.owner != ask.by]
        bare_release = point in p.released and not others and ask.by == p.holder
        if mine or bare_release:
            own.append(point)
            continue
        yield Unmet(
            "not-your-lock",
            f"No lock of {site.name(ask.by)} hangs on {name_of(site, point)}.",
            take_theirs_off(site, p, others) or NOTHING_LEFT,
        )
    yield from stays_on(site, p, ask.by, tuple(own))


def stays_on(site: Site, p: Permit, owner: str, points: tuple[str, ...]) -> Iterator[Unmet]:
    """Why a person's locks can't come off these points, whoever takes them off."""
    for on in p.signed_on:
        if on.person == owner and not on.padlock:
            yield Unmet(
                "own-locks-protect",
                f"{site.name(owner)} is signed on without a padlock on the box: "
                "their own locks on the points are what protects them.",
                comes_out(site, p, on),
            )
    last = [point for point in points if is_last(p, point, owner)]
    for point in last:
        yield from stays_locked(site, p, point)
    if last or p.stopped_because:
        yield from crew_signed_on(
            site, p, "no last lock, and after a call to come out no lock, comes off then"
        )


def stays_locked(site: Site, p: Permit, point: str) -> Iterator[Unmet]:
    """A point's last lock comes off in a test that frees it, after hand-back, or before any work began."""
    if p.phase is Phase.TESTING and (p.sanction is None or point not in p.sanction.points):
        yield Unmet(
            "not-sanctioned",
            f"{name_of(site, point)} is not one of the sanctioned points.",
            f"You leave the lock on {spot(site, point)} during the test.",
        )
    begun = p.ever_signed_on or p.sanctions or p.next_holder
    if p.phase is Phase.ISOLATED or (p.phase is Phase.ISOLATING and begun):
        yield Unmet(
            "last-lock",
            f"{name_of(site, point)} would carry no lock of {p.id} any more.",
            f"Someone else named on {p.id} locks {spot(site, point)}, and then this lock comes off; or "
            f"{site.name(p.holder)}, or whom an officer names holder, hands the machine back first.",
        )


# ── power back, close ───────────────────────────────────────────────────────────────────────────────────


def reenergise(site: Site, ask: c.Reenergise) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_reenergising(site, p, ask))
    in_service = not held_by_others(site, p) and not any(still_out_of_use(site, p))
    return [e.Reenergised(permit=p.id, by=ask.by, at=ask.at, in_service=in_service)]


def held_by_others(site: Site, p: Permit) -> tuple[str, ...]:
    """Other permits that hold a point of this plan, or are at work in one of its machines."""
    machines = set(site.machines_of(p.zones))
    return tuple(
        other.id
        for other in site.others(p)
        if other.locked & set(p.points)
        or (
            other.phase in (*AT_WORK, Phase.RESTORING)
            and other.reenergised_at is None
            and machines & set(site.machines_of(other.zones))
        )
    )


def against_reenergising(site: Site, p: Permit, ask: c.Reenergise) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, Phase.RESTORING, asked="re-energising")
    yield from crew_signed_on(site, p, "nobody may be inside")  # the first to be read
    yield from not_holder(site, ask.by, p, "re-energise")
    if p.reenergised_at is not None:
        yield Unmet(
            "done-already",
            "Power is back already.",
            f"{the_holder(site, p)} and an issuer sign it closed, {page_of(p)}.",
        )
    for hanging in p.hanging:
        yield Unmet(
            "locks-still-on",
            f"{site.name(hanging.owner)}'s padlock {hanging.padlock} hangs on "
            f"{name_of(site, hanging.where)}.",
            takes_off(site, p, hanging),
        )
    for point in undoable_releases(site, p):
        how = site.graph[point].release
        yield Unmet(
            "release-still-on",
            f"{name_of(site, point)} is still held released ({how.method if how else ''}).",
            takes_away(site, p, point),
        )
    if not p.told(Stage.AFTER):
        yield Unmet(
            "not-told",
            "Affected people have not been told, since the last lock came off, "
            "that the machine starts again.",
            tells(site, p),
        )
    yield from not_clear(site, p, areas_to_confirm(site, p), ask.at)
    if not ask.visual_check:
        yield Unmet("not-looked", "The visual check before start is not confirmed.", LOOK_AND_CONFIRM)


def undoable_releases(site: Site, p: Permit) -> tuple[str, ...]:
    """Releases that a prop, pin, bleed or earth still holds: they come out before power is back."""
    return tuple(point for point in p.points if point in p.released and is_undoable(site, point))
