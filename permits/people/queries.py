"""Reads about people for pages, prints and other rooms; complete when they leave here."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from permits.people.hosts import HostingLine, hosting_line, hostings_at, is_own, possible_hosts
from permits.people.machines import machines_at
from permits.people.models import Authorisation, Membership, Person, Site
from permits.people.rules.roles import Role
from permits.people.rules.standing import Standing, standing
from permits.people.rules.urgency import Urgency, span_in_words, urgency

__all__ = [
    "AuthorisationLine",
    "PersonLine",
    "PersonPage",
    "authorisation_at",
    "authorisations_at",
    "holders",
    "page_of",
    "people_of",
    "person_at",
    "possible_hosts",
    "roles_of",
    "standing_of",
]


@dataclass(frozen=True, slots=True)
class AuthorisationLine:
    """One authorisation as pages show it."""

    number: int
    machine: str
    machine_name: str
    qualified: bool
    urgency: Urgency
    span: str

    @property
    def may_be_withdrawn(self) -> bool:
        """Whether withdrawing it would change anything."""
        return self.urgency not in {Urgency.EXPIRED, Urgency.WITHDRAWN}


@dataclass(frozen=True, slots=True)
class PersonLine:
    """One person of a site: live roles (none for someone who left), authorisations not withdrawn."""

    ref: str
    name: str
    sign_in: str
    is_active: bool
    pin_locked: bool
    roles: tuple[Role, ...]
    authorisations: tuple[AuthorisationLine, ...]
    hosting: HostingLine | None  # None for the site's own people

    @property
    def urgency(self) -> Urgency:
        near = [line.urgency for line in self.authorisations]
        return min([*near, self.hosting.urgency] if self.hosting else near, default=Urgency.LATER)


@dataclass(frozen=True, slots=True)
class PersonPage:
    """One person with everything that a page about them shows, withdrawn authorisations at the end."""

    person: Person
    roles: tuple[Role, ...]
    authorisations: tuple[AuthorisationLine, ...]
    hosting: HostingLine | None  # None for the site's own people

    @property
    def facts(self) -> list[tuple[str, str]]:
        """Labels and values of the account."""
        person = self.person
        pin = "locked: a safety officer or an administrator resets it" if person.pin_is_locked else "set"
        return [
            ("Sign-in name", person.sign_in),
            ("Reference", person.ref),
            ("Roles", ", ".join(role.words for role in self.roles) or "none now"),
            *([("E-mail", person.email)] if person.email else []),
            *([("Contractor of", person.employer)] if person.employer else []),
            *([("Host", self.hosting.named)] if self.hosting else []),
            ("PIN", pin if person.has_pin else "not set: cannot sign yet"),
            ("Password", "a first one, to be changed" if person.password_is_first else "set"),
        ]


def person_at(site: Site, ref: str) -> Person | None:
    """The person with this reference, if they have or had a role at `site`; None for anyone else."""
    return Person.objects.filter(ref=ref.upper(), memberships__site=site).distinct().first()


def authorisation_at(site: Site, person: Person, number: int) -> Authorisation | None:
    """The person's authorisation with this number, if it is one of `site`."""
    return Authorisation.objects.filter(pk=number, person=person, site=site).select_related("person").first()


def roles_of(person: Person, site: Site) -> frozenset[Role]:
    """The live roles of `person` at `site`."""
    return frozenset(one.kind for one in Membership.objects.live().filter(person=person, site=site))


def standing_of(person: Person, site: Site, machine: str, day: date) -> Standing:
    """The person's standing at a machine of `site` on the site's calendar day `day`."""
    rows = Authorisation.objects.filter(person=person, site=site, machine=machine)
    return standing(list(rows), machine, day)


def authorisations_at(site: Site, people: Iterable[Person] | None = None) -> dict[int, list[Authorisation]]:
    """Every authorisation at `site` by the person's key, withdrawn ones too; of `people` only where given."""
    rows = Authorisation.objects.filter(site=site).order_by("machine", "starts_on")
    if people is not None:
        rows = rows.filter(person__in=people)
    found: dict[int, list[Authorisation]] = defaultdict(list)
    for row in rows:
        found[row.person_id].append(row)
    return found


def holders(site: Site, role: Role) -> list[Person]:
    """Active people who have `role` at `site`, by name."""
    return list(
        Person.objects.filter(
            is_active=True, memberships__site=site, memberships__role=role, memberships__ended_at=None
        ).order_by("name")
    )


def people_of(site: Site, *, day: date) -> list[PersonLine]:
    """Everyone who has or had a role at `site`: whose authorisations need attention first, who left last.

    Three queries (and the plant's list of machines) whatever the number.
    """
    roles: dict[int, list[Role]] = defaultdict(list)
    people: dict[int, Person] = {}
    for one in Membership.objects.filter(site=site).select_related("person"):
        people[one.person_id] = one.person
        if one.ended_at is None:
            roles[one.person_id].append(one.kind)
    found, hostings = authorisations_at(site), hostings_at(site)
    own = {key for key, one in people.items() if roles[key] and one.is_active and not one.is_contractor}
    names = dict(machines_at(site) or ())
    lines = [
        PersonLine(
            ref=person.ref,
            name=person.name,
            sign_in=person.sign_in,
            is_active=person.is_active,
            pin_locked=person.pin_is_locked,
            roles=_in_order(roles[key]),
            authorisations=_lines([row for row in found.get(key, []) if not row.withdrawn], names, day),
            hosting=hosting_line(
                person,
                hosting := hostings.get(key),
                day,
                host_is_here=hosting is not None and hosting.host_id in own,
                works=Role.TECHNICIAN in roles[key],
            ),
        )
        for key, person in people.items()
    ]
    return sorted(lines, key=lambda line: (not line.roles, line.urgency, line.name.casefold(), line.ref))


def page_of(person: Person, site: Site, *, day: date) -> PersonPage:
    """What the page about one person shows at `site`."""
    rows = Authorisation.objects.filter(person=person, site=site)
    roles, hosting = roles_of(person, site), hostings_at(site, [person]).get(person.pk)
    return PersonPage(
        person=person,
        roles=_in_order(roles),
        authorisations=_lines(rows, dict(machines_at(site) or ()), day),
        hosting=hosting_line(
            person,
            hosting,
            day,
            host_is_here=hosting is not None and is_own(hosting.host, site),
            works=Role.TECHNICIAN in roles,
        ),
    )


def _in_order(roles: Iterable[Role]) -> tuple[Role, ...]:
    held = set(roles)
    return tuple(role for role in Role if role in held)


def _lines(rows: Iterable[Authorisation], names: dict[str, str], day: date) -> tuple[AuthorisationLine, ...]:
    """Lines by urgency; an expired one that a later one for the same machine replaced is left out."""
    rows = list(rows)
    latest: dict[str, date] = {}
    for row in rows:
        if not row.withdrawn:
            latest[row.machine] = max(row.expires_on, latest.get(row.machine, row.expires_on))
    shown = [
        row
        for row in rows
        if not (urgency(row, day) is Urgency.EXPIRED and latest[row.machine] > row.expires_on)
    ]
    shown.sort(key=lambda row: (urgency(row, day), row.expires_on, row.machine))
    return tuple(
        AuthorisationLine(
            number=row.pk,
            machine=row.machine,
            machine_name=names.get(row.machine, ""),
            qualified=row.qualified,
            urgency=urgency(row, day),
            span=span_in_words(row, day),
        )
        for row in shown
    )
