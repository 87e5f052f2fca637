"""Was a request carried out before? Asked before its form, which may no longer fit the changed plant."""

from __future__ import annotations

from uuid import UUID

from permits.ledger.pen import AlreadyDone, done
from permits.people.models import Site

__all__ = ["AlreadyDone", "was_done"]


def was_done(site: Site, key: UUID) -> bool:
    """Did a request with this key write its entries? Then sending it again does nothing."""
    return done(site.head_id, key) is not None
