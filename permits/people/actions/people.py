"""Adding people, changing a name, disabling and enabling, ending sessions."""

from datetime import datetime

from django.contrib.auth.hashers import make_password
from django.db import IntegrityError
from django.db.models import F

from permits.ledger.pen import Author, Pen, writing
from permits.people.actions.roles import refuse_without_administrator, write_role
from permits.people.inside import hold, refuse_while_inside
from permits.people.models import Membership, Person, Site, new_salt
from permits.people.rules.declined import Declined
from permits.people.rules.kinds import Kind
from permits.people.rules.roles import Role
from permits.people.rules.sign_in_names import sign_in_objection, tidy_sign_in


def add_person(
    *,
    site: Site,
    sign_in: str,
    name: str,
    first_password: str,
    role: Role,
    email: str = "",
    employer: str = "",
    by: Author,
    at: datetime,
) -> Person:
    """A new person with one role at `site` and a first password that they must change.

    Raises Declined when the sign-in name is malformed or taken, or the name is empty.
    """
    person = new_person(sign_in=sign_in, name=name, email=email, employer=employer)
    person.password = make_password(first_password)
    person.password_is_first = True
    with writing(site.head_id, by=by, at=at) as pen:
        write_person(pen, person)
        write_role(pen, site, person, role)
    return person


def new_person(*, sign_in: str, name: str, email: str, employer: str) -> Person:
    """A person who is not in the tables yet; raises Declined as `add_person` does."""
    sign_in, name = tidy_sign_in(sign_in), name.strip()
    if objection := sign_in_objection(sign_in):
        raise Declined(objection, field="sign_in")
    if not name:
        raise Declined(
            "The name is empty; the name by which colleagues know the person would be right.", field="name"
        )
    if Person.objects.filter(sign_in=sign_in).exists():
        raise Declined(_taken(sign_in), field="sign_in")
    return Person(sign_in=sign_in, name=name, email=email, employer=employer.strip())


def write_person(pen: Pen, person: Person) -> None:
    """Saves a new person under an open pen."""
    try:
        person.save(force_insert=True)
    except IntegrityError:
        raise Declined(_taken(person.sign_in), field="sign_in") from None
    pen.write(Kind.PERSON_ADDED, person.about, {"digest": person.name_digest})


def rename_person(*, site: Site, person: Person, name: str, by: Author, at: datetime) -> None:
    """Changes the name, under a new salt: the old digest cannot be matched to a guess of the old name."""
    name = name.strip()
    if not name:
        raise Declined(
            "The name is empty; the name by which colleagues know the person would be right.", field="name"
        )
    if name == person.name:
        raise Declined("This is the name already; a different one would be right.", field="name")
    previous = person.name_digest
    with writing(site.head_id, by=by, at=at) as pen:
        person.name, person.name_salt = name, new_salt()
        person.save(update_fields=["name", "name_salt"])
        pen.write(Kind.NAME_CHANGED, person.about, {"digest": person.name_digest, "previous": previous})


def disable_person(*, site: Site, person: Person, why: str, by: Author, at: datetime) -> None:
    """Ends every session of the person at once; they cannot sign in until enabled again.

    Raises Declined when it would be oneself, would leave a site without an administrator, or they are inside
    a machine.
    """
    if by.ref == person.about:
        raise Declined("You cannot disable yourself; another administrator can.")
    with writing(site.head_id, by=by, at=at) as pen:
        hold(person.ref)
        person.refresh_from_db()
        if not person.is_active:
            raise Declined(f"{person.name} is disabled already.")
        held = Membership.objects.live().filter(person=person, role=Role.ADMINISTRATOR).select_related("site")
        for one in held:
            refuse_without_administrator(one.site, person)
        refuse_while_inside(person, here=site, elsewhere=True)
        person.is_active = False
        person.session_number += 1
        person.save(update_fields=["is_active", "session_number"])
        pen.write(Kind.PERSON_DISABLED, person.about, {"why": why})


def enable_person(*, site: Site, person: Person, why: str, by: Author, at: datetime) -> None:
    """Lets a disabled person sign in again. Raises Declined when they are not disabled."""
    with writing(site.head_id, by=by, at=at) as pen:
        person.refresh_from_db()
        if person.is_active:
            raise Declined(f"{person.name} is not disabled.")
        person.is_active = True
        person.save(update_fields=["is_active"])
        pen.write(Kind.PERSON_ENABLED, person.about, {"why": why})


def end_sessions(*, person: Person) -> None:
    """Ends every session of the person on every device. Nothing of the site changes: no entry."""
    Person.objects.filter(pk=person.pk).update(session_number=F("session_number") + 1)
    person.refresh_from_db(fields=["session_number"])


def _taken(sign_in: str) -> str:
    return f"The sign-in name {sign_in!r} is taken; another one would be right."
