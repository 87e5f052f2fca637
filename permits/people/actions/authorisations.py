"""Authorising people for machines, and withdrawing that."""

from datetime import date, datetime

from permits.ledger.pen import Author, Pen, writing
from permits.people.machines import machine_objection
from permits.people.models import Authorisation, Person, Site
from permits.people.rules.dates import in_words
from permits.people.rules.declined import Declined
from permits.people.rules.kinds import Kind


def authorise(
    *,
    site: Site,
    person: Person,
    machine: str,
    qualified: bool,
    starts_on: date,
    expires_on: date,
    by: Author,
    at: datetime,
) -> Authorisation:
    """Leave to lock out `machine` from `starts_on` up to and including `expires_on`.

    Raises Declined when the machine is unknown here, the dates are the wrong way round or over, the person
    authorises themselves, or the same authorisation stands already.
    """
    if objection := machine_objection(site, machine):
        raise Declined(objection, field="machine")
    if by.ref == person.about:
        raise Declined("Nobody authorises themselves; another safety officer can.")
    if expires_on < site.day_of(at):
        raise Declined(
            f"{in_words(expires_on)} is past; a last day that is today or later would be right.",
            field="expires_on",
        )
    with writing(site.head_id, by=by, at=at) as pen:
        return write_authorisation(pen, site, person, machine, qualified, starts_on, expires_on)


def write_authorisation(
    pen: Pen, site: Site, person: Person, machine: str, qualified: bool, starts_on: date, expires_on: date
) -> Authorisation:
    """Gives it under an open pen; raises Declined when dates are reversed or it stands already."""
    if expires_on < starts_on:
        raise Declined(
            f"It would end on {in_words(expires_on)}, before it starts on {in_words(starts_on)}; "
            "a last day on or after the first would be right.",
            field="expires_on",
        )
    live = Authorisation.objects.live().filter(site=site, person=person, machine=machine, starts_on=starts_on)
    if live.exists():
        raise Declined(
            f"{person.name} has an authorisation for {machine} that starts on {in_words(starts_on)} already; "
            "withdraw that one first, or give another first day.",
            field="starts_on",
        )
    authorisation = Authorisation.objects.create(
        person=person,
        site=site,
        machine=machine,
        qualified=qualified,
        starts_on=starts_on,
        expires_on=expires_on,
        given_at=pen.at,
    )
    pen.write(
        Kind.AUTHORISED,
        person.about,
        {
            "machine": machine,
            "qualified": qualified,
            "starts_on": starts_on.isoformat(),
            "expires_on": expires_on.isoformat(),
        },
    )
    return authorisation


def withdraw_authorisation(
    *, site: Site, authorisation: Authorisation, why: str, by: Author, at: datetime
) -> None:
    """Ends an authorisation at once. Raises Declined when it was withdrawn already."""
    with writing(site.head_id, by=by, at=at) as pen:
        authorisation.refresh_from_db()
        if authorisation.withdrawn:
            raise Declined("This authorisation was withdrawn already.")
        authorisation.withdrawn_at = pen.at
        authorisation.save(update_fields=["withdrawn_at"])
        pen.write(
            Kind.AUTHORISATION_WITHDRAWN,
            authorisation.person.about,
            {"machine": authorisation.machine, "starts_on": authorisation.starts_on.isoformat(), "why": why},
        )
