"""What each event does to the site's state. Never refuses, never looks at a clock: an event has happened."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import assert_never

from . import events as e
from .changes import (
    both_signed,
    ended,
    halted,
    job_with,
    let_go,
    lock_of,
    sanctioned,
    settled,
    signed,
    signed_off,
    unhooked,
    unseen,
    untested,
    verification_of,
    void_confirmations,
    voided,
)
from .out_of_use import out_of_use_after
from .state import Permit, Site
from .words import (
    BOX,
    Acknowledgement,
    Confirmation,
    Declared,
    Defect,
    DefectState,
    Finding,
    Job,
    Lock,
    MachineCheck,
    Notice,
    Phase,
    Sanction,
    SignOn,
    StoreRelease,
)


def fold(site: Site, events: Iterable[e.Event]) -> Site:
    """The site after all the events, in order."""
    for event in events:
        site = evolve(site, event)
    return site


def evolve(site: Site, event: e.Event) -> Site:
    """The site after one event."""
    if isinstance(event, e.PermitRequested):
        permits = {**site.permits, event.permit: requested(event)}
        return replace(site, permits=permits, next_number=max(site.next_number, event.number + 1))
    if isinstance(event, e.SiteEvent):
        return site_wide(site, event)
    after = changed(site.permits[event.permit], event)
    owners = site.padlock_owners
    if isinstance(event, e.LockApplied | e.CrewSignedOn) and event.padlock:
        owners = {**owners, event.padlock: event.by}
    out_of_use = out_of_use_after(site.out_of_use, after, event)
    untold = site.untold
    if isinstance(event, e.AbsentSignedOff | e.AbsentLockRemoved):
        under = dict.fromkeys((*untold.get(event.owner, ()), event.permit))
        untold = {**untold, event.owner: tuple(under)}
    permits = {**site.permits, event.permit: after}
    return replace(
        site, permits=permits, padlock_owners=owners, out_of_use=out_of_use, untold=untold
    )


def site_wide(site: Site, event: e.SiteEvent) -> Site:
    """The site after an event of no one permit."""
    match event:
        case e.EmergencyDeclared():
            return replace(site, emergency=Declared(event.by, event.at, event.why))
        case e.EmergencyEnded():
            return replace(site, emergency=None)
        case e.ReturnedTold():
            return replace(site, untold={k: v for k, v in site.untold.items() if k != event.person})
        case e.PaperDeclared():
            return replace(site, paper=Declared(event.by, event.since, event.why))
        case e.PaperEnded():
            return replace(site, paper=None)
        case _:
            assert_never(event)


def requested(event: e.PermitRequested) -> Permit:
    return Permit(
        id=event.permit,
        number=event.number,
        phase=Phase.REQUESTED,
        zones=event.zones,
        keep_live=event.keep_live,
        kind_of_work=event.kind_of_work,
        reason=event.reason,
        requested_by=event.by,
        requested_at=event.at,
        starts_at=event.starts_at,
        ends_at=event.ends_at,
        plan_lock=event.lock,
        plan_release=event.release,
        plan_order=event.order,
        proven_cheapest=event.proven_cheapest,
    )


def changed(p: Permit, event: e.PermitEvent) -> Permit:
    """One permit after one of its events."""
    match event:
        case e.PermitRequested():
            return requested(event)
        case e.PermitIssued():
            return replace(
                signed(p, event.by, event.signed, event.at),
                phase=Phase.ISSUED,
                issuer=event.by,
                holder=event.holder,
                crew_named=event.crew,
                coordinator=event.coordinator,
                procedures=event.procedures,
                own_issue=event.own_issue,
            )
        case e.PermitCancelled():
            return replace(let_go(p, event.at), phase=Phase.CANCELLED, ended_at=event.at)
        case e.PermitAccepted():
            return replace(signed(p, event.by, event.signed, event.at), phase=Phase.ISOLATING)
        case e.PermitExtended():
            return replace(p, ends_at=event.ends_at, expired_at=None)
        case e.CrewNamed():
            return replace(p, crew_named=(*p.crew_named, event.person))
        case e.AffectedTold():
            told = Notice(event.stage, event.whom, event.how, event.by, event.at, event.covers_tests)
            return replace(p, notices=(*p.notices, told))
        case e.LockApplied():
            return replace(p, locks=(*p.locks, lock_of(event)))
        case e.LockRemoved():
            p = replace(p, locks=unhooked(p.locks, event.point, event.padlock, event.at))
            return p if event.point in p.locked else untested(p, event.point, event.at)
        case e.StoreReleased():
            made = StoreRelease(event.point, event.method, event.by, event.at, event.counts_from)
            return replace(p, releases=(*p.releases, made))
        case e.ReleaseUndone():
            return untested(let_go(p, event.at, {event.point}), event.point, event.at)
        case e.PointVerified():
            return replace(p, verifications=(*p.verifications, verification_of(event)))
        case e.VerificationVoided():
            return replace(p, verifications=voided(p.verifications, event.at, {event.point}))
        case e.VerificationLapsed():
            return p  # a function of its own time; the entry says that it was seen to lapse
        case e.Isolated():
            return replace(p, phase=Phase.ISOLATED, stopped_because="", stopped_path=())
        case e.IsolationLost():
            # Where energy found a way it was a stop, and after a stop the machine is looked at again.
            return replace(
                p,
                phase=Phase.ISOLATING,
                stopped_because=event.why,
                stopped_path=event.path,
                checked=p.checked and not event.path,
            )
        case e.CrewSignedOn():
            on = SignOn(event.by, event.padlock, event.at)
            locks = p.locks
            if event.padlock:
                locks = (*locks, Lock(BOX, event.padlock, event.by, event.at))
            return replace(p, crew=(*p.crew, on), locks=locks, ever_signed_on=True)
        case e.CrewSignedOff():
            return signed_off(p, event.by, event.padlock, event.at)
        case e.MachineChecked():
            found = tuple(
                Defect(item.item, item.note, event.by, event.at)
                for item in event.items
                if item.finding is Finding.DEFECT
            )
            made_check = MachineCheck(event.by, event.at, event.items)
            return replace(p, checks=(*p.checks, made_check), defects=(*p.defects, *found), checked=True)
        case e.DefectResolved():
            return replace(p, defects=settled(p.defects, event, DefectState.RESOLVED, event.how))
        case e.DefectAccepted():
            return replace(p, defects=settled(p.defects, event, DefectState.ACCEPTED, event.why))
        case e.ConfirmedClear():
            gone = void_confirmations(p.confirmations, event.at, {*event.areas, *event.elsewhere})
            new = tuple(
                Confirmation(area, event.by, event.at, event.how, event.watching, seen_by=event.seen_by)
                for area in event.areas
            )
            return replace(p, confirmations=(*gone, *new))
        case e.WatchLeft():
            left = ended(
                p.confirmations,
                lambda c: c.by == event.by and c.watching and c.void_at is None,
                lambda c: replace(c, void_at=event.at),
            )
            return replace(p, confirmations=left)
        case e.ConfirmationsVoided():
            return replace(p, confirmations=void_confirmations(p.confirmations, event.at, set(event.areas)))
        case e.SanctionGiven():
            given = Sanction(event.points, event.limits, event.cycles, event.until, event.by, event.at)
            return replace(signed(p, event.by, event.signed, event.at), sanctions=(*p.sanctions, given))
        case e.CycleBegun():
            return replace(p, phase=Phase.TESTING, sanctions=sanctioned(p, cycle=event.cycle, ready_at=None))
        case e.ReadyToEnergise():
            p = signed(p, event.by, event.signed, event.at)
            return replace(p, sanctions=sanctioned(p, ready_at=event.at))
        case e.Reisolating():
            void = voided(p.verifications, event.at)
            sanctions = sanctioned(p, ready_at=None) if p.sanction else p.sanctions
            return replace(
                p,
                phase=Phase.ISOLATING,
                verifications=void,
                sanctions=sanctions,
                confirmations=unseen(p, event.at),
                reenergised_at=None,
                in_service=False,
            )
        case e.SanctionEnded():
            over = sanctioned(p, ended_at=event.at, why_ended=event.why, ready_at=None)
            if p.phase is Phase.TESTING:
                return replace(
                    p,
                    phase=Phase.ISOLATING,
                    sanctions=over,
                    verifications=voided(p.verifications, event.at),
                    confirmations=unseen(p, event.at),
                )
            return replace(p, sanctions=over)
        case e.JobOpened():
            return replace(p, jobs=(*p.jobs, Job(event.job, event.machine, event.at)))
        case e.AxisCorrected():
            return replace(p, jobs=job_with(p.jobs, event.job, add=event.axis))
        case e.AxisProven():
            return replace(p, jobs=job_with(p.jobs, event.job, drop=event.axis))
        case e.JobClosed():
            return replace(p, jobs=job_with(p.jobs, event.job, closed_at=event.at))
        case e.HandedBack():
            p = signed(p, event.by, event.signed, event.at)
            return replace(p, phase=Phase.RESTORING, stopped_because="", stopped_path=())
        case e.Reenergised():
            return replace(let_go(p, event.at), reenergised_at=event.at, in_service=event.in_service)
        case e.ClosureSigned():
            return signed(p, event.by, event.signed, event.at)
        case e.PermitClosed():
            return replace(p, phase=Phase.CLOSED, ended_at=event.at)
        case e.ClosedOutOfUse():
            p = signed(p, event.by, event.signed, event.at)
            return replace(p, phase=Phase.CLOSED, ended_at=event.at, in_service=False, out_of_use=True)
        case e.PermitExpired():
            return replace(p, expired_at=event.at)
        case e.WorkStopped():
            return halted(p, event)
        case e.HaltLifted():
            lifted = ended(
                p.halts,
                lambda h: h.lifted_at is None,
                lambda h: replace(h, lifted_by=event.by, lifted_at=event.at, how_lifted=event.how),
            )
            return replace(signed(p, event.by, event.signed, event.at), halts=lifted)
        case e.HandoverOffered():
            p = signed(p, event.by, event.signed, event.at)
            return replace(p, next_holder=event.to, holder_gone=False)
        case e.HolderNamed():
            p = signed(p, event.by, event.signed, event.at)
            return replace(p, next_holder=event.to, holder_gone=True)
        case e.HandoverWithdrawn():
            return replace(p, next_holder="", holder_gone=False)
        case e.HandoverAccepted():
            return replace(
                signed(p, event.by, event.signed, event.at),
                holder=event.by,
                confirmations=unseen(p, event.at),
                next_holder="",
                holder_gone=False,
                crew_named=tuple(person for person in p.crew_named if person != event.by),
                own_issue=event.own_issue,
            )
        case e.AbsentLockRemoved():
            p = both_signed(p, event)
            p = replace(p, locks=unhooked(p.locks, event.point, event.padlock, event.at))
            return p if event.point in p.locked else untested(p, event.point, event.at)
        case e.AbsentSignedOff():
            return signed_off(both_signed(p, event), event.owner, event.padlock, event.at)
        case e.PlanAmended():
            return replace(
                signed(p, event.by, event.signed, event.at),
                plan_lock=tuple(sorted({*p.plan_lock, *event.lock})),
                plan_release=tuple(sorted({*p.plan_release, *event.release})),
                plan_order=event.order,
            )
        case e.NoticeAcknowledged():
            said = Acknowledgement(event.notice, event.by, event.at)
            return replace(p, acknowledgements=(*p.acknowledgements, said))
        case e.LateEntered():
            return both_signed(p, event)
        case _:
            assert_never(event)
