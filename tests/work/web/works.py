"""Two sites beside each other: the small works with its people and plates, and a workshop with a stranger."""

from __future__ import annotations

from dataclasses import dataclass

from permits.people.models import Person, Site
from permits.people.rules.roles import Role
from permits.plant.actions import issue_tags
from permits.plant.models import Node, Tag
from tests.factories_people import MembershipFactory, PersonFactory, SiteFactory
from tests.factories_plant import CLERK
from tests.work.small_plant import GRAPH
from tests.work.small_site import BEFORE, SmallSite, small_site
from tests.work.web.filling import Plate

STRANGER = "stranger"


@dataclass(frozen=True)
class Works:
    """`people` of both sites by sign-in name; `plates` by the points' names."""

    site: Site
    workshop: Site
    people: dict[str, Person]
    plates: dict[str, Plate]

    def sign_in_of(self, ref: str) -> str:
        return next(name for name, person in self.people.items() if person.ref == ref)


def two_sites() -> Works:
    small: SmallSite = small_site()
    points = [node for node in Node.objects.filter(site=small.site) if node.kind in ("isolator", "store")]
    issue_tags(site=small.site, nodes=points, by=CLERK, at=BEFORE)
    plates = {tag.node.name: plate(tag) for tag in Tag.objects.filter(site=small.site).select_related("node")}
    workshop = SiteFactory(code="BESIDE", name="Workshop beside", timezone="UTC")
    stranger = PersonFactory(sign_in=STRANGER, name="Someone Else")
    for role in Role:
        MembershipFactory(person=stranger, site=workshop, role=role)
    return Works(small.site, workshop, small.people | {STRANGER: stranger}, plates)


def plate(tag: Tag) -> Plate:
    release = GRAPH[tag.node.code].release
    return Plate(tag.node.code, tag.token, takes_lock=release is None or release.undoable)
