"""Rows to the rules' state and back: the rules and the tables hold the same, field by field."""

from __future__ import annotations

import dataclasses
from collections import defaultdict
from collections.abc import Iterable
from enum import StrEnum
from typing import Any

from django.db import models

from permits.people.hosts import hostings_at
from permits.people.models import Authorisation, Membership, Person, Site
from permits.people.rules.standing import Grant
from permits.plant import store as plant_store
from permits.plant.models import Procedure
from permits.plant.rules.procedures import State as ProcedureState
from permits.work import models as rows
from permits.work.rules import state, words
from permits.work.rules.written import hints_of, plain, read

# The children of a permit: attribute of the state, its value class, its table.
PARTS: tuple[tuple[str, type, type[Any]], ...] = (
    ("locks", words.Lock, rows.Lock),
    ("releases", words.StoreRelease, rows.StoreRelease),
    ("verifications", words.Verification, rows.Verification),
    ("crew", words.SignOn, rows.CrewSignOn),
    ("notices", words.Notice, rows.Notice),
    ("checks", words.MachineCheck, rows.MachineCheck),
    ("defects", words.Defect, rows.Defect),
    ("confirmations", words.Confirmation, rows.Confirmation),
    ("sanctions", words.Sanction, rows.Sanction),
    ("jobs", words.Job, rows.JobSeen),
    ("signatures", words.Signature, rows.Signature),
    ("halts", words.Halt, rows.Halt),
    ("acknowledgements", words.Acknowledgement, rows.Acknowledgement),
)
PART_NAMES = {name for name, _, _ in PARTS}
SCALARS = tuple(
    f.name for f in dataclasses.fields(state.Permit) if f.name not in PART_NAMES and f.name != "id"
)


# ── rows → state ────────────────────────────────────────────────────────────────────────────────────────


def load(site: Site) -> state.Site:
    """The site's open permits, people, procedures and graph, as the rules see them. Queries do not grow."""
    open_rows = list(rows.Permit.objects.filter(site=site, phase__in=rows.OPEN_PHASES).order_by("number"))
    last = rows.Permit.objects.filter(site=site).aggregate(last=models.Max("number"))["last"] or 0
    graph, people, permits = plant_store.graph_of(site), people_of(site), permits_from(open_rows)
    return state.Site(
        graph=graph,
        people=people,
        former=former_people(permits, people),
        permits={permit.id: permit for permit in permits},
        procedures=procedures_of(site),
        padlock_owners=padlock_owners_of(site),
        next_number=last + 1,
        out_of_use=out_of_use_of(site),
        untold=untold_of(site),
        **standing_of(site),
        policy=policy_of(site),
        timezone=site.timezone,
    )


def padlock_owners_of(site: Site) -> dict[str, str]:
    """Who hung each padlock last: it may be somebody else's now. Each comes once, however often it hung."""
    hung = rows.Lock.objects.filter(site=site)
    last = hung.values("padlock").annotate(last=models.Max("pk")).values("last")
    return dict(rows.Lock.objects.filter(pk__in=last).values_list("padlock", "owner"))


def former_people(permits: list[state.Permit], here: dict[str, state.Person]) -> dict[str, str]:
    """Names of whom open permits name and who have no role here any more: a lock keeps its owner's name."""
    named: set[str] = set()
    for p in permits:
        named |= {p.requested_by, p.issuer, p.holder, p.next_holder, p.coordinator, *p.crew_named}
        named |= {lock.owner for lock in p.locks} | {on.person for on in p.crew}
    gone = named - here.keys() - {""}
    return dict(Person.objects.filter(ref__in=gone).values_list("ref", "name")) if gone else {}


def out_of_use_of(site: Site) -> dict[str, words.OutOfUse]:
    """By machine, what was left open when an officer closed its permit as not proven."""
    standing = rows.OutOfUse.objects.filter(site=site).order_by("pk")
    return {row.machine: from_row(words.OutOfUse, row) for row in standing}


def untold_of(site: Site) -> dict[str, tuple[str, ...]]:
    """Person → the permits under which their lock was taken off in their absence, until they are told."""
    found: dict[str, tuple[str, ...]] = {}
    told_of = rows.Untold.objects.filter(site=site).order_by("pk")
    for person, permit in told_of.values_list("person", "permit"):
        found[person] = (*found.get(person, ()), permit)
    return found


def standing_of(site: Site) -> dict[str, words.Declared | None]:
    """The emergency and the paper mode that the site is under, each None where it is not."""
    row = rows.SiteStanding.objects.filter(site=site).first()
    return {
        name: read(words.Declared, declared) if (declared := getattr(row, name, None)) else None
        for name in ("emergency", "paper")
    }


def policy_of(site: Site) -> words.Policy:
    row = rows.SitePolicy.objects.filter(site=site).first()
    if row is None:
        return words.Policy()
    return words.Policy(**{f.name: getattr(row, f.name) for f in dataclasses.fields(words.Policy)})


def people_of(site: Site) -> dict[str, state.Person]:
    """Everyone with a live role here, by reference."""
    roles: dict[int, set[str]] = defaultdict(set)
    for person_id, role in Membership.objects.live().filter(site=site).values_list("person_id", "role"):
        roles[person_id].add(role)
    grants: dict[int, list[Grant]] = defaultdict(list)
    for one in Authorisation.objects.live().filter(site=site).order_by("pk"):
        grants[one.person_id].append(Grant(one.machine, one.qualified, one.starts_on, one.expires_on))
    hostings = hostings_at(site)
    return {
        person.ref: state.Person(
            person.ref,
            person.name,
            frozenset(roles[person.pk]),
            tuple(grants[person.pk]),
            person.employer,
            hostings[person.pk].value if person.pk in hostings else None,
        )
        for person in Person.objects.filter(pk__in=roles, is_active=True).order_by("pk")
    }


def procedures_of(site: Site) -> dict[str, state.Procedure]:
    """The approved revision of each machine's procedure."""
    approved = Procedure.objects.filter(
        machine__site=site, machine__removed_at=None, state=ProcedureState.APPROVED.value
    ).select_related("machine")
    return {
        row.machine.code: state.Procedure(
            row.machine.code, row.revision, tuple(row.zones), tuple(row.lock), tuple(row.release)
        )
        for row in approved
    }


def permits_from(permit_rows: Iterable[rows.Permit]) -> list[state.Permit]:
    """The rules' permits from their rows; one query per child table, however many permits."""
    permit_rows = list(permit_rows)
    parts: dict[int, dict[str, list[Any]]] = {
        row.pk: {name: [] for name in PART_NAMES} for row in permit_rows
    }
    if permit_rows:
        for name, value, table in PARTS:
            for part in sorted(table.objects.filter(permit_id__in=list(parts)), key=place):
                parts[part.permit_id][name].append(from_row(value, part))
    return [
        state.Permit(
            id=row.reference,
            **values_of(state.Permit, row, SCALARS),
            **tuples(parts[row.pk]),
        )
        for row in permit_rows
    ]


def place(part: Any) -> tuple[int, int]:
    """Sorted here, not by the database: of a few rows that takes less time than to ask for an order."""
    return part.permit_id, part.n


def tuples(parts: dict[str, list[Any]]) -> dict[str, Any]:
    return {name: tuple(items) for name, items in parts.items()}


def from_row(value: type[Any], row: models.Model) -> Any:
    return value(**values_of(value, row, [f.name for f in dataclasses.fields(value)]))


def values_of(value: type[Any], row: models.Model, names: Iterable[str]) -> dict[str, Any]:
    """The fields of a value class from a row: JSON columns and enums are read by the field's type."""
    hints = hints_of(value)
    return {name: from_column(hints[name], getattr(row, name)) for name in names}


def from_column(hint: Any, column: Any) -> Any:
    # Dates and decimals come out of their columns as themselves; everything else is as in an entry.
    return read(hint, column) if isinstance(column, str | list) else column


# ── state → rows ────────────────────────────────────────────────────────────────────────────────────────


def save(site: Site, before: state.Site, after: state.Site, last_entries: dict[str, int]) -> None:
    """Write what differs between two states of the site. `last_entries`: permit → entry number."""
    save_site_wide(site, before, after)
    for id, permit in after.permits.items():
        old = before.permits.get(id)
        if old is not permit or id in last_entries:
            save_permit(site, old, permit, last_entries.get(id, 0))


def save_site_wide(site: Site, before: state.Site, after: state.Site) -> None:
    if (before.emergency, before.paper) != (after.emergency, after.paper):
        rows.SiteStanding.objects.update_or_create(
            site=site, defaults={"emergency": plain(after.emergency), "paper": plain(after.paper)}
        )
    if before.untold != after.untold:
        rows.Untold.objects.filter(site=site).exclude(person__in=after.untold).delete()
        for person, permits in after.untold.items():
            for permit in permits:
                rows.Untold.objects.get_or_create(site=site, person=person, permit=permit)
    if before.out_of_use != after.out_of_use:
        rows.OutOfUse.objects.filter(site=site).exclude(machine__in=after.out_of_use).delete()
        for machine, one in after.out_of_use.items():
            rows.OutOfUse.objects.update_or_create(site=site, machine=machine, defaults=columns_of(one))


def save_permit(site: Site, old: state.Permit | None, new: state.Permit, last_entry: int) -> None:
    columns = {name: to_column(getattr(new, name)) for name in SCALARS}
    if last_entry:
        columns["last_entry"] = last_entry
    if old is None:
        row = rows.Permit.objects.create(site=site, reference=new.id, **columns)
    else:
        row = rows.Permit.objects.get(site=site, reference=new.id)
    for name, _, table in PARTS:
        save_parts(row, table, getattr(old, name) if old else (), getattr(new, name))
    if old is not None:  # after its parts: once it is over, the database lets none of them change
        for name, column in columns.items():
            setattr(row, name, column)
        row.save(update_fields=list(columns))


def save_parts(row: rows.Permit, table: type[Any], old: tuple[Any, ...], new: tuple[Any, ...]) -> None:
    if old == new:
        return
    extra = {"site": row.site} if table is rows.Lock else {}
    # Changed rows first: what has ended makes room for what begins (one padlock is in one place).
    for n, (was, now) in enumerate(zip(old, new, strict=False)):
        if was != now:
            table.objects.filter(permit=row, n=n).update(**columns_of(now))
    table.objects.bulk_create(
        table(permit=row, n=n, **extra, **columns_of(value))
        for n, value in enumerate(new[len(old) :], start=len(old))
    )


def columns_of(value: Any) -> dict[str, Any]:
    return {f.name: to_column(getattr(value, f.name)) for f in dataclasses.fields(value)}


def to_column(value: Any) -> Any:
    """Tuples become JSON; enums their word; dates and decimals stay themselves."""
    return plain(value) if isinstance(value, tuple | StrEnum) else value
