"""Loading a people file into a site; what is there already stays as it is."""

from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.hashers import make_password

from permits.ledger.pen import Author, Pen, writing
from permits.people.actions.authorisations import write_authorisation
from permits.people.actions.people import new_person, write_person
from permits.people.actions.roles import write_role
from permits.people.machines import machine_objection
from permits.people.models import Authorisation, Membership, Person, Site
from permits.people.rules.peoplefile import Newcomer, PeopleFileErrors, parse


@dataclass(frozen=True, slots=True)
class Loaded:
    """Who is at the site now because of the file; `added` counts those who were not there before."""

    people: tuple[Person, ...]
    added: int


def load_people(site: Site, document: object, by: Author, at: datetime) -> Loaded:
    """Adds the people of the file with their roles and authorisations, in one transaction; all or nothing.

    A second run adds nothing: people are known again by their sign-in name, authorisations by their machine.
    Passwords and PINs of people who are there already are not touched. Raises PeopleFileErrors.
    """
    newcomers = parse(document, site.day_of(at))
    errors = [
        f"people (sign_in {one.sign_in!r}): {objection}"
        for one in newcomers
        for grant in one.authorisations
        if (objection := machine_objection(site, grant.machine))
    ]
    if errors:
        raise PeopleFileErrors(errors)
    there = {
        one.sign_in: one for one in Person.objects.filter(sign_in__in=[one.sign_in for one in newcomers])
    }
    fresh = {
        one.sign_in: _person(one) for one in newcomers if one.sign_in not in there
    }  # hashing is slow: no pen yet
    if not fresh and not any(_missing(site, there[one.sign_in], one) for one in newcomers):
        return Loaded(tuple(there[one.sign_in] for one in newcomers), 0)
    with writing(site.head_id, by=by, at=at) as pen:
        for newcomer in newcomers:
            if person := fresh.get(newcomer.sign_in):
                write_person(pen, person)
            else:
                person = there[newcomer.sign_in]
            _complete(pen, site, person, newcomer)
    both = there | fresh
    return Loaded(tuple(both[one.sign_in] for one in newcomers), len(fresh))


def _person(newcomer: Newcomer) -> Person:
    person = new_person(
        sign_in=newcomer.sign_in, name=newcomer.name, email=newcomer.email, employer=newcomer.employer
    )
    person.password = make_password(newcomer.password)
    person.pin = make_password(newcomer.pin) if newcomer.pin else ""
    return person


def _missing(site: Site, person: Person, newcomer: Newcomer) -> bool:
    roles = set(Membership.objects.filter(site=site, person=person).values_list("role", flat=True))
    machines = set(Authorisation.objects.filter(site=site, person=person).values_list("machine", flat=True))
    return not (
        roles >= {role.value for role in newcomer.roles}
        and machines >= {grant.machine for grant in newcomer.authorisations}
    )


def _complete(pen: Pen, site: Site, person: Person, newcomer: Newcomer) -> None:
    """Gives what the person never had here; a role that was ended or a withdrawn authorisation stays so."""
    roles = set(Membership.objects.filter(site=site, person=person).values_list("role", flat=True))
    machines = set(Authorisation.objects.filter(site=site, person=person).values_list("machine", flat=True))
    for role in newcomer.roles:
        if role.value not in roles:
            write_role(pen, site, person, role)
    for grant in newcomer.authorisations:
        if grant.machine not in machines:
            write_authorisation(
                pen, site, person, grant.machine, grant.qualified, grant.starts_on, grant.expires_on
            )
