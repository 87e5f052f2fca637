"""What the ledger knows of a request that was carried out: what came of it."""

from __future__ import annotations

from uuid import UUID

from permits.ledger.models import Entry, Receipt
from permits.people.models import Site


def permit_asked_for(site: Site, key: UUID) -> str:
    """The permit that the request with this key asked for; "" where it was not carried out."""
    receipt = Receipt.objects.filter(head=site.head_id, key=key).first()
    if receipt is None:
        return ""
    entries = Entry.objects.filter(head=site.head_id, number__range=(receipt.first, receipt.last))
    asked = entries.filter(about__startswith="permit:").order_by("-number").first()
    return asked.about.removeprefix("permit:") if asked else ""
