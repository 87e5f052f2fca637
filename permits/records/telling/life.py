"""Sentences for a permit's beginning and end: request, issue, accept, tell, hand back, close."""

from __future__ import annotations

from permits.records.names import listed
from permits.records.telling.line import Line, Voice, sentences
from permits.work.rules import events as e
from permits.work.rules.words import Stage

STAGES = {
    Stage.BEFORE: "of the lockout",
    Stage.AFTER: "that the machine starts, after the last lock was off",
}
"""What a notice was about. One of the lockout may come at any time until the machine is handed back."""


def said(event: e.Event, voice: Voice) -> Line | None:
    """The sentence of an event of this topic; None for any other."""
    names, who = voice.names, voice.who(event.by)
    match event:
        case e.PermitRequested():
            return requested(event, voice)
        case e.PermitIssued():
            crew = f"Crew: {names.persons(event.crew)}" if event.crew else ""
            coordinator = f"Coordinator: {names.person(event.coordinator)}" if event.coordinator else ""
            procedures = listed(f"{names.machine(code)}, revision {n}" for code, n in event.procedures)
            to = "themselves" if event.own_issue else names.person(event.holder)
            return Line(
                f"{who} issued the permit to {to}",
                sentences(crew, coordinator, f"Procedure: {procedures}"),
            )
        case e.PermitCancelled():
            return Line(f"{who} cancelled the permit", sentences(f"Why: {event.why}"))
        case e.PermitAccepted():
            return Line(f"{who} accepted the permit")
        case e.PermitExtended():
            return Line(f"{who} gave the permit more time, until {voice.when(event.ends_at)}")
        case e.CrewNamed():
            return Line(f"{who} named {names.person(event.person)} as crew")
        case e.AffectedTold():
            tests = "The notice covers the starts for test" if event.covers_tests else ""
            return Line(
                f"{who} told affected people {STAGES[event.stage]}: {event.whom}, {event.how}",
                sentences(tests),
            )
        case e.HandedBack():
            rest = "From a test: standstill seen, controls in neutral" if event.from_test else ""
            return Line(
                f"{who} handed the machine back",
                sentences("Machine whole, guards on, tools and people out", rest),
            )
        case e.Reenergised():
            service = "in service" if event.in_service else "not in service yet"
            return Line(f"{who} gave power back after a visual check; the machine is {service}")
        case e.ClosureSigned():
            return Line(f"{who} signed the permit closed")
        case e.PermitClosed():
            return Line("The permit is closed")
        case e.ClosedOutOfUse():
            left = f"Left open: {'; '.join(event.left)}" if event.left else ""
            machines = listed(map(names.machine, event.machines))
            return Line(
                f"{who} closed the permit as not proven; out of use: {machines}",
                sentences(f"Why: {event.why}", left),
            )
        case e.PermitExpired():
            inside = f" with {names.persons(event.crew)} still signed on" if event.crew else ""
            return Line(f"The permit's time ran out{inside}")
    return None


def requested(event: e.PermitRequested, voice: Voice) -> Line:
    names = voice.names
    zones = names.points(event.zones)
    keep = f"To stay live: {names.points(event.keep_live)}" if event.keep_live else ""
    lock = f"Plan: lock {names.points(event.lock)}" if event.lock else "Plan: nothing to lock"
    release = f"Release {names.points(event.release)}" if event.release else ""
    cheapest = "" if event.proven_cheapest else "The plan isolates, but is not proven to be the cheapest"
    return Line(
        f"{voice.who(event.by)} asked for permit {event.permit}: {event.kind_of_work} in {zones}",
        sentences(
            f"Reason: {event.reason}",
            f"From {voice.when(event.starts_at)} to {voice.when(event.ends_at)}",
            lock,
            release,
            keep,
            cheapest,
        ),
    )
