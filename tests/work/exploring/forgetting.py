"""What a state may forget: its history, and every absolute time.

`forget(site)` gives the one site that stands for all those from which the same can happen next. It keeps what
a decision can depend on and nothing else; two sites with equal `key`s have the same moves, and the moves lead
to equal keys. Why that is so, part by part, stands beside each part; test_exploring.py tries it on long
histories.

A time matters only by the side of NOW on which it lies. Each is written as EARLIER, or as one fixed time to
come; that it passes is a move of its own (passing.py). Times may pass in any order here, in more orders than
one clock allows: what holds for all of these holds for the real ones.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import replace
from datetime import datetime, timedelta

from permits.work.rules.closing import closers
from permits.work.rules.commands import SIGNED, AmendPlan, SignClosed
from permits.work.rules.state import Permit, Site
from permits.work.rules.words import (
    Confirmation,
    Declared,
    Halt,
    HaltKind,
    Job,
    Lock,
    Notice,
    OutOfUse,
    Sanction,
    Signature,
    Stage,
    Verification,
)

from .places import EARLIER, END_OF_PERMIT, LATER, NOW

LONG_AGO = EARLIER - timedelta(hours=1)


def forget(site: Site, now: datetime = NOW) -> Site:
    """`now`: the time by which the site is settled. Gives the site as it would be told at NOW."""
    permits = {p.id: forget_permit(p, now, site.policy.clear_minutes) for p in site.permits.values()}
    return replace(
        site,
        permits=permits,
        next_number=len(permits) + 1,
        untold=dict.fromkeys(sorted(site.untold), ("P-1",)),  # under which permit: only said, never asked
        out_of_use={one.machine: one for one in forget_out_of_use(site)},
        emergency=site.emergency and Declared("", EARLIER, ""),
        paper=site.paper and Declared("", EARLIER, ""),
    )


def key(site: Site) -> Hashable:
    """What tells two forgotten sites of one exploration apart."""
    return (
        tuple(site.permits.values()),
        tuple(site.untold),
        tuple(site.out_of_use.values()),
        site.emergency is None,
        site.paper is None,
        len(site.graph.nodes),  # the plant changes in one way only, by growing
    )


def forget_out_of_use(site: Site) -> tuple[OutOfUse, ...]:
    """What is left open on each machine; under which permit is only said, never asked."""
    left = (
        replace(one, permit="P-0", axes=tuple(sorted(one.axes)), defects=tuple(sorted(one.defects)))
        for one in site.out_of_use.values()
    )
    return tuple(sorted(left, key=lambda one: one.machine))


def forget_permit(p: Permit, now: datetime, clear_minutes: int) -> Permit:
    if p.phase.is_over:
        # Nothing is decided about it any more; what could still be wrong with it is what it holds.
        return replace(bare(p), locks=forget_locks(p), crew=forget_crew(p), releases=forget_releases(p, now))
    return replace(
        bare(p),
        issuer=p.issuer,
        holder=p.holder,
        crew_named=tuple(sorted(p.crew_named)),
        coordinator=p.coordinator,
        next_holder=p.next_holder,
        holder_gone=p.holder_gone,
        own_issue=p.own_issue,
        stopped_because=p.stopped_because and "called out",  # asked only whether there is a reason
        stopped_path=p.stopped_path,
        procedures=p.procedures,  # whose machines a machine check looks over
        starts_at=EARLIER if p.starts_at <= now else LATER,
        ends_at=EARLIER if p.ends_at <= now else END_OF_PERMIT,
        expired_at=p.expired_at and EARLIER,
        ever_signed_on=p.ever_signed_on,
        checked=p.checked,
        reenergised_at=p.reenergised_at and EARLIER,
        locks=forget_locks(p),
        crew=forget_crew(p),
        releases=forget_releases(p, now),
        verifications=tuple(v for point in sorted(p.points) for v in forget_tests(p, point, now)),
        notices=forget_notices(p),
        defects=tuple(d for _, d in p.open_defects),  # settled ones are history; the rest are numbered anew
        confirmations=tuple(forget_clear(s, now, clear_minutes) for s in standing_confirmations(p)),
        sanctions=forget_sanctions(p),
        jobs=forget_jobs(p),
        signatures=(
            *(Signature(who, SIGNED[SignClosed], EARLIER) for who in sorted(closers(p))),
            *([Signature("", SIGNED[AmendPlan], EARLIER)] if is_overtaken(p) else []),
        ),
        halts=tuple(Halt(kind, "", EARLIER, "") for kind in HaltKind if kind in {h.kind for h in p.halted}),
    )


def bare(p: Permit) -> Permit:
    """The request and the plan alone: they never change, but for points that are added."""
    return Permit(
        id=p.id,
        number=p.number,
        phase=p.phase,
        zones=p.zones,
        keep_live=p.keep_live,
        kind_of_work="",
        reason="",
        requested_by=p.requested_by,
        requested_at=EARLIER,
        starts_at=EARLIER,
        ends_at=END_OF_PERMIT,
        plan_lock=p.plan_lock,
        plan_release=p.plan_release,
        plan_order=p.plan_order,
    )


def forget_locks(p: Permit):
    """Locks that hang. Those that came off matter in one question only: one stands for all that outlived the
    notice that the machine starts."""
    hang = (k for k in p.locks if k.removed_at is None)
    own = (replace(k, applied_at=EARLIER, tag="", position=None, typed=False) for k in hang)
    gone = (Lock("", "", "", LONG_AGO, removed_at=EARLIER),) if is_outlived(p) else ()
    return (*gone, *sorted(own, key=lambda k: (k.where, k.owner, k.padlock)))


def forget_crew(p: Permit):
    return tuple(sorted((replace(on, on_at=EARLIER) for on in p.signed_on), key=lambda on: on.person))


def forget_releases(p: Permit, now: datetime):
    """Standing releases, and whether their wait is over."""
    return tuple(
        replace(r, by="", method="", at=EARLIER, counts_from=EARLIER if r.counts_from <= now else LATER)
        for r in sorted(p.releases, key=lambda r: r.point)
        if r.undone_at is None
    )


def forget_tests(p: Permit, point: str, now: datetime) -> tuple[Verification, ...]:
    """The one test of a point that is looked at; a test that is void or failed is remembered as such, because
    it still hides a later one that does not count."""
    test = p.verification(point)
    if test is None:
        return ()
    good = test.passed and test.void_at is None
    lapses = None if test.lapses_at is None or not good else EARLIER if test.lapses_at <= now else LATER
    told = replace(
        test, by="", at=EARLIER, method="", readings=(), instrument="", passed=good, lapses_at=lapses,
        fed=test.fed and good, void_at=None,
    )  # fmt: skip
    return (told,) if good or test.counts else ()


def forget_notices(p: Permit) -> tuple[Notice, ...]:
    """Was it ever told that the machine starts, and since the last lock came off? Since then, that it is
    locked out, and tested? A notice that a lock outlived counts no more: a later lock comes off later."""
    found = []
    if any(n.stage is Stage.AFTER for n in p.notices):
        found.append(Notice(Stage.AFTER, "", "", "", LONG_AGO if is_outlived(p) else EARLIER))
    if current := p.current_notices:
        at = LONG_AGO if is_overtaken(p) else EARLIER
        found.append(Notice(Stage.BEFORE, "", "", "", at, any(n.covers_tests for n in current)))
    return tuple(found)


def is_overtaken(p: Permit) -> bool:
    """Were points added since it was last told that the machine is locked out?"""
    return bool(p.current_notices) and not p.told(Stage.BEFORE)


def is_outlived(p: Permit) -> bool:
    """Did a lock come off after it was last told that the machine starts?"""
    after = [n.at for n in p.notices if n.stage is Stage.AFTER]
    off = [k.removed_at for k in p.locks if k.removed_at is not None]
    return bool(after and off and after[-1] < max(off))


def standing_confirmations(p: Permit) -> list[Confirmation]:
    return sorted((s for s in p.confirmations if s.void_at is None), key=lambda s: s.area)


def forget_clear(said: Confirmation, now: datetime, clear_minutes: int) -> Confirmation:
    """By whom, watching or not, fresh or stale."""
    stale = not said.watching and said.at + timedelta(minutes=clear_minutes) <= now
    return replace(said, at=NOW - timedelta(minutes=clear_minutes) if stale else EARLIER)


def forget_sanctions(p: Permit) -> tuple[Sanction, ...]:
    """Was there ever one, was a cycle ever begun, and the one in force."""
    found = []
    over = [s for s in p.sanctions if s.ended_at is not None]
    if over:
        begun = int(any(s.cycle for s in over))
        found.append(Sanction((), "", 1, EARLIER, "", EARLIER, cycle=begun, ended_at=EARLIER))
    if p.sanction is not None:
        now = p.sanction
        found.append(replace(
            now, limits="", by="", at=EARLIER, until=LATER, ready_at=now.ready_at and EARLIER
        ))  # fmt: skip
    return tuple(found)


def forget_jobs(p: Permit) -> tuple[Job, ...]:
    """One closed job stands for all of one machine; the open one is numbered after it."""
    closed: dict[str, set[str]] = {}
    for job in p.jobs:
        if job.closed_at is not None:
            closed.setdefault(job.machine, set()).update(job.proven)
    found = [
        Job(n + 1, machine, EARLIER, (), tuple(sorted(proven)), EARLIER)
        for n, (machine, proven) in enumerate(sorted(closed.items()))
    ]
    for _, job in p.open_jobs:
        found.append(replace(job, number=len(found) + 1, opened_at=EARLIER))
    return tuple(found)
