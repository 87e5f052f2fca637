"""Who acts, when, and under which key; the pen for it, and whether a request was carried out before."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from permits.ledger.pen import Author, Pen, done, writing
from permits.people.models import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class Who:
    """Who acts, when, and the request's key: the same for every action."""

    by: Author
    at: datetime
    key: UUID | None = None

    @property
    def ref(self) -> str:
        return self.by.ref.removeprefix("person:")


@contextmanager
def writing_for(site: Site, who: Who) -> Iterator[Pen]:
    with writing(site.head_id, by=who.by, at=who.at, key=who.key) as pen:
        yield pen


def was_done(site: Site, key: UUID) -> bool:
    """Did a request with this key write its entries? Then sending it again does nothing."""
    return done(site.head_id, key) is not None
