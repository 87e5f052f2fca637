"""What stands now under the open permits: what hangs and is proven at a site's points, and who is inside."""

from __future__ import annotations

from datetime import datetime

from permits.people.models import Person, Site
from permits.plant.picture import Facts, PadlockLabel
from permits.work import models as rows
from permits.work import queries
from permits.work.rules.in_service import not_in_service
from permits.work.rules.reaching import is_proven


def standing(site: Site, at: datetime) -> Facts:
    """All permits' locks and releases. A point is proven where each permit that holds it proved it."""
    now = queries.settled(site, at)
    locks: dict[str, tuple[PadlockLabel, ...]] = {}
    for permit in now.open:
        for lock in permit.hanging:
            label = PadlockLabel(lock.padlock, now.name(lock.owner))
            locks[lock.where] = (*locks.get(lock.where, ()), label)
    held = now.locked | now.released
    return Facts(
        service=not_in_service(now),
        locks=locks,
        released=now.released,
        proven=frozenset(
            point
            for point in held
            if all(
                is_proven(now, permit, point, at)
                for permit in now.open
                if point in permit.locked or point in permit.released
            )
        ),
    )


def signed_on(person: Person) -> list[tuple[Site, str]]:
    """The sites and permits under which this person is inside now."""
    inside = rows.CrewSignOn.objects.filter(person=person.ref, off_at=None).select_related("permit__site")
    return [(one.permit.site, one.permit.reference) for one in inside.order_by("permit_id")]
