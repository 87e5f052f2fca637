"""Hand back, take locks off each by its owner, re-energise, close."""

from __future__ import annotations

from collections.abc import Iterator

from . import commands as c
from . import events as e
from .against import (
    crew_signed_on,
    lacks_role,
    not_clear,
    not_holder,
    phase_is_not,
    the_permit,
)
from .clearing import areas_to_confirm
from .isolating import name_of
from .occupying import defects_open
from .refusal import Unmet, refuse_if
from .state import Permit, Site
from .words import Phase, Stage


def hand_back(site: Site, ask: c.HandBack) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_hand_back(site, p, ask))
    events: list[e.Event] = []
    if p.sanction is not None:
        events.append(e.SanctionEnded(permit=p.id, by=ask.by, at=ask.at, why="handed back"))
    from_test = p.phase is Phase.TESTING
    events.append(
        e.HandedBack(permit=p.id, by=ask.by, at=ask.at, from_test=from_test, signed=c.SIGNED[c.HandBack])
    )
    return events


def against_hand_back(site: Site, p: Permit, ask: c.HandBack) -> Iterator[Unmet]:
    yield from phase_is_not(p, Phase.ISOLATING, Phase.ISOLATED, Phase.TESTING, asked="handing back")
    yield from not_holder(site, ask.by, p, "hand the machine back")
    yield from crew_signed_on(site, p, "everyone must be out first")
    for told, what in (
        (ask.machine_whole, "the machine is whole"),
        (ask.guards_on, "the guards are on"),
        (ask.tools_out, "tools and material are out"),
        (ask.people_out, "people are out"),
    ):
        if not told:
            yield Unmet("not-handed-back", f"It is not confirmed that {what}.", "Look, then confirm.")
    if p.phase is Phase.TESTING:
        for told, what in (
            (ask.standstill, "everything stands still"),
            (ask.neutral, "the controls are in neutral"),
        ):
            if not told:
                yield Unmet("not-at-rest", f"It is not confirmed that {what}.", "Look, then confirm.")
        if p.sanction is not None and p.sanction.ready_at is not None:
            yield from not_clear(site, p, areas_to_confirm(site, p), ask.at)


def still_open(site: Site, p: Permit) -> Iterator[Unmet]:
    """What is listed before hand-back and refuses the close: defects, open jobs, unproven corrections."""
    yield from defects_open(site, p)
    for _, job in p.open_jobs:
        yield Unmet("job-open", f"Calibration job {job.number} is open.", "Close it, or carry on with it.")
    for job in p.jobs:
        for axis in job.unproven:
            yield Unmet(
                "correction-unproven",
                f"The correction of {axis} in job {job.number} has no as-left check.",
                "Re-isolate, begin a test cycle and read fresh pieces.",
            )


# ── locks off ───────────────────────────────────────────────────────────────────────────────────────────


def remove_locks(site: Site, ask: c.RemoveLocks) -> list[e.Event]:
    """Each owner takes off their own; what a lock held released is undone with the last lock on it."""
    p = the_permit(site, ask.permit)
    refuse_if(against_removing(site, p, ask))
    events: list[e.Event] = []
    for point in ask.points:
        for hanging in p.hanging:
            if hanging.where == point and hanging.owner == ask.by:
                events.append(
                    e.LockRemoved(permit=p.id, by=ask.by, at=ask.at, point=point, padlock=hanging.padlock)
                )
        if point in p.released and not any(k.where == point and k.owner != ask.by for k in p.hanging):
            events.append(e.ReleaseUndone(permit=p.id, by=ask.by, at=ask.at, point=point))
    return events


def against_removing(site: Site, p: Permit, ask: c.RemoveLocks) -> Iterator[Unmet]:
    yield from phase_is_not(p, Phase.ISOLATING, Phase.TESTING, Phase.RESTORING, asked="taking locks off")
    if not ask.points:
        yield Unmet("no-point", "No point is named.", "Name the points that your locks come off.")
    for point in ask.points:
        mine = any(k.where == point and k.owner == ask.by for k in p.hanging)
        others = [k for k in p.hanging if k.where == point and k.owner != ask.by]
        bare_release = point in p.released and not others and ask.by == p.holder
        if not mine and not bare_release:
            owners = ", ".join(site.name(k.owner) for k in others)
            yield Unmet(
                "not-your-lock",
                f"No lock of {site.name(ask.by)} hangs on {name_of(site, point)}.",
                f"Each lock comes off by its owner: {owners}." if owners else "Nothing is left to do here.",
            )
        if p.phase is Phase.TESTING and (p.sanction is None or point not in p.sanction.points):
            yield Unmet(
                "not-sanctioned",
                f"{name_of(site, point)} is not one of the sanctioned points.",
                "Its lock stays on during the test.",
            )
    yield from crew_signed_on(site, p, "no lock comes off while anyone is")


# ── power back, close ───────────────────────────────────────────────────────────────────────────────────


def reenergise(site: Site, ask: c.Reenergise) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_reenergising(site, p, ask))
    return [e.Reenergised(permit=p.id, by=ask.by, at=ask.at, in_service=not held_by_others(site, p))]


def held_by_others(site: Site, p: Permit) -> tuple[str, ...]:
    """Other open permits that hold a point of this plan or work in one of its machines."""
    machines = set(site.machines_of(p.zones))
    return tuple(
        other.id
        for other in site.permits.values()
        if other.id != p.id
        and (other.locked & set(p.points) or machines & set(site.machines_of(other.zones)))
    )


def against_reenergising(site: Site, p: Permit, ask: c.Reenergise) -> Iterator[Unmet]:
    yield from phase_is_not(p, Phase.RESTORING, asked="re-energising")
    yield from not_holder(site, ask.by, p, "re-energise")
    if p.reenergised_at is not None:
        yield Unmet("done-already", "Power is back already.", "Sign the permit closed.")
    for hanging in p.hanging:
        yield Unmet(
            "locks-still-on",
            f"{site.name(hanging.owner)}'s padlock {hanging.padlock} hangs on {name_of(site, hanging.where)}.",
            f"{site.name(hanging.owner)} takes it off.",
        )
    for point in undoable_releases(site, p):
        yield Unmet(
            "release-still-on",
            f"{name_of(site, point)} is still held released ({site.graph[point].release.method}).",  # type: ignore[union-attr]
            f"{site.name(p.holder)} takes it away and records it.",
        )
    yield from crew_signed_on(site, p, "nobody may be inside")
    if not p.told(Stage.AFTER):
        yield Unmet(
            "not-told",
            "Affected people have not been told, since the last lock came off, that the machine starts again.",
            f"{site.name(p.holder)} tells them and records it.",
        )
    yield from not_clear(site, p, areas_to_confirm(site, p), ask.at)
    if not ask.visual_check:
        yield Unmet("not-looked", "The visual check before start is not confirmed.", "Look, then confirm.")


def undoable_releases(site: Site, p: Permit) -> tuple[str, ...]:
    """Releases that a prop, pin, bleed or earth still holds: they come out before power is back."""
    return tuple(
        point
        for point in p.points
        if point in p.released and (how := site.graph[point].release) is not None and how.undoable
    )


def sign_closed(site: Site, ask: c.SignClosed) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_closing(site, p, ask))
    signed = e.ClosureSigned(permit=p.id, by=ask.by, at=ask.at, signed=c.SIGNED[c.SignClosed])
    if {p.holder, p.issuer} <= closers(p) | {ask.by}:
        return [signed, e.PermitClosed(permit=p.id, by=ask.by, at=ask.at)]
    return [signed]


def closers(p: Permit) -> set[str]:
    """Who has signed the permit closed so far."""
    return {s.person for s in p.signatures if s.meaning == c.SIGNED[c.SignClosed]}


def against_closing(site: Site, p: Permit, ask: c.SignClosed) -> Iterator[Unmet]:
    yield from phase_is_not(p, Phase.RESTORING, asked="closing")
    if ask.by not in (p.holder, p.issuer):
        yield Unmet(
            "not-a-signatory",
            "Only the holder and the issuer sign a permit closed.",
            f"{site.name(p.holder)} and {site.name(p.issuer)} sign.",
        )
    if ask.by in closers(p):
        yield Unmet("signed-already", f"{site.name(ask.by)} has signed.", "The other signature is awaited.")
    if p.reenergised_at is None:
        yield Unmet("not-reenergised", "Power is not back yet.", f"{site.name(p.holder)} re-energises first.")
    yield from still_open(site, p)
    if ask.by == p.issuer and ask.by != p.holder:
        yield from lacks_role(site, ask.by, "issuer", to="sign as issuer")
