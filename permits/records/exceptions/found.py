"""One exception as it was found, and what earlier entries said that a function needs to have seen."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime

from permits.records.entries import Told
from permits.records.exceptions.kinds import ABSENT, STILL, What
from permits.records.telling.line import Voice, count
from permits.work.rules import events as e
from permits.work.rules.policy import CHANGED as POLICY_CHANGED


@dataclass(frozen=True, slots=True)
class Found:
    """One exception or note.

    `areas`, `minutes`: of which areas the confirmation before was how old. `settled`: the entry that settles
    what stays open until then (an absent person was told, an emergency ended), None as long as none does.
    """

    what: What
    told: Told
    areas: tuple[str, ...] = ()
    minutes: int = 0
    settled: Told | None = None

    @property
    def is_open(self) -> bool:
        """Is something still owed: someone to be told, an emergency to be ended?"""
        return self.what in STILL and self.settled is None

    @property
    def words(self) -> str:
        return f"{self.what.words}; {STILL[self.what]}" if self.is_open else self.what.words

    def why(self, voice: Voice) -> str:
        """What the entry's own sentence does not say."""
        match self.told.event:
            case e.LateEntered(happened_at=happened_at, at=at) if self.what is What.LATE_ENTRY:
                return f"Entered {how_long((at - happened_at).total_seconds())} late."
        if self.what is What.STALE_CONFIRMATION:
            areas = voice.names.points(self.areas)
            return f"{areas}: {self.minutes} minutes after the last confirmation, which was too old."
        if self.what is What.CHANGED_ENTRY:
            return "Its text does not have the digest beside it: the row was changed in the database."
        if self.what in ABSENT:
            return self.whether_told(voice)
        if self.what in STILL:
            return f"Ended {self.settled_when(voice)}." if self.settled else "OPEN: it has not ended yet."
        if self.what is What.NOT_ACKNOWLEDGED:
            return "Nobody whom it was for said that it had reached them."
        return ""

    def whether_told(self, voice: Voice) -> str:
        event = self.told.event
        assert isinstance(event, e.AbsentSignedOff | e.AbsentLockRemoved)
        owner = voice.names.person(event.owner)
        if self.settled is None:
            return f"OPEN: {owner} has not been told yet, and is let into no work before."
        return f"{owner} was told before resuming work: {self.settled_when(voice)}."

    def settled_when(self, voice: Voice) -> str:
        """When, by whom, in which entry."""
        assert self.settled is not None
        by, at = voice.names.author(self.settled.by), voice.when(self.settled.at)
        return f"{at}, by {by} (entry {self.settled.number})"


def how_long(seconds: float) -> str:
    """ "3 hours 12 minutes", "40 seconds"."""
    minutes = int(seconds // 60)
    if not minutes:
        return count(int(seconds), "second", "seconds")
    hours, rest = divmod(minutes, 60)
    words = [count(hours, "hour", "hours") if hours else "", count(rest, "minute", "minutes") if rest else ""]
    return " ".join(filter(None, words))


SETTLING = (e.ReturnedTold, e.EmergencyEnded, e.PaperEnded)


def settled_by(found: list[Found], told: Told) -> list[Found]:
    """What was found, after an entry that may settle what is still open. The same list where it does not."""
    if not isinstance(told.event, SETTLING):
        return found
    return [replace(one, settled=told) if settles(told.event, one) else one for one in found]


def settles(event: e.Event, found: Found) -> bool:
    if not found.is_open:
        return False
    match event:
        case e.ReturnedTold(person=person):
            return getattr(found.told.event, "owner", "") == person
        case e.EmergencyEnded():
            return found.what is What.EMERGENCY
        case e.PaperEnded():
            return found.what is What.ON_PAPER
    return False


@dataclass(slots=True)
class SoFar:
    """What earlier entries of the same permit said, as far as a function needs it.

    `clear_minutes`: how long a clear confirmation stays fresh by the policy in force at that time.
    """

    clear_minutes: int
    holder: str = ""
    expired: bool = False
    confirmed: dict[str, datetime] = field(default_factory=dict)  # area → when, only those that go stale
    unanswered: dict[int, Told] = field(default_factory=dict)  # a notice's place → it, until acknowledged
    notices: int = 0

    def add(self, told: Told) -> None:
        match told.event:
            case e.PermitIssued(holder=holder):
                self.holder = holder
            case e.HandoverAccepted(by=by):
                self.holder = by
            case e.PermitExpired():
                self.expired = True
            case e.PermitExtended():
                self.expired = False
            case e.AffectedTold():
                self.unanswered[self.notices] = told
                self.notices += 1
            case e.NoticeAcknowledged(notice=notice):
                self.unanswered.pop(notice, None)
            case e.ConfirmedClear(areas=areas, watching=watching, at=at):
                for area in areas:
                    self.confirmed.pop(area, None)
                    if not watching:
                        self.confirmed[area] = at
            case e.CycleBegun() | e.ReadyToEnergise() | e.Reisolating() | e.HandedBack() | e.Reenergised():
                self.confirmed.clear()  # what is confirmed after these is for another start
            case e.ConfirmationsVoided(areas=areas):
                for area in areas:
                    self.confirmed.pop(area, None)


Judge = Callable[[Told, SoFar], Iterator[Found]]


def clear_minutes_after(told: Told, before: int) -> int:
    """How long a clear confirmation stays fresh after an entry: a change of the site's policy may say."""
    return minutes_in(told, "after", before)


def minutes_in(told: Told, side: str, otherwise: int) -> int:
    """What an entry that changes the policy says of it `side` ("before" or "after") the change."""
    policy = told.data.get(side) if told.kind == POLICY_CHANGED else None
    minutes = policy.get("clear_minutes") if isinstance(policy, dict) else None
    return minutes if isinstance(minutes, int) and not isinstance(minutes, bool) else otherwise
