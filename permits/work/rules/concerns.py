"""Whom each thing that happened concerns, what they are told, and how urgent it is. Never who did it.

Who has to be told of a lockout and of power coming back: 29 CFR 1910.147(c)(9) and (e)(2); an absent owner
before they resume: (e)(3)(iii). The rest is common practice: who acts next, and who relies on what has
changed. Sentences name no person, since they are kept outside the people's own table.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import assert_never

from . import events as e
from .against import name_of
from .evolve import fold
from .in_service import not_in_service, returned
from .reaching import names
from .state import Permit, Site
from .words import Finding, HaltKind, Phase, Stage

OUT = "Come out now and sign off."


@dataclass(frozen=True, slots=True)
class Concern:
    """One sentence or two for some people, by reference; urgent where reading it later may be too late."""

    people: tuple[str, ...]
    text: str
    urgent: bool = False


def told(before: Site, happened: Sequence[e.Event]) -> Iterator[tuple[int, str, str, bool]]:
    """(place of the event, person, text, urgent): each person once an event, each sentence once a person.

    `before` is the site before the first event. Where isolation is lost, its tests need no word of their own.
    """
    site = before
    said: set[tuple[str, str]] = set()
    lost = {event.permit for event in happened if isinstance(event, e.IsolationLost | e.WorkStopped)}
    for n, event in enumerate(happened):
        after = fold(site, [event])
        if isinstance(event, e.VerificationVoided) and event.permit in lost:
            site = after
            continue
        reached: set[str] = set()
        for one in concerns(site, after, event):
            text = on_one_line(one.text)
            for person in one.people:
                if person in ("", event.by) or person in reached or (person, text) in said:
                    continue
                reached.add(person)
                said.add((person, text))
                yield n, person, text, one.urgent
        site = after


def on_one_line(text: str) -> str:
    """What people typed can hold line breaks and a full stop of its own."""
    return " ".join(text.split()).replace("..", ".")


def concerns(before: Site, after: Site, event: e.Event) -> Iterator[Concern]:
    """Whom an event concerns, the closest first; the doer is still among them, and people may come twice."""
    if isinstance(event, e.SiteEvent):
        yield from of_the_site(after, event)
    else:
        yield from of_a_permit(before, after, after.permits[event.permit], event)


# ── who ─────────────────────────────────────────────────────────────────────────────────────────────────


def with_role(site: Site, *roles: str) -> tuple[str, ...]:
    return tuple(ref for ref, person in site.people.items() if person.roles.intersection(roles))


def inside(p: Permit) -> tuple[str, ...]:
    return tuple(on.person for on in p.signed_on)


def working(p: Permit) -> tuple[str, ...]:
    """Whoever is inside or may go in, and who takes over."""
    return tuple(dict.fromkeys((*inside(p), p.holder, p.next_holder, *p.crew_named)))


def around(p: Permit) -> tuple[str, ...]:
    """Everyone who has a part in the permit."""
    return tuple(dict.fromkeys((*working(p), p.issuer, p.coordinator, p.requested_by)))


def next_door(site: Site, p: Permit) -> tuple[str, ...]:
    """Holders of other permits on the same machines or points, and who is inside there."""
    machines, points = set(site.machines_of(p.zones)), set(p.points)
    near = [
        other
        for other in site.others(p)
        if machines.intersection(site.machines_of(other.zones)) or points.intersection(other.points)
    ]
    return tuple(ref for other in near for ref in (other.holder, *inside(other)))


def owners(p: Permit) -> tuple[str, ...]:
    return tuple(dict.fromkeys(lock.owner for lock in p.hanging))


def zones(site: Site, p: Permit) -> str:
    return ", ".join(names(site, tuple(zone for zone in p.zones if zone in site.graph.nodes))) or p.id


# ── what, and how urgent ────────────────────────────────────────────────────────────────────────────────


def of_the_site(site: Site, event: e.SiteEvent) -> Iterator[Concern]:
    everyone = tuple(site.people)
    match event:
        case e.EmergencyDeclared():
            yield Concern(everyone, f"Emergency: {event.why}. All permits are stopped. {OUT}", urgent=True)
        case e.EmergencyEnded():
            yield Concern(
                everyone, f"The emergency is over: {event.how}. Each permit waits until an officer lifts it."
            )
        case e.PaperDeclared():
            yield Concern(everyone, f"The site is on paper: {event.why}. Use the printed forms.")
        case e.PaperEnded():
            yield Concern(everyone, "The site is off paper: steps are entered when they happen again.")
        case e.ReturnedTold():
            return  # it was said to their face
        case _:
            assert_never(event)


def of_a_permit(before: Site, site: Site, p: Permit, event: e.PermitEvent) -> Iterator[Concern]:
    was = before.permits.get(p.id, p)
    match event:
        case e.PermitRequested():
            asked = f"{p.id} is asked for: {p.kind_of_work}, {zones(site, p)}. An issuer signs it out."
            yield Concern(with_role(site, "issuer"), asked)
        case e.PermitIssued():
            yield Concern((p.holder,), f"{p.id} is signed out to you. Read the plan, then accept it.")
            yield Concern(around(p), f"{p.id} is signed out, and you have a part in it.")
        case e.PermitCancelled():
            near = with_role(site, "affected") if p.notices else ()
            yield Concern((*around(p), *owners(p), *near), f"{p.id} is cancelled: {event.why}.")
        case e.PermitAccepted():
            yield Concern(around(p), f"{p.id} is accepted: locking out begins.")
        case e.PermitExtended():
            yield Concern(around(p), f"{p.id} runs until {site.clock(event.ends_at)}.")
        case e.CrewNamed():
            yield Concern((event.person,), f"You are named for {p.id}. Read its plan before you sign on.")
        case e.AffectedTold():
            yield Concern(with_role(site, "affected"), to_affected(site, p, event))
        case e.PointVerified() if not event.passed:
            point = name_of(site, event.point)
            yield Concern(working(p), f"{p.id}: {point} was tested and is not dead.", urgent=True)
        case e.VerificationVoided():
            yield Concern(working(p), f"{p.id}: a test proves nothing any more, since {event.why}.")
        case e.Isolated():
            yield Concern(working(p), f"{p.id} is proven dead: its crew may sign on.")
        case e.IsolationLost():
            urgent = bool(event.crew or event.path)
            lost = f"{p.id} is not proven dead any more: {event.why}."
            yield Concern((*event.crew, *inside(p)), f"{lost} {OUT}", urgent)
            yield Concern((*around(p), *with_role(site, "officer")), f"{lost} Nobody goes in.", urgent)
        case e.MachineChecked():
            found = [item.note or item.item for item in event.items if item.finding is Finding.DEFECT]
            if found:
                yield Concern(
                    (p.holder, *with_role(site, "officer")), f"{p.id}: defects found: {', '.join(found)}."
                )
        case e.DefectResolved() | e.DefectAccepted():
            yield Concern((p.holder,), f"{p.id}: a defect is settled: {p.defects[event.defect].what}.")
        case e.WatchLeft():
            yield Concern(
                (p.holder,), f"{p.id}: a danger area is not watched any more.", urgent=may_be_live(p)
            )
        case e.ConfirmationsVoided():
            areas = ", ".join(names(site, event.areas))
            yield Concern((p.holder,), f"{p.id}: someone signed on; confirm {areas} clear again.")
        case e.SanctionGiven():
            tests = f"{zones(site, p)} will be started for tests ({p.id}): {event.limits}. Keep clear."
            yield Concern(near_a_test(site, p), tests)
        case e.CycleBegun():
            yield Concern(near_a_test(site, p), f"{p.id}: a test begins, locks come off. Keep out.")
        case e.ReadyToEnergise():
            on = f"{p.id}: power comes on at {zones(site, p)} now. Keep out."
            yield Concern(near_a_test(site, p), on, urgent=True)
        case e.Reisolating():
            yield Concern(near_a_test(site, p), f"{p.id}: the points are locked again. Not yet proven dead.")
        case e.SanctionEnded():
            again = was.phase is Phase.TESTING
            more = " Take the power off and lock the points again." if again else ""
            yield Concern(around(p), f"{p.id}: the sanction is over, since {event.why}.{more}", again)
        case e.HandedBack():
            yield Concern(
                (*owners(p), *around(p)), f"{p.id} is handed back. Stay out; owners take their locks off."
            )
        case e.Reenergised():
            back = f"Power is back at {zones(site, p)} ({p.id})."
            yield Concern((*with_role(site, "affected"), *around(p)), back + of_service(before, site, p))
            if free := returned(before, site, p):
                yield Concern(with_role(site, "officer"), f"{p.id}: {in_service_again(free)}")
        case e.ClosureSigned():
            yield Concern((p.holder, p.issuer), f"{p.id} is signed closed once. See if it waits for you.")
        case e.PermitClosed():
            everyone = (*around(p), *with_role(site, "affected"))
            yield Concern(everyone, f"{p.id} is closed: the work at {zones(site, p)} is done.")
        case e.ClosedOutOfUse():
            machines = ", ".join(event.machines)
            everyone = (*around(p), *with_role(site, "affected", "officer"))
            yield Concern(everyone, f"{machines} is out of use: {event.why} ({p.id}). Do not start it.", True)
        case e.PermitExpired():
            over = f"The time of {p.id} is over."
            yield Concern(event.crew, f"{over} {OUT}", urgent=True)
            left = " People are still signed on." if event.crew else ""
            yield Concern(around(p), over + left, urgent=bool(event.crew))
        case e.WorkStopped():
            yield from of_a_stop(site, p, event)
        case e.HaltLifted():
            yield Concern(around(p), f"{p.id} may go on: {event.how}. Each point is proven again first.")
        case e.HandoverOffered():
            yield Concern((event.to,), f"{p.id} is to become yours. Lock its points, then take it over.")
        case e.HolderNamed():
            yield Concern((event.to,), f"You are to be the holder of {p.id}. Lock its points, then take it.")
            yield Concern(around(p), f"{p.id} passes to a holder whom an officer named: {event.why}.")
        case e.HandoverWithdrawn():
            whom = (was.next_holder, p.holder, p.issuer)
            yield Concern(whom, f"{p.id} does not change hands: {event.why}.")
        case e.HandoverAccepted():
            yield Concern((event.before, *around(p)), f"{p.id} has a new holder.")
        case e.AbsentLockRemoved():
            point = name_of(site, event.point)
            off = f"Your lock {event.padlock} was taken off {point} ({p.id}) while you were away."
            yield Concern((event.owner,), f"{off} You must be told before you resume work.", urgent=True)
            yield Concern(around(p), f"{p.id}: the lock of someone absent was taken off {point}.")
        case e.AbsentSignedOff():
            off = f"You were signed off {p.id} while you were away. Your lock is off the box."
            yield Concern((event.owner,), f"{off} You must be told before you resume work.", urgent=True)
            yield Concern(around(p), f"{p.id}: someone absent was signed off.")
        case e.PlanAmended():
            more = ", ".join(name_of(site, point) for point in (*event.lock, *event.release))
            yield Concern(around(p), f"The plan of {p.id} has more points: {more}. Why: {event.why}.")
        case e.LateEntered():
            yield Concern(around(p), f"{p.id}: steps from paper form {event.form} were entered.")
        case (
            e.LockApplied() | e.LockRemoved() | e.StoreReleased() | e.ReleaseUndone() | e.PointVerified()
            | e.CrewSignedOn() | e.CrewSignedOff() | e.ConfirmedClear() | e.NoticeAcknowledged()
            | e.JobOpened() | e.AxisCorrected() | e.AxisProven() | e.JobClosed()
        ):  # fmt: skip
            return  # a step of the work: the permit's page shows it to whoever looks
        case e.VerificationLapsed():
            return  # the loss of isolation that follows says it
        case _:
            assert_never(event)


def of_service(before: Site, site: Site, p: Permit) -> str:
    """Which machines are in service again, and what keeps those of the permit out of it."""
    kept = not_in_service(site)
    reasons = [f" {why}." for machine in site.machines_of(p.zones) for why in kept.get(machine, ())]
    again = returned(before, site, p)
    return "".join(reasons) + (f" {in_service_again(again)}" if again else "")


def in_service_again(machines: tuple[str, ...]) -> str:
    verb, of = ("are", "them") if machines[1:] else ("is", "it")
    return f"{', '.join(machines)} {verb} in service again: no permit holds a point of {of} any more."


def of_a_stop(site: Site, p: Permit, event: e.WorkStopped) -> Iterator[Concern]:
    """A stop of one permit; where the whole site or the plant was the cause, only what is not yet said."""
    stop = f"{p.id} is {'suspended' if event.kind is HaltKind.SUSPENSION else 'stopped'}: {event.why}."
    officers = with_role(site, "officer")
    if event.kind is HaltKind.PLANT:  # the loss of isolation called the crew out
        yield Concern(officers, f"{stop} An officer lifts it.", urgent=True)
        return
    yield Concern((*event.crew, *inside(p)), f"{stop} {OUT}", urgent=True)
    if event.kind is HaltKind.EMERGENCY:
        return  # everyone of the site was told
    yield Concern((*around(p), *next_door(site, p), *officers), f"{stop} Nobody goes in.", urgent=True)


def near_a_test(site: Site, p: Permit) -> tuple[str, ...]:
    """Who can be hurt by a start under this permit, or has to answer for it."""
    return (*around(p), *with_role(site, "affected"), *next_door(site, p))


def may_be_live(p: Permit) -> bool:
    return p.sanction is not None and p.sanction.ready_at is not None


def to_affected(site: Site, p: Permit, event: e.AffectedTold) -> str:
    """What everyone is told who runs the machine or works near it."""
    where = zones(site, p)
    if event.stage is Stage.AFTER:
        return f"{where}: the locks of {p.id} are off, and power comes back."
    tests = " It will be started for tests." if event.covers_tests else ""
    return f"{where} is locked out under {p.id}. Do not start it, touch no lock.{tests}"
