"""Folds a site's ledger into permits again and compares them with the tables, which are its projection."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from permits.ledger.models import Entry
from permits.people.models import Site
from permits.plant.rules.energy import Graph
from permits.records.difference import Difference
from permits.records.entries import UNREADABLE, Told, is_about_what_it_should, told_of
from permits.work import store
from permits.work.models import Permit as Row
from permits.work.rules import state
from permits.work.rules.evolve import evolve
from permits.work.rules.written import KINDS, SITE_KINDS

AT_ONCE = 200
"""Permits whose rows are read together."""


@dataclass(slots=True)
class Replayed:
    """How far the replay came: entries folded, others skipped by kind, permits compared; the differences."""

    entries: int = 0
    skipped: Counter[str] = field(default_factory=Counter)
    permits: int = 0
    differences: list[Difference] = field(default_factory=list)


def replay(site: Site) -> Replayed:
    """Every event of the site's ledger folded with the rules, and compared with the permits' rows.

    Stops at the first entry that cannot be folded: what follows would only repeat it.
    """
    done = Replayed()
    now = state.Site(graph=Graph.of([], []), people={}, timezone=site.timezone)
    last: dict[str, int] = {}
    for row in Entry.objects.filter(head=site.head_id).order_by("number").iterator():
        if row.kind not in KINDS:
            done.skipped[row.kind] += 1
            continue
        told = told_of(row)
        if trouble := against_folding(told):
            done.differences.append(Difference(told.permit, trouble, told.number))
            return done
        assert told.event is not None
        try:
            now = evolve(now, told.event)
        except UNREADABLE as error:
            why = f"the event does not fit what came before it ({type(error).__name__}: {error})"
            done.differences.append(Difference(told.permit, why, told.number))
            return done
        if told.permit:
            last[told.permit] = told.number
        done.entries += 1
    done.differences += compared(site, now.permits, last)
    done.differences += compared_site_wide(site, now)
    done.permits = len(now.permits)
    return done


def against_folding(told: Told) -> str:
    """Why an entry of a known kind cannot be folded; "" where it can."""
    if not is_about_what_it_should(told):
        of = "the whole site" if told.kind in SITE_KINDS else "a permit"
        return f"an event of {of} is about {told.about!r}"
    if told.event is None:
        return f"the entry cannot be read as {told.kind}"
    return ""


def compared(
    site: Site, permits: dict[str, state.Permit] | Any, last: dict[str, int]
) -> Iterator[Difference]:
    """Each field in which a permit's rows differ from what the ledger makes of it, in the permits' order."""
    rows = list(Row.objects.filter(site=site).order_by("number"))
    for start in range(0, len(rows), AT_ONCE):
        batch = rows[start : start + AT_ONCE]
        for row, kept in zip(batch, store.permits_from(batch), strict=True):
            told = permits.get(row.reference)
            if told is None:
                yield Difference(row.reference, "the tables have it, the ledger does not")
                continue
            yield from fields_of(told, kept)
            if row.last_entry != last[row.reference]:
                yield Difference(
                    row.reference,
                    f"last_entry is {row.last_entry}; the ledger's last is {last[row.reference]}",
                )
    for reference in permits.keys() - {row.reference for row in rows}:
        yield Difference(reference, "the ledger has it, the tables do not")


def compared_site_wide(site: Site, now: state.Site) -> Iterator[Difference]:
    """What the whole site is under, what is out of use, and who is to be told that their lock was taken off.
    """
    kept = {
        **store.standing_of(site),
        "untold": store.untold_of(site),
        "out_of_use": store.out_of_use_of(site),
    }
    told = {name: getattr(now, name) for name in kept}
    for name, right in told.items():
        if kept[name] != right:
            yield Difference("", in_words(name, right, kept[name]))


def fields_of(told: state.Permit, kept: state.Permit) -> Iterator[Difference]:
    for one in dataclasses.fields(state.Permit):
        right, found = getattr(told, one.name), getattr(kept, one.name)
        if right != found:
            yield Difference(told.id, in_words(one.name, right, found))


def in_words(name: str, right: Any, found: Any) -> str:
    """Where two values differ: the first place of a list, else the whole."""
    if not (isinstance(right, tuple) and isinstance(found, tuple)):
        return f"{name} is {found!r} in the tables; the ledger makes it {right!r}"
    for place, (one, other) in enumerate(zip(right, found, strict=False)):
        if one != other:
            return f"{name}[{place}] is {other!r} in the tables; the ledger makes it {one!r}"
    return f"{name} has {len(found)} items in the tables; the ledger makes it {len(right)}"
