"""What happened after a page was shown that the step asked from it cannot stand beside.

Nothing may have happened where a step takes protection away, lets someone in, or signs. Every other step is
refused only for what concerns it: two people who lock, release or test at once do not block each other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from . import commands as c
from . import events as e
from . import plant_news
from .in_words import in_words
from .proving import to_verify
from .refusal import Refused, Unmet
from .reisolating import freed
from .state import Permit, Site

Kinds = tuple[type[e.Happened], ...]
News = e.Event | plant_news.PlantNews

# After these the permit stands elsewhere, for everybody.
TURNS: Kinds = (
    e.PermitIssued, e.PermitAccepted, e.PermitCancelled, e.PermitClosed, e.ClosedOutOfUse, e.PermitExpired,
    e.IsolationLost, e.WorkStopped, e.HaltLifted, e.HandedBack, e.Reenergised, e.CycleBegun,
    e.ReadyToEnergise, e.Reisolating, e.PlanAmended, e.HandoverAccepted, e.LateEntered,
)  # fmt: skip
ENDS: Kinds = (e.PermitCancelled, e.PermitClosed, e.ClosedOutOfUse)

LOCK_LOST = (e.LockRemoved, e.AbsentLockRemoved)
STORE = (e.StoreReleased, e.ReleaseUndone)
TEST = (e.PointVerified, e.VerificationVoided, e.VerificationLapsed)
CHECK = (e.MachineChecked, e.DefectResolved, e.DefectAccepted)
JOB = (e.JobOpened, e.AxisCorrected, e.AxisProven, e.JobClosed)
ABSENT = (e.AbsentLockRemoved, e.AbsentSignedOff)


# ── whether one event concerns one step ─────────────────────────────────────────────────────────────────


def is_first_lock(p: Permit, event: e.Event) -> bool:
    """Was this lock the permit's first on its point? One beside another of the permit changes nothing."""
    if not isinstance(event, e.LockApplied):
        return False
    there = [lock for lock in p.locks if lock.where == event.point]
    this = [n for n, lock in enumerate(there) if (lock.padlock, lock.applied_at) == (event.padlock, event.at)]
    before = there[: this[-1]] if this else []
    return not any(lock.removed_at is None or lock.removed_at > event.at for lock in before)


def changed_locks(p: Permit, event: e.Event) -> bool:
    """Did a planned point get its first lock, or lose one?"""
    if isinstance(event, LOCK_LOST):
        return event.point in p.points
    return isinstance(event, e.LockApplied) and event.point in p.points and is_first_lock(p, event)


def before_readings(p: Permit, points: Iterable[str], event: e.Event) -> bool:
    """May a reading at these points have been taken before the machine was in the state that it is in now?"""
    if isinstance(event, STORE):
        return event.point in p.points
    if isinstance(event, TEST):
        return event.point in points
    return isinstance(event, e.SanctionEnded) or changed_locks(p, event)


def for_readings(site: Site, ask: c.VerifyMachine, event: e.Event) -> bool:
    return before_readings(site.permits[ask.permit], [one.point for one in ask.points], event)


def for_a_try(site: Site, ask: c.TryStart, event: e.Event) -> bool:
    p = site.permits[ask.permit]
    return before_readings(p, to_verify(site, p, ask.machine), event)


def for_a_release(site: Site, ask: c.ReleaseStore, event: e.Event) -> bool:
    """A lock on another store keeps that one released, and nothing from this one."""
    if isinstance(event, STORE):
        return event.point == ask.point
    if not isinstance(event, (e.LockApplied, *LOCK_LOST)):
        return False
    p = site.permits[ask.permit]
    return event.point in (*p.plan_lock, ask.point) and changed_locks(p, event)


def for_a_lock(site: Site, ask: c.ApplyLock, event: e.Event) -> bool:
    return isinstance(event, (*LOCK_LOST, e.ReleaseUndone)) and event.point == ask.point


def for_reisolating(site: Site, ask: c.Reisolate, event: e.Event) -> bool:
    if isinstance(event, LOCK_LOST):
        return event.point in freed(site.permits[ask.permit])
    return isinstance(event, e.SanctionEnded)


def for_clear_areas(site: Site, ask: c.ConfirmClear, event: e.Event) -> bool:
    """Someone went in, under this permit or where one of these areas lies."""
    if isinstance(event, e.ConfirmationsVoided):
        return not set(event.areas).isdisjoint(ask.areas)
    return isinstance(event, e.CrewSignedOn)


def for_crew(site: Site, ask: c.NameCrew, event: e.Event) -> bool:
    return isinstance(event, e.CrewNamed) and event.person == ask.person


def for_the_job(
    site: Site, ask: c.AskJob | c.CorrectAxis | c.ProveAxis | c.CloseJob | c.TakeReading, event: e.Event
) -> bool:
    return isinstance(event, JOB) and event.job == ask.job


def for_a_piece(site: Site, ask: c.TakeReading, event: e.Event) -> bool:
    return isinstance(event, e.SanctionEnded) or for_the_job(site, ask, event)


def for_who_returned(site: Site, ask: c.TellReturned, event: e.Event) -> bool:
    if isinstance(event, ABSENT):
        return event.owner == ask.person
    return isinstance(event, e.ReturnedTold) and event.person == ask.person


def any_of(*kinds: type[e.Happened]) -> Callable[[Site, Any, e.Event], bool]:
    return lambda site, ask, event: isinstance(event, kinds)


# ── every command: nothing, this, or anything may have happened ─────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class Beside:
    """What a step cannot stand beside: these `turns` of the permit, and what `concerns` it by itself.

    `but`: the same in words, after "not if since its page was shown …". `again`: what to do before it is sent
    again.
    """

    concerns: Callable[[Site, Any, e.Event], bool]
    but: str
    turns: Kinds = TURNS
    again: str = "You look at what changed; if it is still right, you send it again from this page."


MEASURE_AGAIN = (
    "You take every reading again as the machine is now: one from before proves nothing. Then you send it "
    "from this page."
)
TRY_AGAIN = (
    "You try the controls again as the machine is now: a try from before proves nothing. Then you send it "
    "from this page."
)
RELEASE_AGAIN = "You see that the store is released as the machine is now, then send it again from this page."
LOOK_AGAIN = "You look at the areas again, then send it from this page."

LOCKS = "a point got its first lock or lost one"

CANNOT_STAND_BESIDE: Mapping[type[c.Ask], Beside] = {
    c.NameCrew: Beside(for_crew, "the same person was named"),
    c.TellAffected: Beside(any_of(*LOCK_LOST), "a lock came off"),
    c.ApplyLock: Beside(
        for_a_lock,
        "a lock came off this point or its release was undone",
        turns=tuple(kind for kind in TURNS if kind is not e.Reisolating),  # which waits for this very lock
    ),
    c.ReleaseStore: Beside(for_a_release, f"{LOCKS}, or the store changed", again=RELEASE_AGAIN),
    c.VerifyMachine: Beside(
        for_readings, f"{LOCKS}, a store changed, or one of these points was tested", again=MEASURE_AGAIN
    ),
    c.TryStart: Beside(
        for_a_try, f"{LOCKS}, a store changed, or a point of the machine was tested", again=TRY_AGAIN
    ),
    c.RecordMachineCheck: Beside(any_of(*CHECK), "the machine was checked or a defect ended"),
    c.ResolveDefect: Beside(any_of(*CHECK), "the machine was checked or a defect ended"),
    c.AcceptDefect: Beside(any_of(*CHECK), "the machine was checked or a defect ended"),
    c.ConfirmClear: Beside(for_clear_areas, "someone signed on", again=LOOK_AGAIN),
    c.Reisolate: Beside(for_reisolating, "the sanction ended or a freed point lost its lock"),
    c.EndSanction: Beside(
        any_of(e.SanctionGiven, e.SanctionEnded), "another sanction was given or this one ended", turns=ENDS
    ),
    c.OpenJob: Beside(any_of(e.JobOpened, e.JobClosed), "a job was opened or closed"),
    c.AskJob: Beside(for_the_job, "an axis of the job was corrected or judged, or the job closed"),
    c.TakeReading: Beside(
        for_a_piece,
        "an axis of the job was corrected or judged, the job closed or the sanction ended",
        again="You read a piece that was cut after that, then send it from this page.",
    ),
    c.CorrectAxis: Beside(for_the_job, "an axis of the job was corrected or judged, or the job closed"),
    c.ProveAxis: Beside(for_the_job, "an axis of the job was corrected or judged, or the job closed"),
    c.CloseJob: Beside(for_the_job, "an axis of the job was corrected or judged, or the job closed"),
    c.WithdrawHandover: Beside(
        any_of(e.HandoverOffered, e.HolderNamed, e.HandoverAccepted), "it was handed to someone else"
    ),
    c.EndEmergency: Beside(
        any_of(e.EmergencyDeclared, e.EmergencyEnded), "an emergency was declared or ended", turns=()
    ),
    c.DeclarePaper: Beside(any_of(e.PaperDeclared, e.PaperEnded), "paper mode began or ended", turns=()),
    c.EndPaper: Beside(any_of(e.PaperDeclared, e.PaperEnded), "paper mode began or ended", turns=()),
    c.TellReturned: Beside(
        for_who_returned, "that person was told, or another of their locks taken off", turns=()
    ),
}  # fmt: skip

# Right to do whatever happened: what changed usually calls for exactly this. A permit that is asked for is
# not there yet: its plan is made anew from the plant when it is sent.
ALWAYS_RIGHT: tuple[type[c.Ask], ...] = (
    c.StopWork, c.SuspendPermit, c.SignOffCrew, c.LeaveWatch, c.AcknowledgeNotice, c.DeclareEmergency,
    c.RequestPermit,
)  # fmt: skip


def moved_on(site: Site, command: c.Command, since: Iterable[News]) -> tuple[News, ...]:
    """Which of what happened since its page was shown the command cannot stand beside; none: go on.

    `site` is the state after all of it. `since`: events of the command's permit, oldest first, and what
    became of the plant that its page showed; for a command about the whole site those of the site, and those
    that took an absent person's lock off.
    """
    if isinstance(command, ALWAYS_RIGHT):
        return ()
    if isinstance(command, c.NEEDS_FRESH_PAGE):
        return tuple(since)
    beside = CANNOT_STAND_BESIDE[type(command)]
    there = not command.permit or command.permit in site.permits
    return tuple(
        event
        for event in since
        if not isinstance(event, plant_news.PlantNews)
        if isinstance(event, beside.turns) or (there and beside.concerns(site, command, event))
    )


# ── the refusal ─────────────────────────────────────────────────────────────────────────────────────────

NAMED_AT_MOST = 3


class PageStale(Refused):
    """Refused for what happened since the page was shown: `against` it, among everything in `since`.

    `besides`: what would be unmet on a fresh page too.
    """

    def __init__(
        self,
        site: Site,
        command: c.Command,
        against: tuple[News, ...],
        since: tuple[News, ...],
        besides: tuple[Unmet, ...] = (),
    ) -> None:
        self.against, self.since = against, since
        super().__init__([stale(site, command, against), *besides])


def said_of(site: Site, news: News) -> str:
    """One thing that happened, in a few words."""
    if isinstance(news, plant_news.PlantNews):
        return plant_news.in_words(site, news)
    return in_words(site, news)


def stale(site: Site, command: c.Command, against: tuple[News, ...]) -> Unmet:
    named = [said_of(site, event) for event in against[-NAMED_AT_MOST:]]
    if len(against) > len(named):
        named.insert(0, f"{len(against) - len(named)} earlier changes")
    beside = CANNOT_STAND_BESIDE.get(type(command))
    said = "; ".join(named)
    return Unmet(
        "page-stale",
        f"{command.permit or 'The site'} has moved on since this page was shown. "
        f"{said[0].upper()}{said[1:]}.",
        beside.again if beside else "You look at the permit as it is now, then decide again on this page.",
    )


def refuse_if_moved_on(
    site: Site, command: c.Command, since: tuple[News, ...], besides: tuple[Unmet, ...] = ()
) -> None:
    """Raise PageStale where something happened that the command cannot stand beside."""
    if against := moved_on(site, command, since):
        raise PageStale(site, command, against, since, besides)
