"""What people said and signed under a permit, as rows: notices, checks, confirmations, signatures."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from permits.records.account import Account
from permits.records.entries import Told
from permits.records.late import Late, late_in, late_in_short, signed_on_paper
from permits.records.tables import numbers
from permits.records.telling import tell
from permits.records.telling.inside import ITEMS, how_seen
from permits.records.telling.life import STAGES
from permits.records.telling.line import Voice
from permits.work.rules import events as e
from permits.work.rules.changes import second_meaning
from permits.work.rules.words import CheckItem, DefectState, Finding


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
    """Each notice, with those who said that it had reached them."""
    rows = []
    for place, told, began, _ in account.things("notices"):
        said = [
            (ack, entry) for _, ack, entry, _ in account.things("acknowledgements") if ack.notice == place
        ]
        reached = [
            f"acknowledged by {voice.names.person(ack.person)}, {voice.clock.short(ack.at)}"
            for ack, _ in said
        ]
        tests = "; covers the starts for test" if told.covers_tests else ""
        rows.append(
            WordRow(
                at=told.at,
                person=voice.names.person(told.by),
                what=f"{told.whom}, told {STAGES[told.stage]}{tests}",
                how=in_lines(
                    told.how, late_in_short(began, account.late, voice), *reached or ["not acknowledged"]
                ),
                entries=numbers(began, *(entry for _, entry in said)),
            )
        )
    return rows


def in_lines(*parts: str) -> str:
    return "\n".join(filter(None, parts))


def checks(account: Account, voice: Voice) -> list[WordRow]:
    """Each item of each machine check."""
    return [
        WordRow(
            at=check.at,
            person=voice.names.person(check.by),
            what=ITEMS.get(item.item, item.item),
            how=in_lines(finding_in_words(item), late_in_short(began, account.late, voice)),
            entries=numbers(began),
        )
        for _, check, began, _ in account.things("checks")
        for item in check.items
    ]


def finding_in_words(item: CheckItem) -> str:
    return f"DEFECT: {item.note}" if item.finding is Finding.DEFECT else f"{item.finding} {item.note}".strip()


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


def confirmations(told: Sequence[Told], voice: Voice) -> list[WordRow]:
    """Every word that areas are clear, as it was given: one row a word, not an area."""
    rows, late = [], late_in(told)
    for one in told:
        if isinstance(one.event, e.ConfirmedClear):
            watch = "; keeps watch" if one.event.watching else ""
            rows.append(
                WordRow(
                    at=one.at,
                    person=voice.names.person(one.event.by),
                    what=voice.names.points(one.event.areas),
                    how=in_lines(how_seen(one.event, voice) + watch, late_in_short(one, late, voice)),
                    entries=numbers(one),
                )
            )
    return rows


RETURNS = (e.HandedBack, e.Reenergised, e.PermitClosed, e.ClosedOutOfUse, e.PermitCancelled)
HALTS = (
    e.WorkStopped, e.HaltLifted, e.HandoverOffered, e.HolderNamed, e.HandoverWithdrawn, e.HandoverAccepted,
    e.AbsentLockRemoved, e.AbsentSignedOff, e.EmergencyDeclared, e.EmergencyEnded, e.ReturnedTold,
)  # fmt: skip
AMENDMENTS = (e.PlanAmended, e.LateEntered, e.PaperDeclared, e.PaperEnded)


def returns(told: Sequence[Told], voice: Voice) -> list[WordRow]:
    """How the machine came back: hand-back, power, and the end of the permit."""
    return told_again(told, voice, RETURNS)


def halts(told: Sequence[Told], voice: Voice) -> list[WordRow]:
    """Stops and what lifted them, handovers, absent people; `told` with what touched the permit site-wide."""
    return told_again(told, voice, HALTS)


def amendments(told: Sequence[Told], voice: Voice) -> list[WordRow]:
    """What was added to the plan, and what happened on paper; `told` as for `halts`."""
    return told_again(told, voice, AMENDMENTS)


def told_again(told: Sequence[Told], voice: Voice, kinds: tuple[type[e.Event], ...]) -> list[WordRow]:
    """The entries of these kinds with their own sentences."""
    rows, late = [], late_in(told)
    for one in told:
        if isinstance(one.event, kinds):
            line = tell(one, voice)
            happened = late_in_short(one, late, voice)
            how = in_lines(line.detail, f"{happened[:1].upper()}{happened[1:]}.") if happened else line.detail
            rows.append(WordRow(one.at, voice.names.author(one.by), line.what, how, numbers(one)))
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


def signatures(told: Sequence[Told], voice: Voice) -> list[SignatureRow]:
    """Every signature, from the entry that it was given in; a second person's is a row of its own."""
    rows, late = [], late_in(told)
    for one in told:
        meaning = signed(one, late, voice)
        for person, said in who_signed_what(one, meaning, voice) if meaning else ():
            rows.append(
                SignatureRow(
                    person=person,
                    meaning=said,
                    at=one.at,
                    entry=one.number,
                    device=voice.names.author(one.device) if one.device else "",
                )
            )
    return rows


def signed(told: Told, late: Late, voice: Voice) -> str:
    """What the signature in this entry means; "" where there is none."""
    meaning: str = getattr(told.event, "signed", "")
    paper = signed_on_paper(told, late, voice)
    return f"{meaning} ({paper})" if meaning and paper else meaning


def signers(told: Told, voice: Voice) -> tuple[str, ...]:
    """Who signs in an entry: its author, and the second person where two do."""
    return tuple(person for person, _ in who_signed_what(told, "", voice))


def who_signed_what(told: Told, meaning: str, voice: Voice) -> tuple[tuple[str, str], ...]:
    """Who signs in an entry, and what: its author, and the second person where two do."""
    first = (voice.names.author(told.by), meaning)
    if isinstance(told.event, e.SignedByTwo):
        return first, (voice.names.person(told.event.second), second_meaning(told.event))
    return (first,)
