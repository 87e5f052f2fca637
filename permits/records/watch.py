"""Every exception of a site, kept in the process: entries never change, so only new ones are read."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
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
    LOCKED,
    OF_A_PERMIT,
    OF_THE_SITE,
    READ,
    TESTED,
    Found,
    SoFar,
    What,
    clear_minutes_after,
    judged,
    minutes_in,
    settled_by,
)
from permits.work.models import SitePolicy
from permits.work.rules import events as e
from permits.work.rules.policy import CHANGED as POLICY_CHANGED
from permits.work.rules.words import Policy
from permits.work.rules.written import WHOLE_SITE

_NEEDED = (
    Q(kind__in=KINDS)
    & (~Q(kind=TESTED) | Q(body__contains='"passed":false') | Q(body__contains='"counts":false'))
    & (~Q(kind=READ) | Q(body__contains='"overdue_since":"2'))
    & (~Q(kind=LOCKED) | (Q(body__contains='"measure_done":"') & ~Q(body__contains='"measure_done":""')))
    # Most tests pass and count, most instruments are in date, most points take a lock. Bodies are canonical
    # JSON: these members are written in one way only, and a quotation mark inside a text has a backslash
    # before it.
)


@dataclass(slots=True)
class Watch:
    """A ledger read up to entry `number`, whose digest was `digest`: the exceptions so far, in order.

    `began_with`: how long a clear confirmation stayed fresh by the policy that the ledger began with, as far
    as was known; `clear_minutes`: by the policy in force at entry `number`. `said_first`: what the first
    change of the policy says that it was before, None where there has been none.
    """

    began_with: int
    clear_minutes: int
    number: int = 0
    digest: str = GENESIS
    said_first: int | None = None
    found: list[Found] = field(default_factory=list)
    so_far: dict[str, SoFar] = field(default_factory=dict)

    def read_on(self, head: Head) -> None:
        if self.number < head.number:
            rows = Entry.objects.filter(head=head, number__gt=self.number, number__lte=head.number)
            self.read(rows.filter(_NEEDED).order_by("number"))
            self.number, self.digest = head.number, head.digest

    def read(self, rows: QuerySet[Entry]) -> None:
        for row in rows.iterator():
            told = told_of(row)
            judges = OF_A_PERMIT if told.permit else OF_THE_SITE
            if told.kind == POLICY_CHANGED and self.said_first is None:
                self.said_first = minutes_in(told, "before", self.began_with)
            self.clear_minutes = clear_minutes_after(told, self.clear_minutes)
            so_far = self.so_far.setdefault(told.permit, SoFar(self.clear_minutes))
            so_far.clear_minutes = self.clear_minutes
            self.found += (kept(one) for one in judged(told, so_far, judges))
            self.found = settled_by(self.found, slimmed(told))
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
    """Every exception of the site and of its permits, oldest first, and some notes.

    At most five queries, four where no more is to be read anew. The list must not be changed.
    """
    today = clear_minutes_today(site)
    with _lock:
        head = Head.objects.get(pk=site.head_id)
        watch = _watches.get(head.pk)
        if watch is None or not _is_of(watch, head):
            watch = Watch(today, today)
        watch.read_on(head)
        began = today if watch.said_first is None else watch.said_first
        if watch.began_with != began:  # what came before was judged by another policy than was in force
            watch = Watch(began, began)
            watch.read_on(head)
        _watches[head.pk] = watch
        return list(watch.found)


def _is_of(watch: Watch, head: Head) -> bool:
    """Is what was read still the ledger's beginning? A restored database may have another one."""
    if watch.number == 0:
        return True
    entry = Entry.objects.filter(head=head, number=watch.number).only("digest").first()
    return entry is not None and entry.digest == watch.digest


def clear_minutes_today(site: Site) -> int:
    """How long a clear confirmation stays fresh at the site by its policy as it is now."""
    found = SitePolicy.objects.filter(site=site).values_list("clear_minutes", flat=True).first()
    return found if found is not None else Policy().clear_minutes


def clear_minutes_at_first(site: Site, site_wide: Iterable[Told]) -> int:
    """By the policy that the site began with: the first change of it says; without any it is today's."""
    today = clear_minutes_today(site)
    first = next((told for told in site_wide if told.kind == POLICY_CHANGED), None)
    return minutes_in(first, "before", today) if first is not None else today


def counted(found: list[Found]) -> Counter[str]:
    """How many exceptions each permit has; notes are none."""
    return Counter(one.told.permit for one in found if one.told.permit and not one.what.is_note)


ENDS = {What.EMERGENCY: What.EMERGENCY_ENDED, What.ON_PAPER: What.PAPER_ENDED}
"""What an officer declared for the whole site holds until the note of its end."""


def touching(
    found: list[Found],
    *,
    first: int,
    last: int | None,
    people: set[str],
    points: set[str],
    machines: set[str],
) -> Iterator[Found]:
    """What happened around one permit while it ran: to its people, points and procedures, and site-wide."""
    yield from in_force(found, first)
    for one in found:
        if not one.what.is_around or one.told.number < first or (last is not None and one.told.number > last):
            continue
        noun, _, id = one.told.about.partition(":")
        told = one.told.event
        if isinstance(told, e.ReturnedTold):
            noun, id = "person", told.person
        if (
            noun == WHOLE_SITE
            or (noun == "person" and id in people)
            or (noun == "point" and id in points)
            or (noun == "procedure" and id.rpartition("/")[0] in machines)
        ):
            yield one


def in_force(found: list[Found], first: int) -> list[Found]:
    """What an officer had declared for the whole site before entry `first`, and not ended by then."""
    declared: dict[What, Found] = {}
    for one in found:
        if one.told.number >= first:
            break
        if one.what in ENDS:
            declared[ENDS[one.what]] = one
        declared.pop(one.what, None)
    return sorted(declared.values(), key=lambda one: one.told.number)
