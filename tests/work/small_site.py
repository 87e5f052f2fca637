"""The small plant of the rules' tests as a site in the database: its people, procedures and nothing open."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from permits.ledger.pen import Author
from permits.people.models import Person, Site
from permits.people.rules.roles import Role
from permits.plant.actions import approve_procedure, draft_procedure, import_plant
from permits.plant.queries import machine_of
from permits.plant.rules.plantfile import Machine, PlantFile
from tests.factories_people import AuthorisationFactory, MembershipFactory, PersonFactory, SiteFactory
from tests.factories_plant import CLERK, WRITTEN
from tests.work.small_plant import ALL_YEAR, GRAPH, MACHINES, PEOPLE, SITE, at

BEFORE = at(0) - timedelta(days=30)


@dataclass(frozen=True)
class SmallSite:
    """`people`: by the names that the rules' tests call them."""

    site: Site
    people: dict[str, Person]

    def author(self, ref: str) -> Author:
        return next(person.author for person in self.people.values() if person.ref == ref)


def small_site() -> SmallSite:
    site = SiteFactory(code="SMALL", name="Small works", timezone="UTC")
    machines = tuple(Machine(code, f"Machine {code}") for code in MACHINES)
    described = PlantFile(plant="Small works", code="SMALL", machines=machines, graph=GRAPH)
    import_plant(site=site, plant_file=described, by=CLERK, at=BEFORE)
    people = {name: someone(site, name) for name in PEOPLE}
    author, approver = (PersonFactory(site=site, site__role=Role.OFFICER) for _ in range(2))
    for procedure in SITE.procedures.values():
        machine = machine_of(site, procedure.machine)
        drafted = draft_procedure(machine=machine, zones=procedure.zones, texts=WRITTEN, by=author, at=BEFORE)
        approve_procedure(procedure=drafted, by=approver, at=BEFORE)
    return SmallSite(site, people)


def someone(site: Site, name: str) -> Person:
    known = PEOPLE[name]
    person = PersonFactory(ref=name, sign_in=name, name=known.name)  # what following.py calls them
    for role in known.roles:
        MembershipFactory(person=person, site=site, role=Role(role))
    for grant in known.authorisations:
        AuthorisationFactory(
            person=person, site=site, machine=grant.machine, qualified=grant.qualified,
            starts_on=ALL_YEAR[0], expires_on=ALL_YEAR[1],
        )  # fmt: skip
    return person
