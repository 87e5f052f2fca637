"""Exceptions where a permit went otherwise: stopped, handed over late, locks of absent people, on paper."""

from __future__ import annotations

from collections.abc import Iterator

from permits.records.entries import Told
from permits.records.exceptions.found import Found, Judge, SoFar
from permits.records.exceptions.kinds import What
from permits.work.rules import events as e
from permits.work.rules.words import HaltKind


def stopped(told: Told, so_far: SoFar) -> Iterator[Found]:
    """Work that was stopped by whomever and whatever; only a suspension is no more than a note.

    What the plant did is told once: isolation lost with people inside stands in the entry just before.
    """
    match told.event:
        case e.WorkStopped(kind=HaltKind.PLANT, crew=crew) if crew:
            return
        case e.WorkStopped(kind=HaltKind.SUSPENSION):
            yield Found(What.SUSPENDED, told)
        case e.WorkStopped(crew=crew):
            yield Found(What.STOPPED_WITH_CREW if crew else What.STOPPED, told)


def absent(told: Told, so_far: SoFar) -> Iterator[Found]:
    """A lock that came off without its owner: 29 CFR 1910.147(e)(3). Told or not, it stays an exception."""
    match told.event:
        case e.AbsentSignedOff():
            yield Found(What.ABSENT_SIGNED_OFF, told)
        case e.AbsentLockRemoved():
            yield Found(What.ABSENT_LOCK, told)


def holder_replaced(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.HolderNamed):
        yield Found(What.HOLDER_REPLACED, told)


def handed_over_late(told: Told, so_far: SoFar) -> Iterator[Found]:
    """Taken over after the permit's time was over, and before an issuer gave it more."""
    if isinstance(told.event, e.HandoverAccepted) and so_far.expired:
        yield Found(What.HANDED_OVER_LATE, told)


def late_entry(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.LateEntered):
        yield Found(What.LATE_ENTRY, told)


def plan_amended(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.PlanAmended):
        yield Found(What.PLAN_AMENDED, told)


JUDGES: tuple[Judge, ...] = (stopped, absent, holder_replaced, handed_over_late, late_entry)
"""Exceptions; `stopped` also gives a note."""

NOTES: tuple[Judge, ...] = (plan_amended,)
