"""Giving and ending roles at a site."""

from datetime import datetime

from permits.ledger.pen import Author, Pen, writing
from permits.people.inside import refuse_while_inside
from permits.people.models import Membership, Person, Site
from permits.people.rules.declined import Declined
from permits.people.rules.kinds import Kind
from permits.people.rules.roles import Role
from permits.people.rules.sign_in_names import tidy_sign_in


def grant_role(*, site: Site, person: Person, role: Role, by: Author, at: datetime) -> Membership:
    """Gives `person` a role at `site`. Raises Declined when they have it already."""
    with writing(site.head_id, by=by, at=at) as pen:
        return write_role(pen, site, person, role)


def join_site(*, site: Site, ref: str, sign_in: str, role: Role, by: Author, at: datetime) -> Person:
    """Gives a role at `site` to someone known at another, found by reference and sign-in name together.

    Raises Declined when the two do not belong to one active person, or they have the role already.
    """
    person = Person.objects.filter(ref=ref, sign_in=tidy_sign_in(sign_in)[:40], is_active=True).first()
    if person is None:
        raise Declined(
            f"Nobody has the reference {ref} and this sign-in name; both stand on the person's own page.",
            field="ref",
        )
    grant_role(site=site, person=person, role=role, by=by, at=at)
    return person


def write_role(pen: Pen, site: Site, person: Person, role: Role) -> Membership:
    """Gives the role under an open pen; raises Declined as `grant_role` does."""
    if Membership.objects.live().filter(site=site, person=person, role=role).exists():
        raise Declined(f"{person.name} is {role.words} at {site.name} already.", field="role")
    membership = Membership.objects.create(person=person, site=site, role=role.value, granted_at=pen.at)
    pen.write(Kind.ROLE_GRANTED, person.about, {"role": role.value})
    return membership


def end_role(*, site: Site, person: Person, role: Role, by: Author, at: datetime) -> None:
    """Takes a role away at once.

    Raises Declined when they don't have it, nobody would administer, or it is their last here and they are
    inside a machine.
    """
    with writing(site.head_id, by=by, at=at) as pen:
        membership = Membership.objects.live().filter(site=site, person=person, role=role).first()
        if not membership:
            raise Declined(f"{person.name} is not {role.words} at {site.name}.", field="role")
        if role is Role.ADMINISTRATOR:
            refuse_without_administrator(site, person)
        if not Membership.objects.live().filter(site=site, person=person).exclude(pk=membership.pk).exists():
            refuse_while_inside(person, here=site)
        membership.ended_at = pen.at
        membership.save(update_fields=["ended_at"])
        pen.write(Kind.ROLE_ENDED, person.about, {"role": role.value})


def refuse_without_administrator(site: Site, person: Person) -> None:
    """Raises Declined when `person` is the only one who administers `site`."""
    others = Membership.objects.live().filter(site=site, role=Role.ADMINISTRATOR, person__is_active=True)
    if not others.exclude(person=person).exists():
        raise Declined(
            f"{site.name} would be left without an administrator; make someone else administrator first.",
            field="role",
        )
