"""Reads for the records pages: search, exceptions of a site, the state of its ledger."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any, Generic, TypeVar

from django.db.models import Q, QuerySet

from permits.ledger.models import Entry, Head
from permits.ledger.verify import Verdict, verify
from permits.people.models import Person, Site
from permits.records.entries import PERMIT, PERSON
from permits.records.exceptions import What
from permits.records.names import ERASED, Place, listed, machines_of, names_for, nodes_of
from permits.records.story import Raised, raised
from permits.records.telling import Voice
from permits.records.times import Clock
from permits.records.watch import counted, exceptions_at
from permits.work.models import Permit
from permits.work.queries import PHASES
from permits.work.rules.words import Phase

A_PAGE = 25

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Wanted:
    """What someone looks for. Days are the site's, both included; empty or None asks nothing."""

    text: str = ""
    phase: str = ""
    since: date | None = None
    until: date | None = None
    only_exceptions: bool = False
    kind: str = ""


@dataclass(frozen=True, slots=True)
class Sheet(Generic[T]):
    """One page of a list. `page` counts from 1."""

    rows: list[T]
    page: int
    pages: int
    total: int

    @property
    def before(self) -> int | None:
        return self.page - 1 if self.page > 1 else None

    @property
    def after(self) -> int | None:
        return self.page + 1 if self.page < self.pages else None


def sheet(items: Sequence[Any], page: int) -> Sheet[Any]:
    """The page nearest to the one that was asked for."""
    pages = max(1, -(-len(items) // A_PAGE))
    page = min(max(page, 1), pages)
    return Sheet(list(items[(page - 1) * A_PAGE : page * A_PAGE]), page, pages, len(items))


# ── search ──────────────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class PermitLine:
    """One permit as the search shows it. `exceptions`: how many stand in its record."""

    reference: str
    state: str
    word: str
    work: str
    where: str
    holder: str
    asked: str
    ended: str
    exceptions: int


COLUMNS = (
    "reference", "number", "phase", "zones", "kind_of_work", "reason", "requested_by", "requested_at",
    "issuer", "holder", "coordinator", "crew_named", "ended_at",
)  # fmt: skip


def search(site: Site, wanted: Wanted, page: int) -> Sheet[PermitLine]:
    """Permits that fit, those with exceptions first, then the newest. At most twelve queries."""
    rows = list(in_time(site, wanted).values(*COLUMNS).order_by("-number"))
    count = counted(exceptions_at(site))
    people = people_of(site)
    nodes = nodes_of(site)
    if wanted.only_exceptions:
        rows = [row for row in rows if count[row["reference"]]]
    if wanted.text.strip():
        machines = {code: f"{code} {row.name} {row.designation}" for code, row in machines_of(site).items()}
        rows = with_words(site, rows, wanted.text, Known(nodes, machines, people))
    rows.sort(key=lambda row: not count[row["reference"]])
    found = sheet(rows, page)
    lines = [permit_line(site, row, nodes, people, count[row["reference"]]) for row in found.rows]
    return Sheet(lines, found.page, found.pages, found.total)


def in_time(site: Site, wanted: Wanted) -> QuerySet[Permit]:
    """The site's permits in the phase that is wanted, open at some time in the days that are wanted."""
    found = Permit.objects.filter(site=site)
    if wanted.phase:
        found = found.filter(phase=wanted.phase)
    if wanted.since:
        found = found.filter(Q(ended_at=None) | Q(ended_at__gte=start_of(site, wanted.since)))
    if wanted.until:
        found = found.filter(requested_at__lt=start_of(site, wanted.until + timedelta(days=1)))
    return found


def start_of(site: Site, day: date) -> datetime:
    """When a calendar day begins at the site."""
    return datetime.combine(day, time(), tzinfo=site.zone)


@dataclass(frozen=True, slots=True)
class Known:
    """What words are looked up in, besides a permit's own."""

    nodes: Mapping[str, Place]
    machines: Mapping[str, str]
    people: Mapping[str, str]


def with_words(site: Site, rows: list[dict[str, Any]], text: str, known: Known) -> list[dict[str, Any]]:
    """The permits in which each word is found: number, work, reason, zone, machine, or who had a part."""
    words = plain(text).split()
    named = {word: {ref for ref, name in known.people.items() if word in plain(name)} for word in words}
    acted = permits_by(site, set().union(*named.values()))
    found = []
    for row in rows:
        hay = haystack(row, known)
        had_part = {row["requested_by"], row["issuer"], row["holder"], row["coordinator"], *row["crew_named"]}
        had_part |= acted.get(row["reference"], set())
        if all(word in hay or named[word] & had_part for word in words):
            found.append(row)
    return found


def haystack(row: Mapping[str, Any], known: Known) -> str:
    """Everything about a permit that words are looked for in, people apart."""
    texts = [row["reference"], row["kind_of_work"], row["reason"]]
    for code in row["zones"]:
        node = known.nodes.get(code) or Place(code, code)
        texts += [node.code, node.name, node.designation, known.machines.get(node.machine, node.machine)]
    return plain(" ".join(texts))


def plain(text: str) -> str:
    """For comparing: one Unicode form, no capitals."""
    return unicodedata.normalize("NFKC", text).casefold()


def permits_by(site: Site, refs: set[str]) -> dict[str, set[str]]:
    """Permit → which of these people wrote an entry about it. One query, none for nobody."""
    if not refs:
        return {}
    entries = Entry.objects.filter(
        head=site.head_id, about__startswith=PERMIT, by__in=[PERSON + ref for ref in refs]
    )
    found: dict[str, set[str]] = {}
    for about, by in entries.values_list("about", "by").distinct():
        found.setdefault(about.removeprefix(PERMIT), set()).add(by.removeprefix(PERSON))
    return found


def people_of(site: Site) -> dict[str, str]:
    """Everyone who has or had a role at the site: reference → name."""
    rows = Person.objects.filter(memberships__site=site).distinct().values_list("ref", "name")
    return dict(rows)


def permit_line(
    site: Site, row: Mapping[str, Any], nodes: Mapping[str, Place], people: Mapping[str, str], exceptions: int
) -> PermitLine:
    state, word = PHASES[Phase(row["phase"])]
    holder = row["holder"] or row["requested_by"]
    return PermitLine(
        reference=row["reference"],
        state=state,
        word=word,
        work=f"{row['kind_of_work']}: {row['reason']}",
        where=listed(nodes[code].name if code in nodes else code for code in row["zones"]),
        holder=people.get(holder) or ERASED,
        asked=day_and_time(site, row["requested_at"]),
        ended=day_and_time(site, row["ended_at"]) if row["ended_at"] else "open",
        exceptions=exceptions,
    )


def day_and_time(site: Site, at: datetime) -> str:
    local = at.astimezone(site.zone)
    return f"{local.day} {local:%b %Y, %H:%M}"


# ── exceptions ──────────────────────────────────────────────────────────────────────────────────────────


def exceptions(site: Site, wanted: Wanted, page: int) -> Sheet[Raised]:
    """The site's exceptions, newest first. At most ten queries."""
    found = [one for one in exceptions_at(site) if not one.what.is_note]
    if wanted.kind:
        found = [one for one in found if one.what.value == wanted.kind]
    if wanted.since:
        start = start_of(site, wanted.since)
        found = [one for one in found if one.told.at >= start]
    if wanted.until:
        end = start_of(site, wanted.until + timedelta(days=1))
        found = [one for one in found if one.told.at < end]
    found.sort(key=lambda one: one.told.number, reverse=True)
    shown = sheet(found, page)
    told = [entry for one in shown.rows for entry in (one.told, one.settled) if entry is not None]
    voice = Voice(names_for(site, told), Clock.of(site.zone, site.timezone, [one.at for one in told]))
    return Sheet([raised(one, voice) for one in shown.rows], shown.page, shown.pages, shown.total)


def kinds_of_exceptions() -> Iterable[What]:
    """What the list can be narrowed to."""
    return [what for what in What if not what.is_note and what is not What.CHANGED_ENTRY]


# ── the ledger ──────────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class LedgerFacts:
    """Where a site's ledger stands; `verdict` only where it was asked for."""

    name: str
    entries: int
    digest: str
    last: str
    verdict: Verdict | None


def ledger(site: Site, *, verifying: bool) -> LedgerFacts:
    """The state of the ledger, recomputed from its first entry on where `verifying` is set."""
    head = Head.objects.get(pk=site.head_id)
    last = Clock(site.zone, site.timezone).full(head.last_at) if head.last_at else ""
    return LedgerFacts(head.name, head.number, head.digest, last, verify(head) if verifying else None)
