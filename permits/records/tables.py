"""A permit's points, locks, releases, tests and crew as rows, each with its entry numbers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from permits.records.account import Account
from permits.records.entries import Told
from permits.records.late import late_in_short
from permits.records.telling.line import Voice, with_unit
from permits.records.telling.points import each_reading
from permits.work.rules import events as e
from permits.work.rules.proving import TRY_START
from permits.work.rules.words import BOX, HaltKind, Lock, Verification


@dataclass(frozen=True, slots=True)
class PointRow:
    """A point of the plan. `do`: "Lock", "Release", or "Tag" where one stood for a lock; `proof`: what
    is read there, and its limit; `added`: when an amendment put it in, "" for a point planned at first."""

    step: int
    do: str
    point: str
    place: str
    energy: str
    how: str
    proof: str
    added: str = ""


@dataclass(frozen=True, slots=True)
class HeldRow:
    """Something that was put on and taken off. `entries`: "15", or "15, 62".

    `on_note`, `off_note`: that it was entered late, or that others took it off in the owner's absence.
    """

    point: str
    person: str
    padlock: str
    tag: str
    seen: str
    on: datetime
    off: datetime | None
    entries: str
    note: str = ""
    on_note: str = ""
    off_note: str = ""


@dataclass(frozen=True, slots=True)
class TestRow:
    """A test of a point: each reading, and in `state` what became of the test, in words."""

    point: str
    person: str
    at: datetime
    readings: tuple[str, ...]
    limit: str
    instrument: str
    result: str
    passed: bool
    fed: str
    state: str
    entries: str


WHY_STOPPED = {
    HaltKind.STOP: "work stopped",
    HaltKind.SUSPENSION: "suspended",
    HaltKind.EMERGENCY: "site emergency",
    HaltKind.PLANT: "stopped by a change of the plant",
}


def numbers(*told: Told | None) -> str:
    return ", ".join(str(one.number) for one in told if one is not None)


# ── plan, locks, releases ───────────────────────────────────────────────────────────────────────────────


def points(account: Account, voice: Voice) -> list[PointRow]:
    """The points of the plan in its order."""
    rows = []
    tagged = {lock.where for lock in account.permit.locks if lock.is_tag}
    for step, code in enumerate(account.permit.points, start=1):
        node = voice.names.node(code)
        release = code in account.permit.plan_release
        rows.append(
            PointRow(
                step=step,
                do="Release" if release else "Tag" if code in tagged else "Lock",
                point=node.said,
                place=node.place,
                energy=node.energy,
                how=node.release if release else "",
                proof=node.test,
                added=added(account.added.get(code), voice),
            )
        )
    return rows


def added(told: Told | None, voice: Voice) -> str:
    return f"added {voice.clock.short(told.at)} (entry {told.number})" if told else ""


def locks(account: Account, voice: Voice) -> list[HeldRow]:
    """Every padlock on a point, and tag in the place of one, in the order in which they went on."""
    return [
        HeldRow(
            point=voice.names.point(lock.where),
            person=voice.names.person(lock.owner),
            padlock="none" if lock.is_tag else lock.padlock,
            tag=lock.tag,
            seen=lock.position.value if lock.position else "holds the release",
            on=lock.applied_at,
            off=lock.removed_at,
            entries=numbers(began, ended),
            note="; ".join(
                filter(None, (besides(lock), "code typed by hand" if lock.typed else "")),
            ),
            on_note=late_in_short(began, account.late, voice),
            off_note=off_note(account, ended, voice),
        )
        for _, lock, began, ended in account.things("locks")
        if lock.where != BOX
    ]


def off_note(account: Account, ended: Told | None, voice: Voice) -> str:
    """By whom a lock came off whose owner was absent; when it really came off, where that was on paper."""
    match ended.event if ended else None:
        case e.AbsentLockRemoved(by=by, second=second) | e.AbsentSignedOff(by=by, second=second):
            return f"owner absent: by {voice.names.persons((by, second))}"
    return late_in_short(ended, account.late, voice)


def besides(lock: Lock) -> str:
    """Where a tag stood for a lock, that it did and what was done besides."""
    return f"a tag, no lock. Done besides: {lock.measure_done}" if lock.is_tag else ""


def releases(account: Account, voice: Voice) -> list[HeldRow]:
    """Every release of a store; `seen` is how, `note` when a reading began to count."""
    rows = []
    for _, made, began, ended in account.things("releases"):
        waits = made.counts_from > made.at
        rows.append(
            HeldRow(
                point=voice.names.point(made.point),
                person=voice.names.person(made.by),
                padlock="",
                tag="",
                seen=made.method,
                on=made.at,
                off=made.undone_at,
                entries=numbers(began, ended),
                note=f"readings count from {voice.clock.short(made.counts_from)}" if waits else "",
                on_note=late_in_short(began, account.late, voice),
                off_note=late_in_short(ended, account.late, voice),
            )
        )
    return rows


def crew(account: Account, voice: Voice) -> list[HeldRow]:
    """Everyone who signed on, with their padlock on the group box."""
    return [
        HeldRow(
            point="group box" if on.padlock else "own locks on the points",
            person=voice.names.person(on.person),
            padlock=on.padlock,
            tag="",
            seen="",
            on=on.on_at,
            off=on.off_at,
            entries=numbers(began, ended),
            off_note=off_note(account, ended, voice),
        )
        for _, on, began, ended in account.things("crew")
    ]


# ── tests ───────────────────────────────────────────────────────────────────────────────────────────────


def tests(account: Account, voice: Voice) -> list[TestRow]:
    """Every test with every reading, and what became of it."""
    rows = []
    for place, test, began, ended in account.things("verifications"):
        lapsed = account.lapsed.get(place)
        tried = test.method == TRY_START
        readings = ("controls tried",) if tried else tuple(each_reading(test))
        later = followed_by(account, place, ended)
        rows.append(
            TestRow(
                point=voice.names.point(test.point),
                person=voice.names.person(test.by),
                at=test.at,
                readings=readings,
                limit="" if tried else with_unit(test.limit, test.unit),
                instrument=test.instrument,
                result="passed" if test.passed else "FAILED",
                passed=test.passed,
                fed="yes" if test.fed else "no",
                state=state_of_test(test, later or ended, lapsed, voice),
                entries=numbers(began, lapsed, later or ended),
            )
        )
    return rows


def followed_by(account: Account, place: int, ended: Told | None) -> Told | None:
    """The next test of the same point that counts, made while this one stood: from then on that one does."""
    point = account.permit.verifications[place].point
    for later, test in enumerate(account.permit.verifications[place + 1 :], start=place + 1):
        began = account.began["verifications", later]
        if test.point == point and test.counts and (ended is None or began.number < ended.number):
            return began
    return None


def state_of_test(test: Verification, ended: Told | None, lapsed: Told | None, voice: Voice) -> str:
    words = []
    if not test.counts:
        words.append(
            "beside a reading only"
            if test.method == TRY_START
            else "does not count: before the wait was over"
        )
    if lapsed is not None:
        words.append(f"lapsed {voice.clock.short(lapsed.at)}")
    if ended is not None and isinstance(ended.event, e.PointVerified):
        words.append(f"followed by entry {ended.number}")
    elif ended is not None:
        words.append(f"void {voice.clock.short(ended.at)}: {why_void(ended)}")
    return "; ".join(words) or "stood to the end"


def why_void(ended: Told) -> str:
    match ended.event:
        case e.VerificationVoided(why=why):
            return why
        case e.Reisolating():
            return "isolated again"
        case e.LockRemoved():
            return "lock taken off"
        case e.AbsentLockRemoved():
            return "an absent person's lock taken off"
        case e.WorkStopped(kind=kind, why=why):
            return f"{WHY_STOPPED[kind]}: {why}"
        case e.SanctionEnded(why=why):
            return f"the sanction for test ended: {why}"
        case e.ReleaseUndone():
            return "release ended"
        case _:
            return ended.kind.replace("_", " ").lower()
