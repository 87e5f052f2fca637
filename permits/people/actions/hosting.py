"""Outside contractors: whose people they are, who of the site answers for them, and the end of that."""

from datetime import date, datetime

from permits.ledger.pen import Author, Pen, writing
from permits.people.models import Hosting, Membership, Person, Site
from permits.people.rules.dates import in_words
from permits.people.rules.declined import Declined
from permits.people.rules.kinds import Kind
from permits.people.rules.refs import tidy_ref

REPLACED = "another host or other days took its place"


def change_employer(*, site: Site, person: Person, employer: str, by: Author, at: datetime) -> None:
    """Says for whom the person works; "" for the site's own company.

    Raises Declined when it is so already, when they are hosted still as someone else's, when they host a
    contractor and would need a host themselves, or when it would be oneself.
    """
    _refuse_oneself(by, person)
    with writing(site.head_id, by=by, at=at) as pen:
        person.refresh_from_db(fields=["employer"])
        if employer.strip() == person.employer:
            known = f"works for {person.employer}" if person.employer else "is one of the site’s own people"
            raise Declined(f"{person.name} {known} already.", field="employer")
        _write_employer(pen, site, person, employer)


def host_contractor(
    *,
    site: Site,
    person: Person,
    employer: str,
    host: str,
    starts_on: date,
    expires_on: date,
    informed: str,
    by: Author,
    at: datetime,
) -> Hosting:
    """Makes one of the site's own people (by reference) answer for a contractor up to `expires_on`, included.

    `informed` is what the two employers told each other of their procedures. A hosting that stands is ended
    by the new one. Raises Declined when the same one stands, the employer or what was told is missing, the
    host is the contractor, a contractor, or not of this site, the days are reversed or past, or would leave
    a gap, or it would be oneself.
    """
    _refuse_oneself(by, person)
    today = site.day_of(at)
    if not employer.strip():
        raise Declined(
            "The employer is missing; the company that sends the contractor would be right.", field="employer"
        )
    if expires_on < today:
        raise Declined(
            f"{in_words(expires_on)} is past; a last day that is today or later would be right.",
            field="expires_on",
        )
    with writing(site.head_id, by=by, at=at) as pen:
        person.refresh_from_db(fields=["employer"])
        of_the_site = _own_person(site, host)
        _end_for_another(pen, site, person, of_the_site, employer, starts_on, expires_on, informed)
        if employer.strip() != person.employer:
            _write_employer(pen, site, person, employer)
        return write_hosting(pen, site, person, of_the_site, starts_on, expires_on, informed)


def write_hosting(
    pen: Pen, site: Site, person: Person, host: Person, starts_on: date, expires_on: date, informed: str
) -> Hosting:
    """Gives the host under an open pen; raises Declined for what a hosting can never be."""
    if not person.is_contractor:
        raise Declined(f"{person.name} is no contractor and needs no host; name the employer first.")
    if host.pk == person.pk:
        raise Declined("Nobody hosts themselves; one of the site’s own people would be right.", field="host")
    if host.is_contractor:
        raise Declined(
            f"{host.name} is a contractor of {host.employer}; one of the site’s own people would be right.",
            field="host",
        )
    if expires_on < starts_on:
        raise Declined(
            f"It would end on {in_words(expires_on)}, before it starts on {in_words(starts_on)}; "
            "a last day on or after the first would be right.",
            field="expires_on",
        )
    if not informed.strip():
        raise Declined(
            "What the two employers told each other is missing; who told whom what of the procedures "
            "would be right.",
            field="informed",
        )
    hosting = Hosting.objects.create(
        person=person,
        site=site,
        host=host,
        starts_on=starts_on,
        expires_on=expires_on,
        informed=informed.strip(),
        given_at=pen.at,
    )
    pen.write(
        Kind.CONTRACTOR_HOSTED,
        person.about,
        {
            "host": host.ref,
            "employer": person.employer,
            "starts_on": starts_on.isoformat(),
            "expires_on": expires_on.isoformat(),
            "informed": hosting.informed,
        },
    )
    return hosting


def end_hosting(*, site: Site, person: Person, why: str, by: Author, at: datetime) -> None:
    """Ends the hosting at once: the contractor works under no permit until there is another host.

    Raises Declined when nobody hosts them, or it would be oneself.
    """
    _refuse_oneself(by, person)
    with writing(site.head_id, by=by, at=at) as pen:
        hosting = Hosting.objects.live().filter(site=site, person=person).select_related("host").first()
        if hosting is None:
            raise Declined(f"Nobody hosts {person.name} at {site.name}; nothing is left to end.")
        _write_end(pen, person, hosting, why)


def _own_person(site: Site, ref: str) -> Person:
    """The active person with a live role here; raises Declined for anyone else."""
    live = Membership.objects.live().filter(
        site=site, person__ref=tidy_ref(ref) or "", person__is_active=True
    )
    membership = live.select_related("person").first()
    if membership is None:
        raise Declined(
            f"Nobody at {site.name} who may host has the reference {ref!r}; one of the list would be right.",
            field="host",
        )
    return membership.person


def _end_for_another(
    pen: Pen,
    site: Site,
    person: Person,
    host: Person,
    employer: str,
    starts_on: date,
    expires_on: date,
    informed: str,
) -> None:
    """Ends the hosting that stands, for the new one; raises Declined where that would change nothing."""
    live = Hosting.objects.live().filter(site=site, person=person).select_related("host").first()
    if live is None:
        return
    same = (live.host_id, live.starts_on, live.expires_on, live.informed, person.employer)
    if same == (host.pk, starts_on, expires_on, informed.strip(), employer.strip()):
        raise Declined(
            f"{live.host.name} hosts {person.name} until {in_words(live.expires_on)} already, in these words."
        )
    today = site.day_of(pen.at)
    if live.starts_on <= today <= live.expires_on and starts_on > today:
        raise Declined(
            f"{live.host.name} hosts {person.name} now, and that ends when the new hosting is given: until "
            f"{in_words(starts_on)} nobody would. A first day of today or earlier would be right.",
            field="starts_on",
        )
    _write_end(pen, person, live, REPLACED)


def _write_end(pen: Pen, person: Person, hosting: Hosting, why: str) -> None:
    hosting.ended_at = pen.at
    hosting.save(update_fields=["ended_at"])
    pen.write(Kind.HOSTING_ENDED, person.about, {"host": hosting.host.ref, "why": why})


def _write_employer(pen: Pen, site: Site, person: Person, employer: str) -> None:
    _refuse_while_hosted(site, person)
    if employer.strip():
        _refuse_who_hosts(site, person)
    person.employer = employer.strip()
    person.save(update_fields=["employer"])
    pen.write(Kind.EMPLOYER_CHANGED, person.about, {"employer": person.employer})


def _refuse_oneself(by: Author, person: Person) -> None:
    if by.ref == person.about:
        raise Declined("Nobody says this about themselves; another safety officer can.")


def _refuse_while_hosted(site: Site, person: Person) -> None:
    """Raises Declined while someone hosts the person: what was told was told to the employer of before."""
    for one in Hosting.objects.live().filter(person=person).select_related("host", "site").order_by("pk"):
        here = one.site_id == site.pk
        by = f"by {one.host.name}; end" if here else f"at {one.site.name}; have its safety officer end"
        raise Declined(
            f"{person.name} is hosted as a contractor of {person.employer} {by} that first.", field="employer"
        )


def _refuse_who_hosts(site: Site, person: Person) -> None:
    """Raises Declined while the person answers for somebody: a contractor cannot."""
    guests = Hosting.objects.live().filter(host=person).select_related("person", "site").order_by("pk")
    if not guests:
        return
    names = ", ".join(
        one.person.name if one.site_id == site.pk else f"someone at {one.site.name}" for one in guests
    )
    raise Declined(
        f"{person.name} hosts {names}, and a contractor cannot host; give them another host first.",
        field="employer",
    )
