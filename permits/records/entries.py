"""Ledger entries read back: what an entry says, and the permit's event that it tells of, if any."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import InvalidOperation
from typing import Any

from django.db.models import QuerySet

from permits.ledger.body import body_digest
from permits.ledger.models import Entry
from permits.work.rules import events as e
from permits.work.rules.written import KINDS, SITE_KINDS, WHOLE_SITE, from_data

PERMIT = "permit:"
PERSON = "person:"

UNREADABLE = (KeyError, ValueError, TypeError, AttributeError, IndexError, InvalidOperation)
"""What reading an entry raises when it lacks a member, or has one that cannot be what it should be."""


@dataclass(frozen=True, slots=True)
class Told:
    """One entry. `at` is UTC; `by` and `device` as in the ledger ("person:K7Q2M9XB", "system:clock", "").

    `event` is None for what is no event of a permit's life, and where this version cannot read the entry.
    """

    number: int
    kind: str
    about: str
    by: str
    at: datetime
    digest: str
    previous: str
    body: str = field(repr=False)
    by_digest: str = ""
    device: str = ""
    data: Mapping[str, Any] = field(default_factory=dict)
    event: e.Event | None = None

    @property
    def permit(self) -> str:
        """The permit that it is about; "" for anything else."""
        return self.about.removeprefix(PERMIT) if self.about.startswith(PERMIT) else ""

    @property
    def person(self) -> str:
        """Who wrote it, as permits name people; "" where no person did."""
        return self.by.removeprefix(PERSON) if self.by.startswith(PERSON) else ""

    @property
    def is_whole(self) -> bool:
        """Does the body still have the digest that stands beside it?"""
        return body_digest(self.body.encode("utf-8", "surrogatepass")) == self.digest


def rows_about(head_id: int, about: str) -> QuerySet[Entry]:
    """The entries about one thing, from the first to the last."""
    return Entry.objects.filter(head_id=head_id, about=about).order_by("number")


def told_about(head_id: int, about: str) -> list[Told]:
    """The entries about one thing, read back. One query."""
    return read_back(rows_about(head_id, about))


def read_back(rows: Iterable[Entry]) -> list[Told]:
    return [told_of(row) for row in rows]


def told_of(row: Entry) -> Told:
    """Never raises for what a row holds: an auditor needs to see a damaged entry, not an error page."""
    body = members_of(row.body)
    data = body.get("data")
    told = Told(
        number=row.number,
        kind=row.kind,
        about=row.about,
        by=row.by,
        at=row.at,
        digest=row.digest,
        previous=row.previous,
        body=row.body,
        by_digest=text_of(body, "by_digest"),
        device=text_of(body, "device"),
        data=data if isinstance(data, dict) else {},
    )
    return told_with_event(told)


def told_with_event(told: Told) -> Told:
    event = event_of(told)
    if event is None:
        return told
    fields = {name: getattr(told, name) for name in Told.__slots__}
    return Told(**{**fields, "event": event})


def event_of(told: Told) -> e.Event | None:
    if told.kind not in KINDS or not is_about_what_it_should(told):
        return None
    try:
        return from_data(told.kind, told.data, permit=told.permit, by=told.person, at=told.at)
    except UNREADABLE:
        return None


def is_about_what_it_should(told: Told) -> bool:
    """An event of a permit names it; one of the whole site names none."""
    return told.about == WHOLE_SITE if told.kind in SITE_KINDS else bool(told.permit)


def members_of(body: str) -> dict[str, Any]:
    try:
        found = json.loads(body)
    except (ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}


def text_of(body: Mapping[str, Any], name: str) -> str:
    value = body.get(name)
    return value if isinstance(value, str) else ""
