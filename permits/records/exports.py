"""One permit's entries as a file: the exact texts that were hashed, so that someone else can check them."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from permits.ledger.models import Head
from permits.people.models import Site
from permits.records.entries import PERMIT, Told, told_about
from permits.records.times import Clock
from permits.work.rules import events as e
from permits.work.rules.written import WHOLE_SITE

FORMAT = "permits-entries-1"

HOW_TO_READ = {
    "ledger": "the ledger's name, which each body repeats",
    "permit": "the permit; each body says about = 'permit:' and this",
    "made_at": "when this file was made, by the server's clock",
    "head": "the ledger's last entry when this file was made: its number and digest",
    "entries": "the entries about the permit, by number; entries about other matters lie between them",
    "entries[].number": "the entry's place in the ledger, counted from 1",
    "entries[].body": "the text that was hashed: canonical JSON (RFC 8785), taken as UTF-8, nothing added",
    "entries[].digest": "64 lower-case hexadecimal digits: SHA-256 of one byte 0x00 and the body's bytes",
    "entries[].previous": "the digest of entry number - 1; 64 zeros before the first",
    "site_wide": (
        "entries about the whole site (each body says about = 'site') while the permit ran: emergency, paper "
        "mode, policy, and who was told on coming back, even later; members as in entries"
    ),
}

HOW_TO_CHECK = [
    "For each entry compute SHA-256 over the byte 0x00 and the UTF-8 bytes of body: it must equal digest.",
    "Parse body as JSON: its number, previous and ledger must equal those beside it and above.",
    "Where numbers follow each other, previous of the later entry must equal digest of the former.",
    "An entry of kind LATE_ENTERED says in data.happened_at when what is in the next data.entries entries "
    "really happened, on paper; at is when it was entered.",
    "Numbers must rise. Names are not in here: by identifies, by_digest is the SHA-256 of salt and name; "
    "where a second person signed, data.second identifies them and data.second_digest is as by_digest.",
    "A digest that was kept elsewhere (a printed record shows them) must be found here under its number.",
    "That nothing is left out between the numbers is checked on the server: manage.py verify_ledger.",
]


def entries_file(site: Site, reference: str, at: datetime) -> bytes | None:
    """The file as UTF-8 JSON; None where the ledger has no entry about the permit."""
    head = Head.objects.get(pk=site.head_id)
    told = [one for one in told_about(head.pk, PERMIT + reference) if one.number <= head.number]
    if not told:
        return None
    content = entries_content(site, head, reference, told, at, site_wide=site_wide_with(head, told))
    return json.dumps(content, ensure_ascii=False, indent=1).encode("utf-8", "surrogatepass")


def site_wide_with(head: Head, told: Sequence[Told]) -> list[Told]:
    """The entries about the whole site while the permit ran, and those that its absent people were told."""
    gone = (e.AbsentLockRemoved, e.AbsentSignedOff)
    absent = {one.event.owner for one in told if isinstance(one.event, gone)}
    return [
        one
        for one in told_about(head.pk, WHOLE_SITE)
        if told[0].number < one.number <= head.number
        and (one.number <= told[-1].number or getattr(one.event, "person", "") in absent)
    ]


def entries_content(
    site: Site,
    head: Head,
    reference: str,
    told: Sequence[Told],
    at: datetime,
    *,
    site_wide: Sequence[Told],
) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "how_to_read": HOW_TO_READ,
        "how_to_check": HOW_TO_CHECK,
        "ledger": head.name,
        "site": site.name,
        "permit": reference,
        "made_at": Clock(site.zone, site.timezone).full(at),
        "head": {"number": head.number, "digest": head.digest},
        "entries": [as_hashed(one) for one in told],
        "site_wide": [as_hashed(one) for one in site_wide],
    }


def as_hashed(told: Told) -> dict[str, Any]:
    return {"number": told.number, "digest": told.digest, "previous": told.previous, "body": told.body}
