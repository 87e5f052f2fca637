"""Every exception of a site, kept in the process: entries never change, so only new ones are read."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from threading import Lock

from django.db.models import Q, QuerySet

from permits.ledger.body import GENESIS
from permits.ledger.models import Entry, Head
from permits.people.models import Site
from permits.records.entries import Told, told_of
from permits.records.exceptions import (
    KINDS,
    LAST,
    OF_A_PERMIT,
    OF_THE_SITE,
    READ,
    TESTED,
    Found,
    SoFar,
    judged,
)
from permits.work.models import SitePolicy
from permits.work.rules.words import Policy

_NEEDED = (
    Q(kind__in=KINDS)
    & (~Q(kind=TESTED) | Q(body__contains='"passed":false') | Q(body__contains='"counts":false'))
    & (~Q(kind=READ) | Q(body__contains='"overdue_since":"2'))
    # Most tests pass and count, most instruments are in date. Bodies are canonical JSON: these members are
    # written in one way only, and a quotation mark inside a text has a backslash before it.
)


@dataclass(slots=True)
class Watch:
    """A ledger read up to entry `number`, whose digest was `digest`: the exceptions so far, in order."""

    clear_minutes: int
    number: int = 0
    digest: str = GENESIS
    found: list[Found] = field(default_factory=list)
    so_far: dict[str, SoFar] = field(default_factory=dict)

    def read(self, rows: QuerySet[Entry]) -> None:
        for row in rows.iterator():
            told = told_of(row)
            judges = OF_A_PERMIT if told.permit else OF_THE_SITE
            so_far = self.so_far.setdefault(told.permit, SoFar(self.clear_minutes))
            self.found += (kept(one) for one in judged(told, so_far, judges))
            so_far.add(told)
            if isinstance(told.event, LAST):
                del self.so_far[told.permit]


def kept(found: Found) -> Found:
    """Without the entry's text, which is read again where someone wants to see it."""
    return replace(found, told=slimmed(found.told))


def slimmed(told: Told) -> Told:
    return replace(told, body="")


_watches: dict[int, Watch] = {}
_lock = Lock()


def exceptions_at(site: Site) -> list[Found]:
    """Every exception of the site and of its permits, oldest first; notes too where they are lost proofs.

    At most four queries. The list must not be changed.
    """
    minutes = clear_minutes_at(site)
    with _lock:
        head = Head.objects.get(pk=site.head_id)
        watch = _watches.get(head.pk)
        if watch is None or watch.clear_minutes != minutes or not _is_of(watch, head):
            watch = _watches[head.pk] = Watch(minutes)
        if watch.number < head.number:
            entries = Entry.objects.filter(head=head, number__gt=watch.number, number__lte=head.number)
            watch.read(entries.filter(_NEEDED).order_by("number"))
            watch.number, watch.digest = head.number, head.digest
        return list(watch.found)


def _is_of(watch: Watch, head: Head) -> bool:
    """Is what was read still the ledger's beginning? A restored database may have another one."""
    if watch.number == 0:
        return True
    entry = Entry.objects.filter(head=head, number=watch.number).only("digest").first()
    return entry is not None and entry.digest == watch.digest


def clear_minutes_at(site: Site) -> int:
    """How long a clear confirmation stays fresh at the site."""
    found = SitePolicy.objects.filter(site=site).values_list("clear_minutes", flat=True).first()
    return found if found is not None else Policy().clear_minutes


def counted(found: list[Found]) -> Counter[str]:
    """How many exceptions each permit has; notes are none."""
    return Counter(one.told.permit for one in found if one.told.permit and not one.what.is_note)


def touching(
    found: list[Found],
    *,
    first: int,
    last: int | None,
    people: set[str],
    points: set[str],
    machines: set[str],
) -> Iterator[Found]:
    """What happened around one permit while it ran: to its people, points and procedures."""
    for one in found:
        if not one.what.is_around or one.told.number < first or (last is not None and one.told.number > last):
            continue
        noun, _, id = one.told.about.partition(":")
        if (
            (noun == "person" and id in people)
            or (noun == "point" and id in points)
            or (noun == "procedure" and id.rpartition("/")[0] in machines)
        ):
            yield one
