"""Loading a people file into a site; what is there already stays as it is."""

from dataclasses import dataclass
from datetime import date, datetime

from django.contrib.auth.hashers import make_password

from permits.ledger.pen import Author, Pen, writing
from permits.people.actions.authorisations import write_authorisation
from permits.people.actions.hosting import write_hosting
from permits.people.actions.people import new_person, write_person
from permits.people.actions.roles import write_role
from permits.people.machines import machine_objection
from permits.people.models import Authorisation, Hosting, Membership, Person, Site
from permits.people.rules.peoplefile import Newcomer, PeopleFileErrors, parse


@dataclass(frozen=True, slots=True)
class Loaded:
    """Who is at the site now because of the file; `added` counts those who were not there before."""

    people: tuple[Person, ...]
    added: int


def load_people(site: Site, document: object, by: Author, at: datetime) -> Loaded:
    """Adds the file's people with roles, authorisations and hosts, in one transaction; all or nothing.

    A second run adds nothing: people are known again by their sign-in name, authorisations by their machine,
    and whoever had a host once, or is no contractor, is given none.
    Passwords and PINs of people who are there already are not touched. Raises PeopleFileErrors.
    """
    day = site.day_of(at)
    newcomers = parse(document, day)
    errors = [
        f"people (sign_in {one.sign_in!r}): {objection}"
        for one in newcomers
        for grant in one.authorisations
        if (objection := machine_objection(site, grant.machine))
    ]
    errors += _host_objections(site, newcomers)
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
        for newcomer in newcomers:  # hosts may stand anywhere in the file
            _host(pen, site, both[newcomer.sign_in], newcomer, day)
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
        and not _lacks_host(site, person, newcomer)
    )


def _lacks_host(site: Site, person: Person, newcomer: Newcomer) -> bool:
    if newcomer.hosted is None or not person.is_contractor:
        return False
    return not Hosting.objects.filter(site=site, person=person).exists()


def _host_objections(site: Site, newcomers: tuple[Newcomer, ...]) -> list[str]:
    """One line for each host who is neither in the file nor one of the site's own people."""
    here = {one.sign_in for one in newcomers} | set(
        Membership.objects.live().filter(site=site).values_list("person__sign_in", flat=True)
    )
    here -= set(Person.objects.exclude(employer="").values_list("sign_in", flat=True))
    return [
        f"people (sign_in {one.sign_in!r}): host {one.hosted.host!r} is none of the own people of "
        f"{site.name}; the sign-in name of one would be right"
        for one in newcomers
        if one.hosted and one.hosted.host not in here
    ]


def _host(pen: Pen, site: Site, person: Person, newcomer: Newcomer, day: date) -> None:
    if newcomer.hosted and _lacks_host(site, person, newcomer):
        host = Person.objects.get(sign_in=newcomer.hosted.host)
        write_hosting(pen, site, person, host, day, newcomer.hosted.until, newcomer.hosted.informed)


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
