"""Has a page changed since it was shown? Its version: the site's last entry and the next moment that matters.

Everything that happens at a site is an entry of its ledger, so to know costs one query.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from permits.ledger.models import Head
from permits.people.models import Site
from permits.work.rules import state
from permits.work.rules.turning import next_turn

LONGEST = timedelta(minutes=1)
"""A page is made anew after this, whatever its version: days end, and messages are read."""

VERSION = re.compile(r'(?:W/)?"(\d+)-(\d+)-(\d+)"')


@dataclass(frozen=True, slots=True)
class Version:
    """What a page was made from, and until when that holds; an HTTP entity tag carries it."""

    site: int
    entry: int
    until: datetime

    @property
    def tag(self) -> str:
        return f'"{self.site}-{self.entry}-{int(self.until.timestamp())}"'


def still_holds(shown: str, site: Site, entry: int, at: datetime) -> bool:
    """Does the version `shown`, as the browser sent it back, hold where `entry` is the site's last one?"""
    found = VERSION.fullmatch(shown.strip())
    if not found:
        return False
    of, made_from, until = (int(part) for part in found.groups())
    return (of, made_from) == (site.pk, entry) and at.timestamp() < until


def version(site: Site, entry: int, now: state.Site, at: datetime) -> Version:
    """The version of a page made from this state. `entry`: the site's last one, read before the state was."""
    turn = next_turn(now, at)
    until = min(turn, at + LONGEST) if turn is not None else at + LONGEST
    return Version(site.pk, entry, until.astimezone(UTC))


def last_entry(site: Site) -> int:
    """The number of the site's last entry. One query."""
    return Head.objects.values_list("number", flat=True).get(pk=site.head_id)
