"""A permit with its site, as they are at a time: what fell due and is not yet written is folded in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.db.models import F

from permits.people.models import Site
from permits.work import models as rows
from permits.work import store
from permits.work.rules import state
from permits.work.rules.against import hosting_in_words
from permits.work.rules.due import due
from permits.work.rules.evolve import fold


@dataclass(frozen=True, slots=True)
class Look:
    """One permit as it is at `at`, with its site.

    `seen`: the site's last entry, read before the state was, for forms to send back.
    """

    site: state.Site
    permit: state.Permit
    seen: int
    at: datetime

    def name(self, ref: str) -> str:
        return self.site.name(ref) if ref else ""

    def hosting(self, ref: str) -> str:
        """Of a contractor: "contractor of X, hosted by Y", or that nobody hosts them now; "" for others."""
        return hosting_in_words(self.site, ref, self.at)

    def named(self, ref: str) -> str:
        """The name, with whose a contractor is and who hosts them in brackets."""
        note = self.hosting(ref)
        return f"{self.name(ref)} ({note})" if note else self.name(ref)


def settled(site: Site, at: datetime) -> state.Site:
    """The site as it is at a time: what fell due and is not yet written is folded in, in memory."""
    now = store.load(site)
    return fold(now, due(now, at))


def look(site: Site, reference: str, at: datetime) -> Look | None:
    """A permit of the site, open or over; None where there is none with this reference."""
    found = rows.Permit.objects.filter(site=site, reference=reference).annotate(seen=F("site__head__number"))
    row = found.first()
    if row is None:
        return None
    now = settled(site, at)
    permit = now.permits.get(reference) or store.permits_from([row])[0]
    return Look(now, permit, row.seen, at)


def zone_names(site: state.Site, zones: tuple[str, ...]) -> str:
    """The zones as people call them, also those that are no longer in the plant."""
    return ", ".join(site.graph.name(z) if z in site.graph.nodes else z for z in zones)


def clock(site: state.Site, at: datetime) -> str:
    """The time of day at the plant: "08:40"."""
    return f"{at.astimezone(ZoneInfo(site.timezone)):%H:%M}"


def day_and_clock(site: state.Site, at: datetime) -> str:
    """Day and time at the plant: "25 Nov, 08:40"."""
    local = at.astimezone(ZoneInfo(site.timezone))
    return f"{local.day} {local:%b, %H:%M}"
