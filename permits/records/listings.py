"""A story's tables as plain words, row by row: page and print show the same ones in the same order."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from permits.records.jobs import AxisAccount, ChangeRow, JobAccount, PieceRow, ResultRow
from permits.records.statements import WordRow
from permits.records.story import Raised, Story
from permits.records.tables import HeldRow, TestRow

STRONG = "strong"
MONO = "mono"

NO_BREAK = "\u00a0"

FED = "Fed: whether energy stood at the point's upstream side when it was tested."


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its head, its share of a page's width, and how its words are set (plain, STRONG or MONO)."""

    head: str
    share: float
    style: str = "cell"


@dataclass(frozen=True, slots=True)
class Listing:
    """A table. A cell may have several lines. `empty` is said where there is no row; `note` stands below."""

    title: str
    columns: tuple[Column, ...]
    rows: Sequence[tuple[str, ...]]
    empty: str = ""
    note: str = ""

    @property
    def labelled(self) -> list[list[tuple[Column, str]]]:
        return [list(zip(self.columns, row, strict=True)) for row in self.rows]


@dataclass(frozen=True, slots=True)
class Pairs:
    """Labels and values under a title."""

    title: str
    pairs: list[tuple[str, str]]


ENTRY = Column("Entry", 0.85)


def first_part(story: Story) -> Iterator[Listing | Pairs]:
    """What stands between the exceptions and the energy picture."""
    yield raised("Around this permit, while it ran", story.around)
    yield raised("Notes", story.notes)
    yield Listing("People", (Column("Name", 4), Column("Part", 10)), list(story.people))
    yield signatures(story)
    yield plan(story)


def second_part(story: Story) -> Iterator[Listing | Pairs]:
    """What stands below the energy picture, in the order of the work."""
    yield words(story, "Affected people told", "Who, and at which stage", "How", story.notices)
    yield locks(story)
    yield releases(story)
    yield tests(story)
    yield crew(story)
    yield words(story, "Machine check", "What was looked at", "Found", story.checks)
    yield defects(story)
    yield words(story, "Areas confirmed clear of people", "Areas", "How", story.confirmations)
    yield from sanctions(story)
    for job in story.jobs:
        yield from of_job(story, job)
    yield long_words(story, "Stops and handovers", story.halts)
    yield long_words(story, "Plan amended, entered late", story.amendments)
    yield long_words(story, "Hand-back and end", story.returns)


def scope(story: Story) -> list[tuple[str, str]]:
    pairs = [*story.facts, *((f"Hazards, {machine}", hazards) for machine, hazards in story.hazards)]
    if story.others:
        pairs.append(("Other permits at the same time", "; ".join(story.others)))
    return pairs


# ── the permit ──────────────────────────────────────────────────────────────────────────────────────────


def raised(title: str, found: Sequence[Raised]) -> Listing:
    columns = (ENTRY, Column("Time", 3.2), Column("What", 2.6, STRONG), Column("The entry says", 7.4))
    return Listing(title, columns, [(str(one.number), one.time, one.word, sentence(one)) for one in found])


def sentence(one: Raised) -> str:
    return f"{one.sentence}. {one.detail}".strip()


def signatures(story: Story) -> Listing:
    columns = (
        ENTRY,
        Column("Printed name", 3.4),
        Column("What the signature means", 6),
        Column("Signed", 3.6),
    )
    rows = [
        (
            str(one.entry),
            lines(one.person, f"on the device of {one.device}" if one.device else ""),
            one.meaning,
            story.clock.full(one.at),
        )
        for one in story.signatures
    ]
    return Listing("Signatures", columns, rows, empty="Nobody has signed yet.")


def plan(story: Story) -> Listing:
    columns = (
        Column("Step", 0.7), Column("Do", 1.1, STRONG), Column("Point", 4), Column("Where", 3),
        Column("Energy", 3), Column("Proven dead by", 2.4),
    )  # fmt: skip
    rows = [
        (str(one.step), one.do, lines(one.point, one.how, one.added), one.place, one.energy, one.proof)
        for one in story.points
    ]
    return Listing("Plan", columns, rows, empty="Nothing leads to these zones: nothing to lock or release.")


def lines(*parts: str) -> str:
    return "\n".join(part for part in parts if part)


# ── points ──────────────────────────────────────────────────────────────────────────────────────────────


def locks(story: Story) -> Listing:
    columns = (
        Column("Point", 4), Column("Owner", 2.4), Column("Padlock", 1.2), Column("Danger tag", 1.2),
        Column("Seen", 1.4), Column("On", 1.9), Column("Off", 1.9), ENTRY,
    )  # fmt: skip
    rows = [
        (
            one.point, one.person, one.padlock, one.tag, "; ".join(filter(None, (one.seen, one.note))),
            on(story, one), off(story, one, "STILL ON"), one.entries,
        )
        for one in story.locks
    ]  # fmt: skip
    return Listing("Locks on points", columns, rows, empty="None.")


def on(story: Story, one: HeldRow) -> str:
    return lines(story.clock.short(one.on), one.on_note)


def off(story: Story, one: HeldRow, still: str) -> str:
    return lines(story.clock.short(one.off) or still, one.off_note)


def releases(story: Story) -> Listing:
    columns = (
        Column("Store", 3.4), Column("By", 2.4), Column("How", 4.4), Column("Released", 1.9),
        Column("Ended", 1.9), ENTRY,
    )  # fmt: skip
    rows = [
        (
            one.point,
            one.person,
            lines(one.seen, one.note),
            on(story, one),
            off(story, one, "STANDS"),
            one.entries,
        )
        for one in story.releases
    ]
    return Listing("Stored energy released", columns, rows)


def tests(story: Story) -> Listing:
    columns = (
        Column("Point", 3), Column("By, at", 2.3), Column("Readings", 2.8), Column("Instrument", 1.6),
        Column("Result", 1.3, STRONG), Column("Fed", 0.7), Column("What became of it", 2.7), ENTRY,
    )  # fmt: skip
    rows = [
        (
            one.point, lines(one.person, story.clock.short(one.at)), readings(one), one.instrument,
            one.result, one.fed, one.state, one.entries,
        )
        for one in story.tests
    ]  # fmt: skip
    return Listing("Tests that points are dead", columns, rows, empty="None.", note=FED if rows else "")


def readings(one: TestRow) -> str:
    """Two readings a line, so that no pair of conductors is torn apart; the limit below them."""
    whole = [reading.replace(" ", NO_BREAK) for reading in one.readings]
    pairs = [", ".join(whole[start : start + 2]) for start in range(0, len(whole), 2)]
    return lines(*(f"{line}," for line in pairs[:-1]), *pairs[-1:], f"limit {one.limit}" if one.limit else "")


# ── people inside, words said ───────────────────────────────────────────────────────────────────────────


def crew(story: Story) -> Listing:
    columns = (
        Column("Name", 3.6), Column("Padlock", 1.6), Column("Where", 3), Column("Signed on", 2.2),
        Column("Signed off", 2.2), ENTRY,
    )  # fmt: skip
    rows = [
        (one.person, one.padlock, one.point, on(story, one), off(story, one, "STILL ON"), one.entries)
        for one in story.crew
    ]
    return Listing("Crew in the zones", columns, rows, empty="Nobody signed on.")


def words(story: Story, title: str, what: str, how: str, told: Iterable[WordRow]) -> Listing:
    columns = (Column("When", 2), Column("By", 2.6), Column(what, 5), Column(how, 3.2), ENTRY)
    rows = [(story.clock.short(one.at), one.person, one.what, one.how, one.entries) for one in told]
    return Listing(title, columns, rows)


def long_words(story: Story, title: str, told: Iterable[WordRow]) -> Listing:
    """As `words`, for what is said at length."""
    columns = (Column("When", 2), Column("By", 2.4), Column("What", 4), Column("Said", 4.4), ENTRY)
    rows = [(story.clock.short(one.at), one.person, one.what, one.how, one.entries) for one in told]
    return Listing(title, columns, rows)


def defects(story: Story) -> Listing:
    columns = (
        Column("No.", 0.6), Column("Item", 2.8), Column("Defect", 3.6), Column("Found by, at", 2.6),
        Column("End", 4), ENTRY,
    )  # fmt: skip
    rows = [
        (
            str(one.number),
            one.item,
            one.what,
            lines(one.found, story.clock.short(one.at)),
            one.end,
            one.entries,
        )
        for one in story.defects
    ]
    return Listing("Defects", columns, rows)


def sanctions(story: Story) -> Iterator[Pairs]:
    for number, one in enumerate(story.sanctions, start=1):
        yield Pairs(
            f"Sanction for test {number}",
            [
                ("Points freed", one.points),
                ("Limits", one.limits),
                ("Given", f"{one.person}, {story.clock.short(one.at)}; until {story.clock.short(one.until)}"),
                (f"Cycles, {one.allowed} allowed", lines(*one.cycles) or "none begun"),
                ("Ended", one.end),
                ("Entries", one.entries),
            ],
        )


# ── calibration ─────────────────────────────────────────────────────────────────────────────────────────


def of_job(story: Story, job: JobAccount) -> Iterator[Listing | Pairs]:
    yield Pairs(
        f"Calibration job {job.number}",
        [
            ("Machine", job.machine),
            ("Opened", f"{job.person}, {story.clock.short(job.at)}, entry {job.entry}"),
            ("Settings before", job.settings_before),
            ("Settings after", job.settings_after or "not saved yet"),
            ("Reference board", job.reference_board),
            ("Test piece", job.test_piece),
        ],
    )
    yield pre_checks(story, job)
    for axis in job.axes:
        yield from of_axis(story, axis)


def pre_checks(story: Story, job: JobAccount) -> Listing:
    columns = (
        Column("First pieces", 4.4), Column("Points to", 2.4, STRONG), Column("Grounds", 4.2),
        Column("By", 2), Column("When", 2.1), ENTRY,
    )  # fmt: skip
    rows = [
        (
            lines(*one.features), one.outcome, one.grounds, one.person, story.clock.short(one.at),
            str(one.entry),
        )
        for one in job.pre_checks
    ]  # fmt: skip
    return Listing("Pre-check", columns, rows)


def of_axis(story: Story, axis: AxisAccount) -> Iterator[Listing | Pairs]:
    yield Pairs(
        f"{axis.name}: {axis.end}",
        [
            ("Tolerance", axis.tolerance),
            ("Instrument", f"{axis.instrument}. {axis.certificate}."),
        ],
    )
    yield pieces(story, axis.name, axis.pieces)
    yield changes(story, axis.name, axis.changes)
    yield results(story, axis.name, axis.results)


def pieces(story: Story, name: str, found: Sequence[PieceRow]) -> Listing:
    columns = (
        Column("Piece", 0.9), Column("Stage", 2.8), Column("Nominal", 1.7), Column("Measured", 1.7),
        Column("Deviation", 1.7, STRONG), Column("By", 2.5), Column("When", 2.1), ENTRY,
    )  # fmt: skip
    rows = [
        (
            str(one.number), lines(one.stage, one.note), one.nominal, one.measured, one.deviation, one.person,
            story.clock.short(one.at), str(one.entry),
        )
        for one in found
    ]  # fmt: skip
    return Listing(f"{name}: readings", columns, rows)


def changes(story: Story, name: str, found: Sequence[ChangeRow]) -> Listing:
    columns = (
        Column("Changed", 1.3), Column("Old", 1.5), Column("New", 1.5, STRONG),
        Column("The readings said", 5.4), Column("By", 2.2), Column("When", 2.1), ENTRY,
    )  # fmt: skip
    rows = [
        (one.parameter, one.old, one.new, verdict(one), one.person, story.clock.short(one.at), str(one.entry))
        for one in found
    ]
    return Listing(f"{name}: corrections", columns, rows)


def verdict(one: ChangeRow) -> str:
    against = f"AGAINST THE READINGS: {one.override}" if one.override else ""
    back = "GOES BACK on the change that made it worse." if one.goes_back else ""
    return lines(against, back, f"{one.verdict.upper()}. {one.grounds}" if one.verdict else "")


def results(story: Story, name: str, found: Sequence[ResultRow]) -> Listing:
    columns = (
        Column("Result", 1.8), Column("Decision", 1.6, STRONG), Column("Grounds", 6.2), Column("By", 2.2),
        Column("When", 2.1), ENTRY,
    )  # fmt: skip
    rows = [
        (
            one.what, one.decision or "none", grounds(one), one.person, story.clock.short(one.at),
            str(one.entry),
        )
        for one in found
    ]  # fmt: skip
    return Listing(f"{name}: results", columns, rows)


def grounds(one: ResultRow) -> str:
    return ("FURTHER OUT THAN IT WAS FOUND. " if one.worse else "") + one.grounds
