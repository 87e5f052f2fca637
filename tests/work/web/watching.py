"""What must hold at a site after every request: the chain of its entries, its tables, and who is in reach."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace

from permits.ledger.models import Entry, Head
from permits.ledger.verify import verify
from permits.people.models import Site
from permits.records.replay import replay
from permits.work import store
from permits.work.rules.written import KINDS, from_data
from tests.work.physics import Stores
from tests.work.world import World

PIN_TRIED = {"PIN_FAILED", "PIN_LOCKED"}
CLOCK = "system:clock"


class Watch:
    """Follows one site's ledger: a careless world (world.py) is moved on by what each new entry says."""

    def __init__(self, site: Site) -> None:
        self.site = site
        began = store.load(site)
        self.world = World(began, Stores(began.graph))
        head = self.head()
        self.number, self.digest, self.last_at = head.number, head.digest, head.last_at

    def head(self) -> Head:
        return Head.objects.get(pk=self.site.head_id)

    def new(self) -> list[Entry]:
        """What was written since the last look; everything that must hold is checked on the way."""
        if self.head().number == self.number:
            return []
        found = list(Entry.objects.filter(head=self.site.head_id, number__gt=self.number).order_by("number"))
        for entry in found:
            self.follows(entry)
        head = self.head()
        assert (head.number, head.digest, head.last_at) == (self.number, self.digest, self.last_at)
        events = [self.event(entry) for entry in found if entry.kind in KINDS]
        if events:
            self.take(events)
        return found

    def follows(self, entry: Entry) -> None:
        """The entry is the next of the chain. Digest: SHA-256 of 0x00 and the body (RFC 9162 §2.1.1)."""
        body = json.loads(entry.body)
        assert entry.number == body["number"] == self.number + 1
        assert entry.previous == body["previous"] == self.digest
        assert entry.digest == hashlib.sha256(b"\x00" + entry.body.encode()).hexdigest()
        assert self.last_at is None or entry.at >= self.last_at
        self.number, self.digest, self.last_at = entry.number, entry.digest, entry.at

    @staticmethod
    def event(entry: Entry):
        by = "" if entry.by == CLOCK else entry.by.removeprefix("person:")
        permit = entry.about.removeprefix("permit:") if entry.about.startswith("permit:") else ""
        return from_data(entry.kind, json.loads(entry.body)["data"], permit=permit, by=by, at=entry.at)

    def take(self, events) -> None:
        self.world.take(events)
        assert not self.world.in_danger(), "the plant stays as it is: energy never reaches anyone inside"
        told, kept = self.world.site, store.load(self.site)
        assert {p.id: p for p in told.open} == kept.permits, "the tables say what the entries say"
        assert (told.emergency, told.paper, told.untold) == (kept.emergency, kept.paper, kept.untold)
        assert told.padlock_owners == kept.padlock_owners
        assert told.out_of_use == kept.out_of_use
        self.world.site = replace(told, people=kept.people, policy=kept.policy)

    def is_whole(self) -> None:
        """The whole ledger verifies, and folded again it makes the tables that are there."""
        verdict = verify(self.head())
        assert verdict.ok, verdict
        assert verdict.entries == self.number
        assert replay(self.site).differences == []


def asked_for(entries: list[Entry]) -> list[Entry]:
    """The entries that someone's request made: neither what fell due nor a wrong PIN."""
    return [entry for entry in entries if entry.by != CLOCK and entry.kind not in PIN_TRIED]
