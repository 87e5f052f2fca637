"""The form about people: who signed out, who was told, who is inside; checks, stops, handovers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from permits.plant.prints.placard_rows import text
from permits.work.prints.blanks import BODY, Blank, lines, section, together
from permits.work.prints.entering import entering
from permits.work.queries.paper import PaperForm
from permits.work.rules import commands as c
from permits.work.rules.words import Stage

CREW_ROWS = 8
SPARE_ROWS = 3


def told(form: PaperForm, number: int, width: float) -> Iterator[Flowable]:
    """Issue and acceptance where they are still to come, and the notices of the lockout."""
    commands = (c.IssuePermit, c.AcceptPermit) if form.before_issue else ()
    title = "Signed out, people told" if form.before_issue else "Told of the lockout"
    rows: list[Sequence[Blank]] = []
    if form.before_issue:
        signed = (Blank("Signature", 3), Blank("Date, time", 2))
        rows += [(Blank(ISSUES, 5), *signed), (Blank(ACCEPTS, 5), *signed)]
    rows += [*tells(form, Stage.BEFORE), tell_row()]
    yield together([*section(number, title, entering(*commands, c.TellAffected), width), *lines(width, rows)])


ISSUES = "Issuer: plan and procedure are right for this work. Name"
ACCEPTS = "Holder: knows the energies, the hazards, the means of control. Name"


def tells(form: PaperForm, stage: Stage) -> list[Sequence[Blank]]:
    """A row for each notice that was given before the form was printed."""
    return [
        tell_row(one.whom, one.how, "yes" if one.of_tests else "no", one.by, one.at)
        for one in form.notices
        if one.stage is stage
    ]


def tell_row(
    whom: str = "", how: str = "", of_tests: str = "", by: str = "", at: str = ""
) -> Sequence[Blank]:
    return (
        Blank("Whom", 3.2, whom), Blank("How", 2.4, how), Blank("Also of tests?", 1.5, of_tests),
        Blank("By", 2.6, by), Blank("Time", 1.3, at),
    )  # fmt: skip


def crew(form: PaperForm, number: int, width: float) -> Iterator[Flowable]:
    """Those who are signed on, and rows for whoever follows; eight at least."""
    blank = max(CREW_ROWS - len(form.crew), SPARE_ROWS)
    rows = [crew_row(on.name, on.padlock, on.on_at) for on in form.crew] + [crew_row()] * blank
    said = entering(c.SignOnCrew, c.SignOffCrew)
    note = "Nobody goes in before every point is proven dead, or without their own padlock on the group box."
    parts = [*section(number, "Crew in the zones", said, width), text(note, width, size=BODY, after=1.5 * mm)]
    yield together([*parts, *lines(width, rows)])


def crew_row(name: str = "", padlock: str = "", on_at: str = "") -> Sequence[Blank]:
    return (
        Blank("Name", 4, name), Blank("Padlock on the box", 2.4, padlock), Blank("On at", 2, on_at),
        Blank("Off at", 1.8), Blank("Signature, off", 2.2),
    )  # fmt: skip


def check(form: PaperForm, number: int, width: float) -> Iterator[Flowable]:
    rows: list[Sequence[Blank]] = [
        (Blank(item, 3.4, tick=True), Blank("Defect: what", 4), Blank("Put right: how, by, time", 3.4))
        for item in form.checks
    ]
    rows.append((Blank("Checked by", 3), Blank("Time", 1.4)))
    note = "Tick what is in order; write down what is not. Nothing is adjusted before a defect is put right."
    yield together([
        *section(number, "Machine check", entering(c.RecordMachineCheck), width),
        text(note, width, size=BODY, after=1.5 * mm),
        *([text(form.checked, width, size=BODY, bold=True, after=1.5 * mm)] if form.checked else []),
        *lines(width, rows, height=9 * mm),
    ])  # fmt: skip


def stop(_form: PaperForm, number: int, width: float) -> Iterator[Flowable]:
    stopped = (Blank("Stopped or suspended by", 2.6), Blank("Time", 1.3), Blank("Why", 6))
    lifted = (
        Blank("Lifted by", 2.6), Blank("Time", 1.3), Blank("How the reason was removed", 4),
        Blank("Signature", 2),
    )  # fmt: skip
    note = "Anyone may stop the work. Call it out, everyone comes out, then write it."
    yield together([
        *section(number, "Stop", entering(c.StopWork, c.SuspendPermit, c.LiftHalt), width),
        text(note, width, size=BODY, bold=True, after=1.5 * mm),
        *lines(width, [stopped, lifted, stopped, lifted]),
    ])  # fmt: skip


def longer(_form: PaperForm, number: int, width: float) -> Iterator[Flowable]:
    """A longer time, and another holder, by signature."""
    rows = [
        (Blank("Runs until: date, time", 3), Blank("Issuer", 3), Blank("Signature", 3), Blank("Time", 1.3)),
        (Blank("New holder, who knows energies and hazards", 3), Blank("Signature", 3),
         Blank("Old holder: signature", 3), Blank("Time", 1.3)),
    ]  # fmt: skip
    said = entering(c.ExtendPermit, c.AcceptHandover)
    yield together([*section(number, "Longer, or handed over", said, width), *lines(width, rows)])
