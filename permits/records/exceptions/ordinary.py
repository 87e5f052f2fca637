"""Exceptions in the ordinary course of a permit: its signatures, tests, confirmations and end."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from permits.records.entries import Told
from permits.records.exceptions.found import Found, Judge, SoFar
from permits.records.exceptions.kinds import What
from permits.work.rules import events as e
from permits.work.rules.proving import TRY_START
from permits.work.rules.words import Seen


def own_issue(told: Told, so_far: SoFar) -> Iterator[Found]:
    """Issuer and holder are one person: the permit, its sanction for test, more time or more points."""
    match told.event:
        case e.PermitIssued(own_issue=True) | e.HandoverAccepted(own_issue=True):
            yield Found(What.OWN_ISSUE, told)
        case e.SanctionGiven(by=by) | e.PermitExtended(by=by) | e.PlanAmended(by=by) if (
            by and by == so_far.holder
        ):
            yield Found(What.OWN_ISSUE, told)


def tag_for_lock(told: Told, so_far: SoFar) -> Iterator[Found]:
    """A tag with its extra measure, at a point that takes no lock; the site lets it stand for one."""
    if isinstance(told.event, e.LockApplied) and told.event.measure_done:
        yield Found(What.TAG_FOR_LOCK, told)


def failed_test(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.PointVerified) and not told.event.passed:
        yield Found(What.FAILED_TEST, told)


def early_reading(told: Told, so_far: SoFar) -> Iterator[Found]:
    """Read before the store's waiting time was over: kept, and not counted."""
    if isinstance(told.event, e.PointVerified) and not told.event.counts and told.event.method != TRY_START:
        yield Found(What.EARLY_READING, told)


def missed_retest(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.VerificationLapsed):
        yield Found(What.MISSED_RETEST, told)


def stale_confirmation(told: Told, so_far: SoFar) -> Iterator[Found]:
    """For one start an area was confirmed, the word grew too old unused, and was renewed only then."""
    if not isinstance(told.event, e.ConfirmedClear):
        return
    ages = {area: told.at - so_far.confirmed[area] for area in told.event.areas if area in so_far.confirmed}
    stale = {area: age for area, age in ages.items() if age >= timedelta(minutes=so_far.clear_minutes)}
    if stale:
        minutes = int(max(stale.values()).total_seconds() // 60)
        yield Found(What.STALE_CONFIRMATION, told, areas=tuple(stale), minutes=minutes)


def radio_confirmation(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.ConfirmedClear) and told.event.how is Seen.RADIO:
        yield Found(What.RADIO_CONFIRMATION, told)


def expired(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.PermitExpired):
        yield Found(What.EXPIRED_WITH_CREW if told.event.crew else What.EXPIRED, told)


def lost_isolation(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.IsolationLost):
        yield Found(What.LOST_WITH_CREW if told.event.crew else What.PROOF_LOST, told)


def defect_accepted(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.DefectAccepted):
        yield Found(What.DEFECT_ACCEPTED, told)


def out_of_use(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.ClosedOutOfUse):
        yield Found(What.OUT_OF_USE, told)


# ── notes ───────────────────────────────────────────────────────────────────────────────────────────────


def typed_code(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.LockApplied) and told.event.typed:
        yield Found(What.TYPED_CODE, told)


def anothers_device(told: Told, so_far: SoFar) -> Iterator[Found]:
    if told.device:
        yield Found(What.ANOTHERS_DEVICE, told)


def changed_entry(told: Told, so_far: SoFar) -> Iterator[Found]:
    if not told.is_whole:
        yield Found(What.CHANGED_ENTRY, told)


def not_acknowledged(told: Told, so_far: SoFar) -> Iterator[Found]:
    """At a permit's end: each notice that nobody said had reached them."""
    if isinstance(told.event, e.PermitClosed | e.PermitCancelled | e.ClosedOutOfUse):
        yield from (Found(What.NOT_ACKNOWLEDGED, notice) for notice in so_far.unanswered.values())


JUDGES: tuple[Judge, ...] = (
    own_issue, tag_for_lock, failed_test, early_reading, missed_retest, stale_confirmation,
    radio_confirmation, expired, lost_isolation, defect_accepted, out_of_use,
)  # fmt: skip
"""Exceptions; `lost_isolation` also gives a note."""

NOTES: tuple[Judge, ...] = (typed_code, anothers_device, changed_entry, not_acknowledged)
"""What only the permit's own story says."""
