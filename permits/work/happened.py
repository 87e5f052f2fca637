"""What a site's ledger tells of a permit, or of the whole site, after an entry: as events again."""

from __future__ import annotations

import json
from collections.abc import Iterable

from permits.ledger.models import Entry
from permits.people.models import Site
from permits.work.models import Permit
from permits.work.rules import commands, events
from permits.work.rules.moved_on import ABSENT
from permits.work.rules.written import KINDS, SITE_KINDS, from_data, kind_of

PERSON = "person:"
OF_THE_SITE = SITE_KINDS | {kind_of(each) for each in ABSENT}


def happened_since(site: Site, command: commands.Command, seen: int) -> tuple[events.Event, ...]:
    """What the command's page, which showed the ledger up to entry `seen`, could not know; oldest first.

    Of a command about the whole site: what is of the site, and that an absent person's lock was taken off.
    Two queries, or one where nothing happened or it is about the site.
    """
    after = Entry.objects.filter(head=site.head_id, number__gt=seen).order_by("number")
    if not command.permit:
        return events_of(after.filter(kind__in=OF_THE_SITE))
    last = Permit.objects.filter(site=site, reference=command.permit).values_list("last_entry", flat=True)
    if not any(number > seen for number in last):
        return ()
    return events_of(after.filter(about=f"permit:{command.permit}", kind__in=KINDS))


def person_in(entry: Entry) -> str:
    """Whose entry it is, by reference; "" where it was the clock or the plant."""
    return entry.by.removeprefix(PERSON) if entry.by.startswith(PERSON) else ""


def events_of(entries: Iterable[Entry]) -> tuple[events.Event, ...]:
    return tuple(event_of(entry) for entry in entries)


def event_of(entry: Entry) -> events.Event:
    """The event that an entry tells of."""
    permit = entry.about.removeprefix("permit:") if entry.about.startswith("permit:") else ""
    data = json.loads(entry.body)["data"]
    return from_data(entry.kind, data, permit=permit, by=person_in(entry), at=entry.at)
