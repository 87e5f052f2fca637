"""Who may do what at a site, and its own numbers: folded from the ledger and compared with the tables.

Roles, authorisations and hosts with their days, the site's policy; of its people, whether they are disabled
and for whom they work, which any site's ledger may say. The rules ask these before anyone locks or signs.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from permits.ledger.models import Entry
from permits.people.models import Authorisation, Hosting, Membership, Person, Site
from permits.people.rules.kinds import Kind
from permits.records.difference import Difference
from permits.records.entries import PERSON, UNREADABLE, Told, told_of
from permits.work import store
from permits.work.rules.policy import CHANGED
from permits.work.rules.words import Policy


@dataclass(frozen=True, slots=True)
class Given:
    """A role, an authorisation or a host that a person was given. `terms` begin with what its end names."""

    what: str
    person: str
    terms: tuple[str, ...]
    at: datetime
    ended_at: datetime | None = None

    def __str__(self) -> str:
        until = f", ended {self.ended_at.isoformat()}" if self.ended_at else ""
        return f"{self.what} of {self.person} ({', '.join(self.terms)}; given {self.at.isoformat()}{until})"


GIVES: Mapping[str, tuple[str, tuple[str, ...]]] = {
    Kind.ROLE_GRANTED: ("role", ("role",)),
    Kind.AUTHORISED: ("authorisation", ("machine", "starts_on", "expires_on", "qualified")),
    Kind.CONTRACTOR_HOSTED: ("host", ("host", "starts_on", "expires_on", "informed")),
}
"""What an entry gives, and its members that say on which terms."""
ENDS: Mapping[str, tuple[str, tuple[str, ...]]] = {
    Kind.ROLE_ENDED: ("role", ("role",)),
    Kind.AUTHORISATION_WITHDRAWN: ("authorisation", ("machine", "starts_on")),
    Kind.HOSTING_ENDED: ("host", ("host",)),
}
FOLDED = frozenset({*GIVES, *ENDS, CHANGED, Kind.PERSON_DISABLED, Kind.PERSON_ENABLED, Kind.EMPLOYER_CHANGED})
"""The kinds of entries that are compared here."""


def compared_who_may(site: Site) -> Iterator[Difference]:
    """Each thing that the tables say otherwise than the site's ledger; stops where that cannot be folded."""
    told: list[Given] = []
    policy = Policy()
    kinds = [*GIVES, *ENDS, CHANGED]
    for row in Entry.objects.filter(head=site.head_id, kind__in=kinds).order_by("number").iterator():
        entry = told_of(row)
        try:
            if entry.kind == CHANGED:
                policy = Policy(**entry.data["after"])
            else:
                fold(told, entry)
        except UNREADABLE as error:
            why = f"the entry of kind {entry.kind} does not fit ({type(error).__name__}: {error})"
            yield Difference("", why, entry.number)
            return
    yield from compared_given(Counter(told), Counter(kept(site)))
    if (found := store.policy_of(site)) != policy:
        yield Difference("", f"policy is {found!r} in the tables; the ledger makes it {policy!r}")
    yield from compared_people(site)


def fold(told: list[Given], entry: Told) -> None:
    """Add what the entry gives, or end what it ends. Raises ValueError where there is nothing to end."""
    if entry.kind in GIVES:
        what, names = GIVES[entry.kind]
        told.append(Given(what, person_of(entry), terms_of(entry.data, names), entry.at))
        return
    what, names = ENDS[entry.kind]
    person, terms = person_of(entry), terms_of(entry.data, names)
    for place, one in enumerate(told):
        if (one.what, one.person, one.terms[: len(terms)], one.ended_at) == (what, person, terms, None):
            told[place] = replace(one, ended_at=entry.at)
            return
    raise ValueError(f"it ends a {what} that {person} has not")


def person_of(entry: Told) -> str:
    return entry.about.removeprefix(PERSON)


def terms_of(data: Mapping[str, Any], names: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(in_words(name, data[name]) for name in names)


def in_words(name: str, value: Any) -> str:
    """A term as text; whether someone is qualified is the one that is no text in entries."""
    return ("qualified" if value else "not qualified") if name == "qualified" else str(value)


def kept(site: Site) -> Iterator[Given]:
    """What the tables say was given, ended or not."""
    for role in Membership.objects.filter(site=site).select_related("person"):
        yield Given("role", role.person.ref, (role.role,), role.granted_at, role.ended_at)
    for leave in Authorisation.objects.filter(site=site).select_related("person"):
        days = (leave.starts_on.isoformat(), leave.expires_on.isoformat())
        terms = (leave.machine, *days, in_words("qualified", leave.qualified))
        yield Given("authorisation", leave.person.ref, terms, leave.given_at, leave.withdrawn_at)
    for hosting in Hosting.objects.filter(site=site).select_related("person", "host"):
        days = (hosting.starts_on.isoformat(), hosting.expires_on.isoformat())
        terms = (hosting.host.ref, *days, hosting.informed)
        yield Given("host", hosting.person.ref, terms, hosting.given_at, hosting.ended_at)


def compared_given(told: Counter[Given], found: Counter[Given]) -> Iterator[Difference]:
    for one in (found - told).elements():
        yield Difference("", f"the tables have the {one}; the ledger does not")
    for one in (told - found).elements():
        yield Difference("", f"the ledger has the {one}; the tables do not")


def compared_people(site: Site) -> Iterator[Difference]:
    """Whether the site's people are disabled, and for whom they work where an entry said so since they came.

    They belong to every site where they have a role, so each site's ledger may hold the last word.
    """
    people = Person.objects.filter(memberships__site=site).distinct().order_by("ref")
    about = {person.about: person for person in people}
    disabled: dict[str, bool] = {}
    employer: dict[str, str] = {}
    kinds = [Kind.PERSON_DISABLED, Kind.PERSON_ENABLED, Kind.EMPLOYER_CHANGED, Kind.CONTRACTOR_HOSTED]
    for row in Entry.objects.filter(kind__in=kinds).order_by("pk").iterator():
        if row.about not in about:
            continue
        if row.kind in (Kind.PERSON_DISABLED, Kind.PERSON_ENABLED):
            disabled[row.about] = row.kind == Kind.PERSON_DISABLED
        else:
            employer[row.about] = str(told_of(row).data.get("employer"))
    for name, person in about.items():
        if person.is_active == disabled.get(name, False):
            is_now, was = ("active", "disabled") if person.is_active else ("disabled", "active")
            yield Difference("", f"{person.ref} is {is_now} in the tables; the ledger makes them {was}")
        if person.employer != employer.get(name, person.employer):
            said = f"employer of {person.ref} is {person.employer!r} in the tables"
            yield Difference("", f"{said}; the ledger makes it {employer[name]!r}")
