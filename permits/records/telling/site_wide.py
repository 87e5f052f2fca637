"""Sentences for the whole site: emergency, paper mode, who was told on coming back, changed numbers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from permits.records.entries import Told
from permits.records.telling.line import Line, Voice, sentences
from permits.work.rules import events as e
from permits.work.rules.policy import CHANGED, SETTINGS


def said(event: e.Event, voice: Voice) -> Line | None:
    """The sentence of an event of the whole site; None for any other."""
    names, who = voice.names, voice.who(event.by)
    match event:
        case e.EmergencyDeclared():
            return Line(
                f"{who} declared an emergency: the whole site is stopped", sentences(f"Why: {event.why}")
            )
        case e.EmergencyEnded():
            return Line(f"{who} ended the emergency", sentences(f"How: {event.how}"))
        case e.ReturnedTold():
            return Line(
                f"{names.person(event.person)}, back on site, was told that their lock had been taken off; "
                f"written down by {who}",
                sentences(f"How: {event.how}"),
            )
        case e.PaperDeclared():
            return Line(
                f"{who} declared paper mode: printed forms carried on from {voice.when(event.since)}",
                sentences(f"Why: {event.why}"),
            )
        case e.PaperEnded():
            return Line(f"{who} ended paper mode: everything is entered", sentences(f"How: {event.how}"))
    return None


def policy_said(told: Told, voice: Voice) -> Line | None:
    """The sentence of a change of the site's numbers; None for any other fact."""
    if told.kind != CHANGED:
        return None
    changes = sentences(*numbers(told.data["before"], told.data["after"]))
    return Line(f"{voice.names.author(told.by)} changed the site's numbers", changes)


def numbers(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[str]:
    """Each number that changed, before and now. One that an old entry does not have is left out."""
    both = [one for one in SETTINGS if one.field in before and one.field in after]
    return [
        f"{one.name}: {one.shown(before[one.field])} before, {one.shown(after[one.field])} now"
        for one in both
        if before[one.field] != after[one.field]
    ]
