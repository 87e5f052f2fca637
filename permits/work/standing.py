"""What hangs and what is proven at a site's points now, under all its open permits."""

from __future__ import annotations

from datetime import datetime

from permits.people.models import Site
from permits.plant.picture import Facts, PadlockLabel
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
