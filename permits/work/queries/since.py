"""What happened to a permit since a page showed it, for a person who has to decide again."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime

from permits.ledger.models import Entry
from permits.people.models import Site
from permits.work.queries.look import Look
from permits.work.rules import events, state
from permits.work.rules.against import name_of
from permits.work.rules.written import KINDS, from_data

MOST = 12


@dataclass(frozen=True, slots=True)
class Since:
    at: datetime
    what: str


def since(site: Site, looked: Look, seen: int) -> list[Since]:
    """The permit's entries after number `seen`, oldest first; of many, the last ones. One query."""
    entries = Entry.objects.filter(
        head=site.head_id, about=f"permit:{looked.permit.id}", number__gt=seen, kind__in=KINDS
    ).order_by("-number")[:MOST]
    found = [Since(entry.at, in_words(looked.site, event_of(entry))) for entry in entries]
    return found[::-1]


def event_of(entry: Entry) -> events.Event:
    body = json.loads(entry.body)
    permit, by = entry.about.removeprefix("permit:"), entry.by.removeprefix("person:")
    return from_data(entry.kind, body["data"], permit=permit, by=by, at=entry.at)


def in_words(site: state.Site, event: events.Event) -> str:
    """ "Lock applied: =L3.C1+H3-QB1 Cell main disconnector (Odo Kestrelman)"."""
    kind = next(kind for kind, made in KINDS.items() if isinstance(event, made))
    said = kind.replace("_", " ").capitalize()
    if point := getattr(event, "point", ""):
        said += f": {name_of(site, point)}"
    elif why := getattr(event, "why", ""):
        said += f": {why}"
    return f"{said} ({site.name(event.by)})" if event.by in site.people else said
