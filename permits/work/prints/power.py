"""The form where power comes next: a sanction for test, areas clear, hand-back, power back, closed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Spacer

from permits.plant.prints.placard_rows import text
from permits.work.prints.blanks import BODY, SMALL, Blank, lines, section, together
from permits.work.prints.entering import entering
from permits.work.prints.people import tell_row, tells
from permits.work.queries.paper import PaperForm
from permits.work.rules import commands as c
from permits.work.rules.words import Stage


def sanction(form: PaperForm, number: int, width: float) -> Iterator[Flowable]:
    """Leave to energise for a test, by an issuer's signature; areas clear before, isolated again after."""
    said = entering(c.GiveSanction, c.ConfirmClear, c.EndSanction, c.Reisolate)
    rows: list[Sequence[Blank]] = [
        (Blank("Points that may be energised"),),
        (Blank("Limits: what may be done, how fast, who stands where"),),
        (Blank("Cycles, at most", 1.4), Blank("Ends at", 1.6), Blank("Issuer", 3), Blank("Signature", 3),
         Blank("Time", 1.3)),
        (Blank("Everyone signed off", 1.8, tick=True), Blank("Tools out", 1.2, tick=True),
         Blank("Guards on", 1.2, tick=True), Blank("People told of the test", 1.9, tick=True),
         Blank("Holder", 2.2), Blank("Time", 1.2)),
        [Blank(words) for cycle in (1, 2, 3) for words in (f"Cycle {cycle} from", "to")],
        (Blank("Ended: why", 4), Blank("By", 2.4), Blank("Time", 1.3), Blank("Isolated again: time", 2),
         Blank("By", 2.4)),
    ]  # fmt: skip
    note = (
        "Each lock that comes off or goes on again is written at its point, in the plan. After the test "
        "every reading above is void: lock, release and prove it dead again before anyone goes in."
    )
    yield together([
        *section(number, "Sanction for test", said, width),
        text(note, width, size=BODY, after=1.5 * mm), *lines(width, rows), *areas(form, width),
    ])  # fmt: skip


def areas(form: PaperForm, width: float) -> list[Flowable]:
    """A row a danger area: who says that nobody is in it, how they know, and when."""
    if not form.areas:
        return [text("No danger area of any machine is reached.", width, size=SMALL, before=1 * mm)]
    title = text("Danger areas clear of people", width, size=BODY, bold=True, before=2 * mm, after=1 * mm)
    said = (Blank("By radio: who sees it", 2.4), Blank("Confirmed by", 3), Blank("Time", 1.3))
    rows = [(Blank(area, 3, tick=True), *said) for area in form.areas]
    return [Spacer(1, 2 * mm), title, *lines(width, rows, height=9 * mm)]


def hand_back(_form: PaperForm, number: int, width: float) -> Iterator[Flowable]:
    ticks = (
        Blank("Machine whole", tick=True), Blank("Guards on", tick=True), Blank("Tools out", tick=True),
        Blank("People out", tick=True), Blank("Standstill", tick=True), Blank("Controls neutral", tick=True),
    )  # fmt: skip
    note = "Then each takes off their own locks, and writes it at the point, in the plan."
    signed = (Blank("Handed back by, the holder", 3), Blank("Signature", 3), Blank("Time", 1.4))
    yield together([
        *section(number, "Hand back", entering(c.HandBack), width),
        text(note, width, size=BODY, after=1.5 * mm),
        *lines(width, [ticks, signed]),
    ])  # fmt: skip


STARTING = (c.TellAffected, c.ConfirmClear, c.Reenergise)


def power(form: PaperForm, number: int, width: float) -> Iterator[Flowable]:
    """People told after the last lock, areas clear, and who brings power back."""
    signed = (
        Blank("Every lock is off", 1.8, tick=True), Blank("Everyone is told", 1.8, tick=True),
        Blank("Areas clear", 1.6, tick=True), Blank("Power brought back by", 3), Blank("Time", 1.3),
    )  # fmt: skip
    yield together([
        *section(number, "Power back", entering(*STARTING, too_early=c.TellAffected), width),
        text("People told after the last lock is off", width, size=BODY, bold=True, after=1 * mm),
        *lines(width, [*tells(form, Stage.AFTER), tell_row()]), *areas(form, width),
        Spacer(1, 2 * mm), *lines(width, [signed]),
    ])  # fmt: skip


def closing(_form: PaperForm, number: int, width: float) -> Iterator[Flowable]:
    rows = [
        (Blank("Holder", 3), Blank("Signature", 3), Blank("Date, time", 2)),
        (Blank("Issuer", 3), Blank("Signature", 3), Blank("Date, time", 2)),
    ]
    yield together([*section(number, "Closed", entering(c.SignClosed), width), *lines(width, rows)])
