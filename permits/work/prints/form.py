"""The printed form of a permit, to carry on with when the server is down: A4, black on white."""

from __future__ import annotations

from collections.abc import Iterator

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Spacer

from permits.plant.prints import fonts
from permits.plant.prints.page import CAUTION, PageFrame, bind, stamp
from permits.plant.prints.placard_rows import text
from permits.work.prints import sections
from permits.work.prints.blanks import Blank, facts, lines, loud, section, together
from permits.work.queries.paper import PaperForm

NOT_HAPPENED = "Anything not written on this form has not happened."
SHORT = "Stop at once, and come out, where this form and the machine do not agree."
ONE_COPY = (
    "One form, kept at the group box: the one with this number. Take no second print of it; take another "
    "sheet only as a continuation, with this number on it."
)
FORM_CAUTION = f"This form does not make a job safe by itself. {CAUTION}"
AGAIN = (
    "Not entered late, and done again on the server before anyone relies on it: every test (prove it dead "
    "again on the server), trying the controls, signing on, confirming areas clear, a sanction for test and "
    "its cycles, a longer time, a handover, lifting a stop, closing."
)


def paper_form(form: PaperForm, *, leads_to: str) -> bytes:
    """The form as a PDF; `leads_to`: the address in its code. The same form gives the same bytes."""
    fonts.register()
    frame = PageFrame(
        site=form.site,
        title=f"Paper form {form.number}",
        leads_to=leads_to,
        printed_at=form.printed_at,
        entries=f"At entry {form.entry}",
        caution=FORM_CAUTION,
    )
    width = frame.room[0]
    return bind(frame, [*head(form, width), *sections.all_of(form, width), *foot(form, width)])


def head(form: PaperForm, width: float) -> Iterator[Flowable]:
    """What it is, how things stood when it was printed, and the one rule of paper."""
    name = f"Permit {form.permit}: carried on by hand" if form.permit else "Permit begun on paper"
    yield text(name, width, size=17, bold=True)
    yield text(form.title, width, size=11, after=1 * mm)
    yield text(f"Form {form.number}", width, size=11, bold=True, after=2 * mm)
    yield loud([(NOT_HAPPENED, 15.5, True), (SHORT, 10.5, True), (ONE_COPY, 8.5, False)], width)
    yield Spacer(1, 3 * mm)
    state = [(f"Printed {stamp(form.printed_at)}, at entry {form.entry}:", 9.5, False), (form.word, 15, True)]
    state += [(words, 9.5, True) for words in form.more]
    state.append(("Everything that a hand writes on this form happened after that.", 9.5, False))
    yield loud(state, width)
    yield Spacer(1, 2 * mm)
    yield from facts(width, form.facts)
    if form.permit:
        inside = ", ".join(f"{on.name} ({on.padlock}, on {on.on_at})" for on in form.crew)
        yield from facts(width, [("Signed on", inside or "Nobody is signed on.")])
    else:
        yield Spacer(1, 2 * mm)
        yield together(lines(width, BEGINS))
    yield Spacer(1, 2 * mm)
    title = "What hangs, or is released, at the points of the plan"
    yield text(title, width, size=10, bold=True, before=2 * mm)
    yield from facts(width, form.hanging or [("Nothing", "No lock of any permit hangs there.")], share=0.4)


BEGINS = (
    (Blank("Work to be done, and why"),),
    (Blank("Permit number, once the server is back"), Blank("From: date, time"), Blank("Until: date, time")),
    (Blank("Crew, by name"),),
    (Blank("Crew, by name (goes on)"),),
)  # fmt: skip


def foot(form: PaperForm, width: float) -> Iterator[Flowable]:
    """Who entered it when the server was back: two people, who sign there as well."""
    where = f"permit {form.permit}" if form.permit else "the permit"
    said = (
        "An officer declares paper mode from the time when the server went down. Then two people enter this "
        f"form at {where}, “Enter what happened on paper”, "
        "line by line in the order of the times, with the number at the head of this page; each signs with "
        "their own PIN."
    )
    parts: list[Flowable] = section(
        sections.COUNT + 1, "When the server is back", "What is entered counts from then on.", width
    )
    if not form.permit:
        ask = "First a permit for the same zones and plan is asked for, issued and accepted on the server."
        parts.append(text(ask, width, size=9, bold=True, after=1 * mm))
    parts += [text(said, width, size=9, after=1 * mm), text(AGAIN, width, size=9, bold=True, after=2 * mm)]
    parts += lines(width, ENTERED)
    yield together(parts)


ENTERED = (
    (Blank("Entered late by", 4), Blank("and by", 4), Blank("on, date", 2), Blank("at, time", 1.6)),
    (Blank("Signature", 4), Blank("Signature", 4), Blank("First entry no.", 2), Blank("Last entry", 1.6)),
    (Blank("Where this form is kept", 4), Blank("What on it could not be entered, and why", 7.6)),
)  # fmt: skip
