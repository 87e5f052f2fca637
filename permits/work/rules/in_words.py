"""One event in a few plain words, for whoever has to know of it: "Main switch was locked by Odo Holder"."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from . import events as e
from .against import name_of
from .state import Site

# With {by} where a sentence begins with the person; elsewhere "by …" follows, where somebody did it.
SAID: Mapping[type[e.Happened], str] = {
    e.PermitRequested: "{permit} was asked for",
    e.PermitIssued: "{permit} was issued",
    e.PermitCancelled: "{permit} was cancelled",
    e.PermitAccepted: "{permit} was accepted",
    e.PermitExtended: "{permit} was given more time",
    e.CrewNamed: "{person} was named as crew",
    e.AffectedTold: "affected people were told",
    e.LockApplied: "{point} was locked",
    e.LockRemoved: "{by} took a lock off {point}",
    e.StoreReleased: "{point} was released",
    e.ReleaseUndone: "the release of {point} was undone",
    e.PointVerified: "{point} was tested",
    e.VerificationVoided: "the test of {point} became void",
    e.VerificationLapsed: "the test of {point} ran out",
    e.Isolated: "the last point was proven dead",
    e.IsolationLost: "{permit} is not isolated any more ({why})",
    e.CrewSignedOn: "{by} signed on",
    e.CrewSignedOff: "{by} signed off",
    e.MachineChecked: "the machine was checked",
    e.DefectResolved: "a defect was mended",
    e.DefectAccepted: "a defect was accepted",
    e.ConfirmedClear: "{areas} was confirmed clear",
    e.WatchLeft: "{by} left the watch",
    e.ConfirmationsVoided: "the word that {areas} is clear became void",
    e.SanctionGiven: "a test was sanctioned",
    e.CycleBegun: "a test cycle was begun",
    e.ReadyToEnergise: "{by} signed ready to energise",
    e.Reisolating: "the test was over and re-isolating was begun",
    e.SanctionEnded: "the sanction ended ({why})",
    e.JobOpened: "a calibration job was opened",
    e.AxisCorrected: "the correction of an axis was entered",
    e.AxisProven: "the as-left pieces of an axis were judged",
    e.JobClosed: "the calibration job was closed",
    e.HandedBack: "the machine was handed back",
    e.Reenergised: "power was brought back",
    e.ClosureSigned: "{by} signed it closed",
    e.PermitClosed: "{permit} was closed",
    e.ClosedOutOfUse: "{permit} was closed as not proven",
    e.PermitExpired: "the time of {permit} was over",
    e.WorkStopped: "{permit} was stopped or suspended ({why})",
    e.HaltLifted: "what held {permit} up was lifted",
    e.EmergencyDeclared: "an emergency was declared",
    e.EmergencyEnded: "the emergency was ended",
    e.HandoverOffered: "{permit} was handed to {to}",
    e.HolderNamed: "{to} was named as the new holder",
    e.HandoverWithdrawn: "the handover was withdrawn",
    e.HandoverAccepted: "{permit} was taken over",
    e.AbsentLockRemoved: "{owner}'s lock on {point} was taken off in their absence",
    e.AbsentSignedOff: "{owner} was signed off in their absence",
    e.ReturnedTold: "{by} told {person} that their lock was taken off",
    e.PlanAmended: "points were added to the plan",
    e.NoticeAcknowledged: "{by} said that the notice had come",
    e.PaperDeclared: "paper mode was declared",
    e.PaperEnded: "paper mode was ended",
    e.LateEntered: "what happened on paper was entered",
}


def in_words(site: Site, event: e.Event) -> str:
    """The event with the names of people and points; a reason in brackets only where one was given."""
    said = SAID[type(event)]
    told = {
        field.name: value_in_words(site, field.name, getattr(event, field.name)) for field in fields(event)
    }
    by = site.name(event.by) if event.by in site.people or event.by in site.former else ""
    words = said.format(**told | {"by": by or "someone"}).replace(" ()", "")
    return words if "{by}" in said or not by else f"{words} by {by}"


def value_in_words(site: Site, name: str, value: Any) -> Any:
    if name in ("person", "owner", "to"):
        return site.name(value)
    if name == "point":
        return name_of(site, value)
    if name == "areas":
        return ", ".join(name_of(site, area) for area in value)
    return value.rstrip(".") if name == "why" else value
