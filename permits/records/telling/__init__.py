"""Every kind of ledger entry as a sentence in the plant's words. One file per topic."""

from __future__ import annotations

from permits.records.entries import UNREADABLE, Told
from permits.records.telling import around, calibration, inside, life, otherwise, points, site_wide
from permits.records.telling.line import Line, Voice

__all__ = ["Line", "Voice", "tell"]

OF_EVENTS = (life.said, points.said, inside.said, otherwise.said, site_wide.said)
OF_FACTS = (calibration.said, around.said, site_wide.policy_said)


def tell(told: Told, voice: Voice) -> Line:
    """What the entry says. One that this version cannot read is shown as it stands, never left out."""
    try:
        found = spoken(told, voice)
    except UNREADABLE:
        found = None
    if found is not None:
        return found
    kind = told.kind.replace("_", " ").capitalize()
    data = ", ".join(f"{name}: {value}" for name, value in told.data.items())
    return Line(f"{kind} (not read by this version)", data)


def spoken(told: Told, voice: Voice) -> Line | None:
    """The sentence, or None for an unknown kind. Raises KeyError and others for a damaged entry."""
    if told.event is not None:
        return next((line for say in OF_EVENTS if (line := say(told.event, voice))), None)
    return next((line for say in OF_FACTS if (line := say(told, voice))), None)
