"""That a person has read what they were told: about the telling, not the permit, so no ledger entry."""

from __future__ import annotations

from datetime import datetime

from permits.people.models import Site
from permits.work.models import Message


def mark_read(*, site: Site, person: str, at: datetime, message: int | None = None, up_to: int = 0) -> int:
    """Mark this person's message number `message`, or all up to `up_to`. Returns how many changed."""
    mine = Message.objects.filter(site=site, person=person, read_at=None)
    chosen = mine.filter(pk__lte=up_to) if message is None else mine.filter(pk=message)
    return chosen.update(read_at=at)
