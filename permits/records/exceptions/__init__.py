"""What an auditor sees first: one function per kind, each over one entry and what came before it.

An exception is what went otherwise than it should, whether or not it was allowed. A note is worth knowing and
no exception. What happened *around* permits (a tag, a PIN, an emergency) is the site's, and shown with the
permits that it touches. One file per topic.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from permits.calibration.rules.facts import Fact
from permits.records.entries import UNREADABLE, Told
from permits.records.exceptions import around, measured, ordinary, otherwise
from permits.records.exceptions.found import (
    Found,
    Judge,
    SoFar,
    clear_minutes_after,
    minutes_in,
    settled_by,
)
from permits.records.exceptions.kinds import NOTES, WORDS, What
from permits.work.rules import events as e
from permits.work.rules.written import SITE_KINDS, kind_of

__all__ = [
    "KINDS", "LAST", "LOCKED", "NOTES", "OF_A_PERMIT", "OF_THE_SITE", "READ", "TESTED", "WORDS", "Found",
    "SoFar", "What", "clear_minutes_after", "found_in", "judged", "minutes_in", "settled_by",
]  # fmt: skip

OF_A_PERMIT: tuple[Judge, ...] = (*ordinary.JUDGES, *measured.JUDGES, *otherwise.JUDGES)
OF_THE_SITE = around.JUDGES
ONLY_IN_A_STORY: tuple[Judge, ...] = (*ordinary.NOTES, *otherwise.NOTES)

TESTED = kind_of(e.PointVerified)
LOCKED = kind_of(e.LockApplied)
READ = Fact.PIECE_READ.value
KINDS = (
    *(kind_of(one) for one in (
        e.PermitIssued, e.SanctionGiven, e.PermitExtended, e.VerificationLapsed, e.ConfirmedClear,
        e.PermitExpired, e.IsolationLost, e.DefectAccepted, e.ClosedOutOfUse, e.CycleBegun, e.ReadyToEnergise,
        e.Reisolating, e.HandedBack, e.Reenergised, e.ConfirmationsVoided, e.PointVerified, e.PermitClosed,
        e.PermitCancelled, e.WorkStopped, e.HolderNamed, e.HandoverAccepted, e.AbsentSignedOff,
        e.AbsentLockRemoved, e.PlanAmended, e.LateEntered,
    )),
    Fact.CORRECTION_ENTERED.value,
    Fact.RESULT_JUDGED.value,
    Fact.AXIS_ENDED.value,
    Fact.PIECE_STRUCK.value,
    LOCKED,
    READ,
    *around.KINDS,
    *sorted(SITE_KINDS),
)  # fmt: skip
"""The kinds of entry that the functions above look at or need to have seen before, and a permit's end."""

LAST = (e.PermitClosed, e.PermitCancelled, e.ClosedOutOfUse)


def judged(told: Told, so_far: SoFar, judges: Iterable[Judge]) -> list[Found]:
    """What the functions say of one entry; a damaged entry never hides the others."""
    found: list[Found] = []
    for judge in judges:
        try:
            found += judge(told, so_far)
        except UNREADABLE:
            continue
    return found


def found_in(told: Iterable[Told], *, clear_minutes: int, site_wide: Sequence[Told] = ()) -> list[Found]:
    """Every exception and note of one permit, from its entries in order.

    `clear_minutes`: of the policy before the first of `site_wide`, the entries about the whole site: those
    say how the policy changed, and who was told that their lock had been taken off.
    """
    so_far = SoFar(clear_minutes)
    found: list[Found] = []
    for one in sorted((*told, *site_wide), key=lambda entry: entry.number):
        so_far.clear_minutes = clear_minutes_after(one, so_far.clear_minutes)
        if one.permit:
            found += judged(one, so_far, (*ONLY_IN_A_STORY, *OF_A_PERMIT))
        found = settled_by(found, one)
        so_far.add(one)
    return found
