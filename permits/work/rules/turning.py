"""When what is shown of a permit changes by time alone."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from .against import goes_stale
from .state import Permit, Site


def next_turn(site: Site, now: datetime) -> datetime | None:
    """The first moment after now at which time alone changes an open permit; None where none is known."""
    return min((when for p in site.open for when in turns(site, p) if when > now), default=None)


def turns(site: Site, p: Permit) -> Iterator[datetime]:
    """Every moment that was written down for this permit, past or to come."""
    yield p.starts_at
    yield p.ends_at
    if p.sanction is not None:
        yield p.sanction.until
    for test in p.verifications:
        if test.void_at is None and test.lapses_at is not None:
            yield test.lapses_at
    for release in p.releases:
        if release.undone_at is None:
            yield release.counts_from
    for confirmation in p.confirmations:
        stale = goes_stale(site, confirmation) if confirmation.void_at is None else None
        if stale is not None:
            yield stale
