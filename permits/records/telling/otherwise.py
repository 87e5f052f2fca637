"""Sentences for what goes otherwise at one permit: stops, handovers, absent people, late entries."""

from __future__ import annotations

from permits.records.telling.line import Line, Voice, sentences
from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.words import HaltKind

STOPS = {
    HaltKind.STOP: "{who} stopped the work",
    HaltKind.SUSPENSION: "{who} suspended the permit",
    HaltKind.EMERGENCY: "{who} stopped the work together with the whole site: emergency",
    HaltKind.PLANT: "A change of the plant by {who} stopped the work",
}

LATE: dict[str, str] = {
    c.TellAffected.__name__: "affected people told",
    c.ApplyLock.__name__: "a lock put on",
    c.ReleaseStore.__name__: "a store released",
    c.SignOffCrew.__name__: "a crew member signed off",
    c.RecordMachineCheck.__name__: "the machine checked",
    c.Reisolate.__name__: "isolating again",
    c.EndSanction.__name__: "the sanction for test ended",
    c.ConfirmClear.__name__: "areas confirmed clear",
    c.LeaveWatch.__name__: "a watch left",
    c.HandBack.__name__: "the machine handed back",
    c.RemoveLocks.__name__: "locks taken off",
    c.Reenergise.__name__: "power given back",
    c.StopWork.__name__: "work stopped",
    c.SuspendPermit.__name__: "the permit suspended",
    c.CancelPermit.__name__: "the permit cancelled",
}
"""What may be entered late, as the entry before it names it."""


def said(event: e.Event, voice: Voice) -> Line | None:
    """The sentence of an event of this topic; None for any other."""
    names, who = voice.names, voice.who(event.by)
    match event:
        case e.WorkStopped():
            return stopped(event, voice)
        case e.HaltLifted():
            return Line(f"{who} lifted what held the permit up", sentences(f"How: {event.how}"))
        case e.HandoverOffered():
            return Line(f"{who} offered to hand the permit over to {names.person(event.to)}")
        case e.HolderNamed():
            return Line(
                f"{who} named {names.person(event.to)} as the new holder: the old one is absent",
                sentences(f"Why: {event.why}"),
            )
        case e.HandoverWithdrawn():
            why = f"Why: {event.why}" if event.why else ""
            return Line(f"{who} withdrew the handover", sentences(why))
        case e.HandoverAccepted():
            own = "Issuer and holder are one person from now on" if event.own_issue else ""
            return Line(f"{who} took the permit over from {names.person(event.before)}", sentences(own))
        case e.PlanAmended():
            return amended(event, voice)
        case e.NoticeAcknowledged():
            return Line(f"{who} acknowledged notice {event.notice + 1}: it has reached them")
        case e.LateEntered():
            return entered_late(event, voice)
    return absent(event, voice)


def stopped(event: e.WorkStopped, voice: Voice) -> Line:
    out = f"Called out: {voice.names.persons(event.crew)}" if event.crew else "Nobody was signed on"
    return Line(
        STOPS[event.kind].format(who=voice.who(event.by)),
        sentences(f"Why: {event.why}", out),
    )


def absent(event: e.Event, voice: Voice) -> Line | None:
    names, who = voice.names, voice.who(event.by)
    match event:
        case e.AbsentLockRemoved():
            return Line(
                f"{who}, with {names.person(event.second)}, took padlock {event.padlock} of "
                f"{names.person(event.owner)} off {names.point(event.point)} in their absence",
                sentences(f"Not on site: {event.not_on_site}", f"Sought: {event.tried}"),
            )
        case e.AbsentSignedOff():
            box = f", padlock {event.padlock} off the group box" if event.padlock else ""
            return Line(
                f"{who}, with {names.person(event.second)}, signed {names.person(event.owner)} off in their "
                f"absence{box}",
                sentences(
                    f"Not on site: {event.not_on_site}",
                    f"Sought: {event.tried}",
                    f"Zones searched: {event.searched}",
                ),
            )
    return None


def amended(event: e.PlanAmended, voice: Voice) -> Line:
    names = voice.names
    lock = f"lock {names.points(event.lock)}" if event.lock else ""
    release = f"release {names.points(event.release)}" if event.release else ""
    added = "; ".join(filter(None, (lock, release)))
    return Line(f"{voice.who(event.by)} added to the plan: {added}", sentences(f"Why: {event.why}"))


def entered_late(event: e.LateEntered, voice: Voice) -> Line:
    names = voice.names
    what = LATE.get(event.what, event.what)
    follow = "entry is" if event.entries == 1 else f"{event.entries} entries are"
    happened = f"{what} at {voice.when(event.happened_at)}"
    return Line(
        f"{voice.who(event.by)} entered late, from form {event.form}: {happened}",
        sentences(
            f"Vouched for by {names.person(event.by)} and {names.person(event.second)}",
            f"The next {follow} what happened then",
        ),
    )
