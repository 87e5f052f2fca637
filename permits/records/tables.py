"""A permit's points, locks, releases, tests and crew as rows, each with its entry numbers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from permits.records.account import Account
from permits.records.entries import Told
from permits.records.telling.line import Voice, with_unit
from permits.records.telling.points import each_reading
from permits.work.rules import events as e
from permits.work.rules.proving import TRY_START
from permits.work.rules.words import BOX, Verification


@dataclass(frozen=True, slots=True)
class PointRow:
    """A point of the plan. `do`: "Lock" or "Release"; `proof`: what is read there, and its limit."""

    step: int
    do: str
    point: str
    place: str
    energy: str
    how: str
    proof: str


@dataclass(frozen=True, slots=True)
class HeldRow:
    """Something that was put on and taken off. `entries`: "15", or "15, 62"."""

    point: str
    person: str
    padlock: str
    tag: str
    seen: str
    on: datetime
    off: datetime | None
    entries: str
    note: str = ""


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


def numbers(*told: Told | None) -> str:
    return ", ".join(str(one.number) for one in told if one is not None)


# ── plan, locks, releases ───────────────────────────────────────────────────────────────────────────────


def points(account: Account, voice: Voice) -> list[PointRow]:
    """The points of the plan in its order."""
    rows = []
    for step, code in enumerate(account.permit.points, start=1):
        node = voice.names.node(code)
        release = code in account.permit.plan_release
        rows.append(
            PointRow(
                step=step,
                do="Release" if release else "Lock",
                point=node.said,
                place=node.place,
                energy=node.energy,
                how=node.release if release else "",
                proof=node.test,
            )
        )
    return rows


def locks(account: Account, voice: Voice) -> list[HeldRow]:
    """Every padlock on a point, in the order in which they went on."""
    return [
        HeldRow(
            point=voice.names.point(lock.where),
            person=voice.names.person(lock.owner),
            padlock=lock.padlock,
            tag=lock.tag,
            seen=lock.position.value if lock.position else "holds the release",
            on=lock.applied_at,
            off=lock.removed_at,
            entries=numbers(began, ended),
            note="code typed by hand" if lock.typed else "",
        )
        for _, lock, began, ended in account.things("locks")
        if lock.where != BOX
    ]


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
        case e.ReleaseUndone():
            return "release ended"
        case _:
            return ended.kind.replace("_", " ").lower()
