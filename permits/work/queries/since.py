"""What happened since a page was shown, for a person who has to decide again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from permits.work.rules import state
from permits.work.rules.moved_on import PageStale, said_of

MOST = 12


@dataclass(frozen=True, slots=True)
class Since:
    """`matters`: the step that was asked cannot stand beside it."""

    at: datetime
    what: str
    matters: bool


def since(site: state.Site, refused: object) -> list[Since]:
    """What the step cannot stand beside, then what else happened; each oldest first; of many, the last ones.

    Empty where it was not refused for that.
    """
    if not isinstance(refused, PageStale):
        return []
    matters = refused.against[-MOST:]
    besides = [event for event in refused.since if event not in refused.against]
    others = besides[max(0, len(besides) - MOST + len(matters)) :]
    found = [Since(event.at, said_of(site, event), matters=True) for event in matters]
    return found + [Since(event.at, said_of(site, event), matters=False) for event in others]
