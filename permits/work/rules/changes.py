"""What an event changes in a permit, piece by piece: locks unhooked, tests voided, signatures added."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from typing import TypeVar

from . import events as e
from .state import Permit
from .words import (
    AT_WORK,
    BOX,
    Confirmation,
    Defect,
    DefectState,
    Halt,
    HaltKind,
    Job,
    Lock,
    Phase,
    Sanction,
    Signature,
    Verification,
)

T = TypeVar("T")


def halted(p: Permit, event: e.WorkStopped) -> Permit:
    """Stopped work is not proven any more; after a stop, not a suspension, the machine is looked at again."""
    at_work = p.phase in AT_WORK
    return replace(
        p,
        phase=Phase.ISOLATING if at_work else p.phase,
        halts=(*p.halts, Halt(event.kind, event.by, event.at, event.why)),
        verifications=voided(p.verifications, event.at) if at_work else p.verifications,
        stopped_because=(p.stopped_because or event.why) if at_work else p.stopped_because,
        checked=p.checked and event.kind is HaltKind.SUSPENSION,
        confirmations=unseen(p, event.at),
    )


def signed_off(p: Permit, person: str, padlock: str, at: datetime) -> Permit:
    crew = ended(
        p.crew,
        lambda s: s.person == person and s.off_at is None,
        lambda s: replace(s, off_at=at),
    )
    return replace(p, crew=crew, locks=unhooked(p.locks, BOX, padlock, at))


def signed(p: Permit, person: str, meaning: str, at: datetime) -> Permit:
    return replace(p, signatures=(*p.signatures, Signature(person, meaning, at)))


def both_signed(p: Permit, event: e.SignedByTwo) -> Permit:
    """Who acted and the second person each sign what the entry says."""
    p = signed(p, event.by, event.signed, event.at)
    return signed(p, event.second, second_meaning(event), event.at)


# What second persons signed while entries did not say it yet. Never reworded: those signatures stand.
SECOND_SIGNED_AT_FIRST = "confirms both checks: the owner is not on site and was sought in every way"
SECOND_SIGNED_LATE_AT_FIRST = "confirms that this is what the printed form says"


def second_meaning(event: e.SignedByTwo) -> str:
    """What the second person's signature in this entry means: the entry's own words."""
    late = isinstance(event, e.LateEntered)
    return event.second_signed or (SECOND_SIGNED_LATE_AT_FIRST if late else SECOND_SIGNED_AT_FIRST)


def lock_of(event: e.LockApplied) -> Lock:
    return Lock(
        event.point, event.padlock, event.by, event.at, event.tag, event.position, event.typed,
        measure_done=event.measure_done,
    )  # fmt: skip


def verification_of(event: e.PointVerified) -> Verification:
    return Verification(
        event.point, event.by, event.at, event.method, event.readings, event.limit, event.unit,
        event.instrument, event.passed, event.counts, event.fed, event.lapses_at,
    )  # fmt: skip


def ended(items: tuple[T, ...], which: Callable[[T], bool], end: Callable[[T], T]) -> tuple[T, ...]:
    """The items, with those that `which` picks replaced by what `end` makes of them."""
    return tuple(end(item) if which(item) else item for item in items)


def unhooked(locks: tuple[Lock, ...], where: str, padlock: str, at: datetime) -> tuple[Lock, ...]:
    return ended(
        locks,
        lambda k: k.where == where and k.padlock == padlock and k.removed_at is None,
        lambda k: replace(k, removed_at=at),
    )


def let_go(p: Permit, at: datetime, points: set[str] | None = None) -> Permit:
    """Undo the standing releases of the points, or all: power is back, or nobody relies on them any more."""
    releases = ended(
        p.releases,
        lambda r: r.undone_at is None and (points is None or r.point in points),
        lambda r: replace(r, undone_at=at),
    )
    return replace(p, releases=releases)


def untested(p: Permit, point: str, at: datetime) -> Permit:
    """Without its last lock, or without its release, a point's test proves nothing any more."""
    return replace(p, verifications=voided(p.verifications, at, {point}))


def voided(
    verifications: tuple[Verification, ...], at: datetime, points: set[str] | None = None
) -> tuple[Verification, ...]:
    """Void the standing verifications of the points, or of all of them."""
    return ended(
        verifications,
        lambda v: v.void_at is None and (points is None or v.point in points),
        lambda v: replace(v, void_at=at),
    )


def void_confirmations(
    confirmations: tuple[Confirmation, ...], at: datetime, areas: set[str]
) -> tuple[Confirmation, ...]:
    return ended(
        confirmations,
        lambda c: c.void_at is None and c.area in areas,
        lambda c: replace(c, void_at=at),
    )


def unseen(p: Permit, at: datetime) -> tuple[Confirmation, ...]:
    """Nothing is carried over of what was seen: after a test cycle, a change of holder, or a call to come
    out, whoever saw an area, or watched it, is asked again."""
    return void_confirmations(p.confirmations, at, {c.area for c in p.confirmations})


def settled(
    defects: tuple[Defect, ...], event: e.DefectResolved | e.DefectAccepted, state: DefectState, how: str
) -> tuple[Defect, ...]:
    defect = replace(defects[event.defect], state=state, ended_by=event.by, ended_at=event.at, how=how)
    return (*defects[: event.defect], defect, *defects[event.defect + 1 :])


def sanctioned(p: Permit, **changes: object) -> tuple[Sanction, ...]:
    """The permit's sanctions with the last one changed."""
    return (*p.sanctions[:-1], replace(p.sanctions[-1], **changes))  # type: ignore[arg-type]


def job_with(
    jobs: tuple[Job, ...],
    number: int,
    *,
    add: str | None = None,
    drop: str | None = None,
    closed_at: datetime | None = None,
) -> tuple[Job, ...]:
    def new(job: Job) -> Job:
        unproven = tuple(axis for axis in job.unproven if axis not in (add, drop))
        proven = tuple(axis for axis in job.proven if axis not in (add, drop))
        if add is not None:
            unproven = (*unproven, add)
        if drop is not None:
            proven = (*proven, drop)
        return replace(job, unproven=unproven, proven=proven, closed_at=closed_at or job.closed_at)

    return ended(jobs, lambda job: job.number == number, new)
