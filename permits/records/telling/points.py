"""Sentences for what happens at points: locks, releases, tests, and what they prove."""

from __future__ import annotations

from permits.records.telling.line import Line, Voice, count, number, sentences, with_unit
from permits.work.rules import events as e
from permits.work.rules.proving import TRY_START
from permits.work.rules.words import Reading, Verification


def said(event: e.Event, voice: Voice) -> Line | None:
    """The sentence of an event of this topic; None for any other."""
    names, who = voice.names, voice.who(event.by)
    match event:
        case e.LockApplied():
            return locked(event, voice)
        case e.LockRemoved():
            theirs = f"{'danger tag' if event.was_tag else 'padlock'} {event.padlock}"
            return Line(f"{who} took their {theirs} off {names.point(event.point)}")
        case e.StoreReleased():
            waits = (
                f"A reading counts from {voice.when(event.counts_from)} on"
                if event.counts_from > event.at
                else ""
            )
            return Line(
                f"{who} released {names.point(event.point)}", sentences(f"How: {event.method}", waits)
            )
        case e.ReleaseUndone():
            return Line(f"{names.point(event.point)} is no longer released: it can hold energy again")
        case e.PointVerified():
            return tested(event, voice)
        case e.VerificationVoided():
            return Line(f"The test of {names.point(event.point)} is void: {event.why}")
        case e.VerificationLapsed():
            return Line(f"The test of {names.point(event.point)} lapsed: it was due to be tested again")
        case e.Isolated():
            return Line("Proven dead: every lock, release and test of the plan stands")
        case e.IsolationLost():
            path = f"The path: {' → '.join(event.path)}" if event.path else ""
            out = f"Called out: {names.persons(event.crew)}" if event.crew else "Nobody was signed on"
            return Line(f"Not proven dead any more: {event.why}", sentences(path, out))
    return None


def locked(event: e.LockApplied, voice: Voice) -> Line:
    who, point = voice.who(event.by), voice.names.point(event.point)
    lock = f"padlock {event.padlock}, danger tag {event.tag}"
    typed = "; code typed by hand" if event.typed else ""
    if event.measure_done:
        return Line(
            f"{who} tagged {point}, which takes no lock, with danger tag {event.padlock}; "
            f"seen {event.position}{typed}",
            sentences(f"Done besides: {event.measure_done}"),
        )
    if event.position is None:
        return Line(f"{who} hung {lock} on what holds {point} released{typed}")
    return Line(f"{who} locked {point} with {lock}; seen {event.position}{typed}")


def tested(event: e.PointVerified, voice: Voice) -> Line:
    who, point = voice.who(event.by), voice.names.point(event.point)
    fed = "Energy stood upstream of the point" if event.fed else "Nothing fed the point when it was tested"
    lapses = f"To be tested again before {voice.when(event.lapses_at)}" if event.lapses_at else ""
    if event.method == TRY_START:
        result = "nothing started" if event.passed else "FAILED, it started"
        alone = (
            "" if event.counts or not event.passed else "It confirms a reading and does not stand in for one"
        )
        return Line(f"{who} tried the controls for {point}: {result}", sentences(alone, fed, lapses))
    early = "" if event.counts else "Does not count: read before the waiting time was over"
    return Line(
        f"{who} tested {point}: {result_of(event)}",
        sentences(", ".join(each_reading(event)), instrument_of(event), early, fed, lapses),
    )


def result_of(event: e.PointVerified) -> str:
    """What the readings show: "no energy, 6 readings within 50 V", or which of them failed."""
    limit = with_unit(event.limit, event.unit)
    if event.passed:
        return f"passed, {count(event.readings, 'reading', 'readings')} within {limit}"
    over = [r for r in event.readings if abs(r.value) > event.limit]
    shown = ", ".join(pair(r, with_unit(r.value, r.unit)) for r in over)
    return f"FAILED, {shown} over the limit of {limit}"


def each_reading(event: e.PointVerified | Verification) -> list[str]:
    """Every reading; the unit once, after the last."""
    shown = [pair(r, number(r.value)) for r in event.readings]
    return [*shown[:-1], f"{shown[-1]} {event.unit}".strip()] if shown else []


def pair(reading: Reading, value: str) -> str:
    """ "L1-L2: 231", or the value alone where no conductors are named."""
    return f"{reading.combination}: {value}" if reading.combination else value


def instrument_of(event: e.PointVerified) -> str:
    return f"Instrument {event.instrument}" if event.instrument else ""
