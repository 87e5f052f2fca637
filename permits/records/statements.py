"""What people said and signed under a permit, as rows: notices, checks, confirmations, signatures."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from permits.records.account import Account
from permits.records.entries import Told
from permits.records.tables import numbers
from permits.records.telling import tell
from permits.records.telling.inside import HOW_SEEN, ITEMS
from permits.records.telling.life import STAGES
from permits.records.telling.line import Voice
from permits.work.rules import events as e
from permits.work.rules.words import DefectState, Finding


@dataclass(frozen=True, slots=True)
class WordRow:
    """Something said at a time by someone: a notice, a confirmation, a machine check, a defect's end."""

    at: datetime
    person: str
    what: str
    how: str
    entries: str


@dataclass(frozen=True, slots=True)
class DefectRow:
    number: int
    item: str
    what: str
    found: str
    at: datetime
    end: str
    entries: str


@dataclass(frozen=True, slots=True)
class SanctionRow:
    """Leave to test. `cycles`: a sentence a cycle: begun, ready, isolated again."""

    points: str
    limits: str
    allowed: int
    person: str
    at: datetime
    until: datetime
    cycles: tuple[str, ...]
    end: str
    entries: str


@dataclass(frozen=True, slots=True)
class SignatureRow:
    """Printed name, meaning, time: what 21 CFR 11.50 asks to stand in every readable form."""

    person: str
    meaning: str
    at: datetime
    entry: int
    device: str


# ── said and seen ───────────────────────────────────────────────────────────────────────────────────────


def notices(account: Account, voice: Voice) -> list[WordRow]:
    return [
        WordRow(
            at=told.at,
            person=voice.names.person(told.by),
            what=f"{told.whom}: {STAGES[told.stage]}"
            + ("; covers the starts for test" if told.covers_tests else ""),
            how=told.how,
            entries=numbers(began),
        )
        for _, told, began, _ in account.things("notices")
    ]


def checks(account: Account, voice: Voice) -> list[WordRow]:
    """Each item of each machine check."""
    return [
        WordRow(
            at=check.at,
            person=voice.names.person(check.by),
            what=ITEMS.get(item.item, item.item),
            how=f"DEFECT: {item.note}"
            if item.finding is Finding.DEFECT
            else f"{item.finding} {item.note}".strip(),
            entries=numbers(began),
        )
        for _, check, began, _ in account.things("checks")
        for item in check.items
    ]


def defects(account: Account, voice: Voice) -> list[DefectRow]:
    rows = []
    for place, defect, began, ended in account.things("defects"):
        end = "open"
        if defect.state is not DefectState.OPEN and defect.ended_at is not None:
            done = "accepted as it is" if defect.state is DefectState.ACCEPTED else "mended"
            by, at = voice.names.person(defect.ended_by), voice.clock.short(defect.ended_at)
            end = f"{done} by {by}, {at}: {defect.how}"
        rows.append(
            DefectRow(
                number=place + 1,
                item=ITEMS.get(defect.item, defect.item),
                what=defect.what,
                found=voice.names.person(defect.found_by),
                at=defect.found_at,
                end=end,
                entries=numbers(began, ended),
            )
        )
    return rows


def confirmations(told: Iterable[Told], voice: Voice) -> list[WordRow]:
    """Every word that areas are clear, as it was given: one row a word, not an area."""
    rows = []
    for one in told:
        if isinstance(one.event, e.ConfirmedClear):
            watch = "; keeps watch" if one.event.watching else ""
            rows.append(
                WordRow(
                    at=one.at,
                    person=voice.names.person(one.event.by),
                    what=voice.names.points(one.event.areas),
                    how=HOW_SEEN[one.event.how] + watch,
                    entries=numbers(one),
                )
            )
    return rows


def returns(told: Iterable[Told], voice: Voice) -> list[WordRow]:
    """How the machine came back: hand-back, power, and the end of the permit."""
    rows = []
    for one in told:
        match one.event:
            case (
                e.HandedBack() | e.Reenergised() | e.PermitClosed() | e.ClosedOutOfUse() | e.PermitCancelled()
            ):
                line = tell(one, voice)
                rows.append(WordRow(one.at, voice.names.author(one.by), line.what, line.detail, numbers(one)))
    return rows


# ── tests under power ───────────────────────────────────────────────────────────────────────────────────


def sanctions(account: Account, told: Iterable[Told], voice: Voice) -> list[SanctionRow]:
    """Each sanction with its cycles."""
    events = list(told)
    rows = []
    for _, given, began, _ in account.things("sanctions"):
        after = [one for one in events if one.number > began.number]
        end = next((one for one in after if isinstance(one.event, e.SanctionEnded)), None)
        mine = [one for one in after if end is None or one.number <= end.number]
        ended = f"{voice.clock.short(end.at)}: {given.why_ended}" if end else "in force"
        rows.append(
            SanctionRow(
                points=voice.names.points(given.points),
                limits=given.limits,
                allowed=given.cycles,
                person=voice.names.person(given.by),
                at=given.at,
                until=given.until,
                cycles=tuple(cycles_of(mine, voice)),
                end=ended,
                entries=numbers(began, end),
            )
        )
    return rows


def cycles_of(told: list[Told], voice: Voice) -> list[str]:
    said: list[str] = []
    for one in told:
        at = f"{voice.clock.short(one.at)} (entry {one.number})"
        match one.event:
            case e.CycleBegun(cycle=cycle):
                said.append(f"Cycle {cycle} begun {at}")
            case e.ReadyToEnergise(by=by) if said:
                said[-1] += f"; ready to energise, {voice.names.person(by)}, {at}"
            case e.Reisolating() if said:
                said[-1] += f"; isolating again {at}"
    return said


def signatures(told: Iterable[Told], voice: Voice) -> list[SignatureRow]:
    """Every signature, from the entry that it was given in."""
    rows = []
    for one in told:
        meaning = signed(one)
        if meaning:
            rows.append(
                SignatureRow(
                    person=voice.names.author(one.by),
                    meaning=meaning,
                    at=one.at,
                    entry=one.number,
                    device=voice.names.author(one.device) if one.device else "",
                )
            )
    return rows


def signed(told: Told) -> str:
    """What the signature in this entry means; "" where there is none."""
    return getattr(told.event, "signed", "")
