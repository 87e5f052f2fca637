"""Who acts, when, under which key, having seen what; the pen for it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime

from permits.ledger.pen import Author, Key, Pen, writing
from permits.people.models import Site
from permits.work.actions import refuse_by_clock, settle_site
from permits.work.rules.moved_on import PageStale


@dataclass(frozen=True, slots=True, kw_only=True)
class Who:
    """Who acts, when, and the request's key: the same for every action.

    `seen`: the site's last entry that the person's page could show; None where no page was shown.
    """

    by: Author
    at: datetime
    key: Key | None = None
    seen: int | None = None

    @property
    def ref(self) -> str:
        return self.by.ref.removeprefix("person:")


@contextmanager
def writing_for(site: Site, who: Who) -> Iterator[Pen]:
    """The pen for an action of this person. What fell due is kept where that made the page a stale one.

    Raises Refused while the clock is behind the ledger's last entry: nothing here makes anything safer.
    """
    try:
        with writing(site.head_id, by=who.by, at=who.at, key=who.key) as pen:
            refuse_by_clock(pen, site)
            yield pen
    except PageStale:
        settle_site(site=site, at=who.at)
        raise
