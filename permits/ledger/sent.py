"""A request as it was sent: its key and a digest of its content. Was this very one carried out before?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from permits.ledger.models import Head, Receipt


@dataclass(frozen=True, slots=True)
class Sent:
    """`content`: SHA-256, 64 hex digits, over who asked, of which page, and with what in its fields.

    "" where no page sent it: then the key alone says which request it is.
    """

    key: UUID
    content: str = ""


Key = UUID | Sent
"""What makes a request count once."""


def _sent(key: Key) -> Sent:
    return key if isinstance(key, Sent) else Sent(key)


class AlreadyDone(Exception):
    """This very request was carried out before, as entries `first` to `last`. Now nothing was."""

    def __init__(self, first: int, last: int) -> None:
        super().__init__(f"this request was carried out before, as entries {first} to {last}")
        self.first = first
        self.last = last


class SentOtherwise(Exception):
    """Another request was carried out under this key, at `at`; this one is no repeat of it, and was not."""

    def __init__(self, at: datetime) -> None:
        super().__init__(f"a request with other content was carried out under this key at {at.isoformat()}")
        self.at = at


def done(head_id: int, key: Key) -> tuple[int, int] | None:
    """The first and last entry that this request wrote, or None where its key was never used.

    Raises SentOtherwise where the key was used for a request with other content.
    """
    sent = _sent(key)
    before = Receipt.objects.filter(head_id=head_id, key=sent.key).first()
    if before is None:
        return None
    if before.content != sent.content:
        raise SentOtherwise(before.at)
    return before.first, before.last


def keep_receipt(head: Head, key: Key, *, first: int) -> None:
    """Note that the request wrote the entries from `first` to the head's last, at that one's time."""
    assert head.last_at is not None
    sent = _sent(key)
    Receipt.objects.create(
        head=head, key=sent.key, content=sent.content, first=first, last=head.number, at=head.last_at
    )
