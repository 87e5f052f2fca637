"""Sentences for the work itself: crew, machine check, areas confirmed clear, tests under power, jobs."""

from __future__ import annotations

from permits.records.telling.line import Line, Voice, count, sentences
from permits.work.rules import events as e
from permits.work.rules.words import CHECK_ITEMS, CheckItem, Finding, Seen

ITEMS = dict(CHECK_ITEMS)


def how_seen(event: e.ConfirmedClear, voice: Voice) -> str:
    """Who saw the areas; entries from before somebody had to be named name nobody."""
    if event.how is Seen.SELF:
        return "seen by themselves"
    return f"by radio, seen by {voice.names.person(event.seen_by) if event.seen_by else 'nobody named'}"


def said(event: e.Event, voice: Voice) -> Line | None:
    """The sentence of an event of this topic; None for any other."""
    who = voice.who(event.by)
    match event:
        case e.CrewSignedOn():
            lock = (
                f"padlock {event.padlock} on the group box"
                if event.padlock
                else "their own locks on every point"
            )
            return Line(f"{who} signed on: {lock}")
        case e.CrewSignedOff():
            box = f", padlock {event.padlock} off the group box" if event.padlock else ""
            return Line(f"{who} signed off{box}")
        case e.MachineChecked():
            return checked(event, voice)
        case e.DefectResolved():
            return Line(f"{who} mended defect {event.defect + 1}", sentences(f"How: {event.how}"))
        case e.DefectAccepted():
            return Line(f"{who} accepted defect {event.defect + 1} as it is", sentences(f"Why: {event.why}"))
        case e.JobOpened():
            return Line(f"{who} opened calibration job {event.job} on {voice.names.machine(event.machine)}")
        case e.AxisCorrected():
            return Line(
                f"{who} corrected {voice.names.axis(event.axis)} in job {event.job}: an as-left check is owed"
            )
        case e.AxisProven():
            return Line(
                f"{who} made the as-left check of {voice.names.axis(event.axis)} in job {event.job}",
                sentences("" if event.lifts else "What an earlier permit left unproven still owes its own"),
            )
        case e.JobClosed():
            return Line(f"{who} closed calibration job {event.job}")
    return under_test(event, voice)


def under_test(event: e.Event, voice: Voice) -> Line | None:
    names, who = voice.names, voice.who(event.by)
    match event:
        case e.ConfirmedClear():
            watch = "; stays there and keeps watch" if event.watching else ""
            left = f"No longer vouches for {names.points(event.elsewhere)}" if event.elsewhere else ""
            how = how_seen(event, voice)
            return Line(
                f"{who} confirmed clear of people: {names.points(event.areas)}, {how}{watch}",
                sentences(left),
            )
        case e.WatchLeft():
            return Line(f"{who} left the watch")
        case e.ConfirmationsVoided():
            return Line(
                f"No longer confirmed clear: {names.points(event.areas)}",
                sentences(f"{who} went in, or no longer sees it"),
            )
        case e.SanctionGiven():
            return Line(
                f"{who} sanctioned a test: {names.points(event.points)} may be energised",
                sentences(
                    f"Limits: {event.limits}",
                    count(event.cycles, "cycle", "cycles"),
                    f"Until {voice.when(event.until)}",
                ),
            )
        case e.CycleBegun():
            return Line(f"{who} began test cycle {event.cycle}: tools out, guards on, nobody inside")
        case e.ReadyToEnergise():
            return Line(f"{who} is ready to energise")
        case e.Reisolating():
            return Line(f"{who} began to isolate again: every test is void")
        case e.SanctionEnded():
            return Line(f"The sanction for test ended: {event.why}")
    return None


def checked(event: e.MachineChecked, voice: Voice) -> Line:
    defects = [item for item in event.items if item.finding is Finding.DEFECT]
    found = count(defects, "defect", "defects") if defects else "everything in order"
    return Line(
        f"{voice.who(event.by)} checked the machine: {found}",
        sentences(*(item_in_words(item) for item in event.items)),
    )


def item_in_words(item: CheckItem) -> str:
    note = f" ({item.note})" if item.note else ""
    return f"{ITEMS.get(item.item, item.item)}: {item.finding}{note}"
