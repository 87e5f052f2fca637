"""What a person was told at a site, and how much of it they have not read."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import F

from permits.people.models import Person, Site
from permits.work.models import Message

MOST = 200


@dataclass(frozen=True, slots=True)
class MessageLine:
    """One message. `by`: who did what it tells of, "" for nobody; `to_acknowledge`: it asks for an answer."""

    number: int
    permit: str
    text: str
    by: str
    at: datetime
    urgent: bool
    read: bool
    to_acknowledge: bool


@dataclass(frozen=True, slots=True)
class Unread:
    """`count` of a person's unread messages; `urgent`: the newest urgent one among them, "" for none."""

    count: int = 0
    urgent: str = ""
    number: int = 0
    permit: str = ""


def messages_of(site: Site, person: str) -> list[MessageLine]:
    """Unread first, the urgent among them foremost, then the newest; of many, the last ones. Two queries."""
    mine = Message.objects.filter(site=site, person=person)
    found = list(mine.order_by(F("read_at").asc(nulls_first=True), "-entry")[:MOST])
    names = dict(Person.objects.filter(ref__in={m.by for m in found}).values_list("ref", "name"))
    lines = [
        MessageLine(
            number=m.pk,
            permit=m.permit,
            text=m.text,
            by=names.get(m.by, ""),
            at=m.at,
            urgent=m.urgent,
            read=m.read_at is not None,
            to_acknowledge=m.kind == "AFFECTED_TOLD",
        )
        for m in found
    ]
    return sorted(lines, key=lambda line: (line.read, line.urgent is line.read, -line.at.timestamp()))


def unread_of(site: Site, person: str) -> Unread:
    """One query; the newest urgent message is the one that is shown."""
    rows = list(
        Message.objects.filter(site=site, person=person, read_at=None)
        .order_by("-urgent", "-entry")
        .values_list("urgent", "text", "pk", "permit")
    )
    if not rows:
        return Unread()
    urgent, text, number, permit = rows[0]
    return Unread(len(rows), text, number, permit) if urgent else Unread(len(rows))
