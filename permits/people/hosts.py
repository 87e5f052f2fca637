"""Reads about outside contractors at a site: who hosts whom, who could, and how it stands today."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from permits.people.models import Hosting, Membership, Person, Site
from permits.people.rules.hosting import without_host
from permits.people.rules.urgency import Urgency, span_in_words, urgency


@dataclass(frozen=True, slots=True)
class HostingLine:
    """How a contractor is hosted, as pages show it. `host` is "" where nobody does, `badge` "" for none."""

    employer: str
    host: str
    span: str
    informed: str
    urgency: Urgency
    badge: str
    word: str

    @property
    def named(self) -> str:
        """'Maud Ferrisdale, until 3 March 2027 (98 more days)'."""
        return f"{self.host}, {self.span}" if self.host else self.span

    @property
    def in_words(self) -> str:
        """'hosted by Maud Ferrisdale, until 3 March 2027 (98 more days)'."""
        return f"hosted by {self.named}" if self.host else self.span


def hostings_at(site: Site, people: Iterable[Person] | None = None) -> dict[int, Hosting]:
    """Each contractor's live hosting by the person's key, with its host; of `people` only where given."""
    rows = Hosting.objects.live().filter(site=site).select_related("host")
    if people is not None:
        rows = rows.filter(person__in=people)
    return {row.person_id: row for row in rows}


def possible_hosts(site: Site, person: Person) -> list[Person]:
    """The site's own active people other than `person`, by name."""
    here = Membership.objects.live().filter(site=site).values("person")
    return list(
        Person.objects.filter(pk__in=here, is_active=True, employer="").exclude(pk=person.pk).order_by("name")
    )


def is_own(person: Person, site: Site) -> bool:
    """Whether the person is one of the site's own: active, with a live role, no contractor."""
    here = Membership.objects.live().filter(site=site, person=person).exists()
    return here and person.is_active and not person.is_contractor


def hosting_line(
    person: Person, hosting: Hosting | None, day: date, *, host_is_here: bool, works: bool
) -> HostingLine | None:
    """How the person is hosted on `day`; None for someone who is no contractor.

    `works`: they can be named on permits, so that a missing host needs attention.
    """
    if not person.is_contractor:
        return None
    if hosting is None:
        near, badge = (Urgency.EXPIRED, "stale") if works else (Urgency.LATER, "")
        return HostingLine(person.employer, "", "nobody hosts them", "", near, badge, "no host")
    name, near = hosting.host.name, urgency(hosting, day)
    if without_host(hosting.value, host_is_here):
        span = "who is no longer one of the site’s own people"
        return HostingLine(person.employer, name, span, hosting.informed, Urgency.EXPIRED, "stale", "no host")
    span = span_in_words(hosting, day)
    return HostingLine(person.employer, name, span, hosting.informed, near, near.badge, near.word)
