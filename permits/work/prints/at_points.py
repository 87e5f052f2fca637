"""The form at the points of the plan: what comes on and off them, and what is read there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from permits.plant.prints.placard_rows import text
from permits.work.prints.blanks import BODY, Blank, lines, point_head, section, together
from permits.work.prints.entering import entering
from permits.work.queries.paper import PaperForm
from permits.work.queries.paper_points import PaperPoint, PaperTest
from permits.work.rules import commands as c

READINGS_A_LINE = 3


def plan(form: PaperForm, number: int, width: float) -> Iterator[Flowable]:
    """A block a point, in the plan's order: what hangs filled in, and room for what comes on and off."""
    said = entering(c.ApplyLock, c.ReleaseStore, c.RemoveLocks)
    first: list[Flowable] = [
        *section(number, "The plan, in this order", said, width, room=70 * mm),
        text("Your own lock, your own tag. Take off only what is yours.", width, size=BODY, after=1.5 * mm),
    ]
    for point in form.points:
        yield together([*first, *point_block(point, width)])
        first = []


def point_block(point: PaperPoint, width: float) -> list[Flowable]:
    name = ", ".join(filter(None, (point.designation, point.name)))
    others = f"Hung here too when printed, and stays: {point.others}" if point.others else ""
    said = [(name, True), (point.place, False), (point.how, point.does != "Lock"), (others, True)]
    rows: list[Sequence[Blank]] = []
    if point.does == "Release":
        if was := point.release:
            rows.append(release_row(was.how, was.by, was.at))
        rows.append(release_row())
    if point.does == "Tag":
        rows.append((Blank("Measure done besides the tag", 5), Blank("By", 2.6), Blank("Time", 1.4)))
    if point.takes_lock or point.holds:
        held = [lock_row(lock.padlock, lock.tag, lock.seen, lock.by, lock.at) for lock in point.holds]
        rows += [*held, *([lock_row()] * (1 if held else 2))]
    return [point_head(width, point.number, point.does, said, point.plate), *lines(width, rows)]


def release_row(how: str = "", by: str = "", at: str = "") -> Sequence[Blank]:
    return Blank("Released: how", 5, how), Blank("By", 2.6, by), Blank("Time", 1.4, at)


def lock_row(padlock: str = "", tag: str = "", seen: str = "", by: str = "", at: str = "") -> Sequence[Blank]:
    return (
        Blank("Padlock no.", 2.2, padlock), Blank("Danger tag no.", 2.2, tag),
        Blank("Seen in position", 2.2, seen), Blank("On: by", 3, by), Blank("On: time", 1.5, at),
        Blank("Off: by", 2.8), Blank("Off: time", 1.5),
    )  # fmt: skip


def tests(form: PaperForm, number: int, width: float) -> Iterator[Flowable]:
    """A block a point with a blank for each conductor combination, then the controls of each machine."""
    said = entering(c.VerifyMachine, c.TryStart)
    first: list[Flowable] = [
        *section(number, "Prove it dead", f"{said} Prove it dead again on the server.", width, room=70 * mm),
        text(ONLY_THEN, width, size=BODY, after=1.5 * mm),
    ]
    for test in form.tests:
        yield together([*first, *test_block(test, width)])
        first = []
    for machine in form.machines:
        title = f"Try the controls of {machine}: nobody in reach, their own supply is live"
        yield together([text(title, width, size=BODY, bold=True, after=1 * mm), *lines(width, [CONTROLS])])


ONLY_THEN = (
    "Only after the last lock and the last release. The tester is proven on a known source before and after. "
    "A reading above its limit: it is not dead, nobody goes in."
)
CONTROLS = (
    Blank("Nobody in reach", 1.7, tick=True), Blank("Tried, and it stayed dead", 2.1, tick=True),
    Blank("Back in neutral", 1.7, tick=True), Blank("By", 2.6), Blank("Time", 1.4),
)  # fmt: skip


def test_block(test: PaperTest, width: float) -> list[Flowable]:
    limit = f"{test.quantity}: dead at {test.limit} or less"
    said = " ".join(filter(None, (test.waits, test.again)))
    stands = f"When printed: {test.stands}."
    name = ", ".join(filter(None, (test.designation, test.name)))
    shown = [(name, True), (limit, True), (said, True), (stands, False)]
    rows = [pairs_row(test, start) for start in range(0, len(test.pairs), READINGS_A_LINE)]
    rows.append(signed_row(test))
    if test.again:
        once = Blank(f"Read again (at most {test.limit})", 2.4)
        rows += [(once, Blank("By", 2), Blank("Time", 1.2), once, Blank("By", 2), Blank("Time", 1.2))] * 2
    return [point_head(width, test.number, "Test", shown, test.plate), *lines(width, rows)]


def pairs_row(test: PaperTest, start: int) -> Sequence[Blank]:
    """Up to three readings beside each other, each with its combination and its limit."""
    some = test.pairs[start : start + READINGS_A_LINE]
    row = [Blank(f"{pair or 'Reading'} (at most {test.limit})") for pair in some]
    if len(test.pairs) > READINGS_A_LINE:
        row += [Blank("–")] * (READINGS_A_LINE - len(some))
    return row


def signed_row(test: PaperTest) -> Sequence[Blank]:
    proven = (Blank("Proven before", 1.6, tick=True), Blank("Proven after", 1.6, tick=True))
    by = (Blank("By", 2.6), Blank("Time", 1.3))
    return (Blank("Instrument no.", 2), *(proven if test.proves_instrument else ()), *by)
