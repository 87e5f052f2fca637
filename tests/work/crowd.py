"""One process in which many people act at once on the small plant, and what it finds afterwards.

crowd.py THREADS SECONDS SEED   prints JSON: figures, and what is wrong (nothing, as it should be)

Everyone has two phones and follows their own next step, but now and then asks for something dangerous, or
stops the work; a quarter of the requests reach the server twice, with one key, from two threads. The plant's
clock moves on with each request, so that waits pass. Afterwards the ledger is folded entry by entry, and on
every prefix it is looked for someone inside whom energy reaches (physics.py: networkx, and simulated stores).
"""

from __future__ import annotations

import json
import random
import sys
import threading
import time
from collections import Counter, deque
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any
from uuid import UUID, uuid4

import django
from django.conf import settings
from django.db import connections

ZONES = (("SAW", "OUT"), ("NEXT",), ("LUG",))
OPEN_AT_ONCE = 3
TORN = (KeyError, IndexError, StopIteration, TypeError)
"""What a next step worked out from pages of two moments may raise; the write path never reads that way."""


@dataclass
class PlantClock:
    """Each request takes some of the plant's time, however slow the machine is."""

    now: datetime
    mutex: threading.Lock = field(default_factory=threading.Lock)

    def tick(self, seconds: float) -> datetime:
        with self.mutex:
            self.now += timedelta(seconds=seconds)
            return self.now


class Crowd:
    """`asked`: each key → how it was answered, as often as it was sent."""

    def __init__(self, small: Any, seconds: float) -> None:
        from tests.work.small_plant import at

        self.small, self.clock = small, PlantClock(at(0))
        begun = time.monotonic()
        self.until, self.at_most = begun + seconds, begun + 4 * seconds
        self.again: deque[tuple[Any, UUID]] = deque()
        self.asked: dict[UUID, list[str]] = {}
        self.mutex = threading.Lock()
        self.waits: list[float] = []
        self.figures: Counter[str] = Counter()
        self.failures: list[str] = []

    # ── one phone ───────────────────────────────────────────────────────────────────────────────────────

    def phone(self, person: str, seed: int) -> None:
        draw = random.Random(seed)
        try:
            while self.goes_on() and not self.failures:
                if self.again and draw.random() < 0.5:
                    self.send_again()
                else:
                    self.one_request(person, draw)
        except BaseException as failure:
            self.failures.append(f"{person}: {type(failure).__name__}: {failure}")
        finally:
            connections.close_all()

    def goes_on(self) -> bool:
        """Until the time is over; on a slow machine until somebody has gone in: it is about them."""
        now = time.monotonic()
        return now < self.until or (now < self.at_most and not self.figures["went in"])

    def one_request(self, person: str, draw: random.Random) -> None:
        ask = self.what_to_ask(person, draw)
        if ask is None:
            self.clock.tick(2)
            time.sleep(0.01)
            return
        key = uuid4()
        if draw.random() < 0.25:
            self.again.append((ask, key))
        self.send(ask, key)

    def send_again(self) -> None:
        try:
            ask, key = self.again.popleft()
        except IndexError:
            return
        self.figures["sent twice"] += 1
        self.send(ask, key)

    def send(self, ask: Any, key: UUID) -> None:
        from permits.work.actions import HOLDS_UP, perform
        from permits.work.rules.commands import SignOnCrew
        from permits.work.rules.refusal import Refused

        begun = time.monotonic()
        try:
            happened = perform(site=self.small.site, command=ask, by=self.small.author(ask.by), key=key)
            answer = "done" if happened else "repeat"
        except Refused:
            answer = "refused"
        with self.mutex:
            if answer == "done" and isinstance(ask, HOLDS_UP) and "done" in self.asked.get(key, ()):
                answer = "stopped anew"  # it had been lifted before it arrived again
            self.waits.append(time.monotonic() - begun)
            self.asked.setdefault(key, []).append(answer)
            self.figures[answer] += 1
            self.figures["went in"] += isinstance(ask, SignOnCrew) and answer == "done"

    def what_to_ask(self, person: str, draw: random.Random) -> Any:
        from permits.work import store
        from permits.work.rules import commands as c
        from tests.work.following import following
        from tests.work.small_plant import request
        from tests.work.trying import dangerous

        site, at = store.load(self.small.site), self.clock.tick(3)
        if len(site.open) < OPEN_AT_ONCE and person in ("odo", "pia") and draw.random() < 0.5:
            asked = request(zones=draw.choice(ZONES), by=person)
            return replace(asked, at=at, starts_at=at, ends_at=at + timedelta(hours=6))
        if not site.open:
            return None
        permit, chance = draw.choice(site.open).id, draw.random()
        try:
            if chance < 0.1:
                self.figures["dangerous"] += 1
                return draw.choice([ask for ask in dangerous(site, at) if ask.by])
            if chance < 0.104:
                return c.StopWork(permit=permit, by=person, at=at, why="smoke")
            return following(site, permit, person, at)
        except TORN:
            self.figures["pages of two moments"] += 1
            return None

    # ── afterwards ──────────────────────────────────────────────────────────────────────────────────────

    def wrong(self) -> list[str]:
        from permits.ledger.models import Head, Receipt
        from permits.ledger.verify import verify
        from permits.records.replay import replay

        found = list(self.failures)
        site = self.small.site
        verdict = verify(Head.objects.get(pk=site.head_id))
        found += [] if verdict.ok else [f"the ledger: {verdict.what}"]
        found += [f"{one.permit}: {one.what}" for one in replay(site).differences]
        receipts = list(Receipt.objects.filter(head=site.head_id).order_by("first"))
        for before, after in pairwise(receipts):
            if after.first <= before.last:
                found.append(f"two requests wrote entry {after.first}")
        kept = Counter(receipt.key for receipt in receipts)
        for key, answers in self.asked.items():
            if answers.count("done") > 1 or kept[key] != ("done" in answers):
                found.append(f"request {key} was answered {answers} and has {kept[key]} receipts")
        self.figures["entries"] = verdict.entries
        return found + self.reached({receipt.last for receipt in receipts})

    def reached(self, ends: set[int]) -> list[str]:
        """Whom energy reaches, on any prefix of the ledger; all that must hold, where a request ended."""
        from permits.ledger.models import Entry
        from permits.work import store
        from permits.work.rules.evolve import fold
        from permits.work.rules.state import Site
        from permits.work.rules.written import KINDS, from_data
        from tests.work.physics import Stores
        from tests.work.world import World

        now = store.load(self.small.site)
        world = World(Site(graph=now.graph, people=now.people), Stores(now.graph))
        for entry in Entry.objects.filter(head=self.small.site.head_id, kind__in=KINDS).order_by("number"):
            by = entry.by.removeprefix("person:") if entry.by != "system:clock" else ""
            event = from_data(
                entry.kind, json.loads(entry.body)["data"],
                permit=entry.about.removeprefix("permit:"), by=by, at=entry.at,
            )  # fmt: skip
            world.move_stores(event)
            world.site = fold(world.site, [event])
            world.stores.settle(world.site)
            if danger := world.in_danger():
                return [f"entry {entry.number}, {entry.kind}: energy reaches {sorted(danger)}"]
            self.figures["prefixes"] += 1
            self.figures["prefixes with someone inside"] += any(p.signed_on for p in world.site.open)
            self.figures["closed"] += entry.kind == "PERMIT_CLOSED"
            if entry.number in ends:
                world.look()
        return []


def main(threads: int, seconds: float, seed: int) -> None:
    from permits.work.rules import clock_behind
    from tests.work.small_plant import PEOPLE
    from tests.work.small_site import small_site

    # While one waits for their turn the others take some of the plant's time, which runs faster than ours.
    clock_behind.TOLERATED = timedelta(minutes=2)
    crowd = Crowd(small_site(), seconds)
    begun = time.monotonic()
    names = sorted(PEOPLE)
    phones = [
        threading.Thread(target=crowd.phone, args=[names[n % len(names)], seed * 100 + n])
        for n in range(threads)
    ]
    for phone in phones:
        phone.start()
    for phone in phones:
        phone.join()
    lasted = time.monotonic() - begun
    wrong = crowd.wrong()
    figures = {"threads": threads, "seconds": round(lasted, 1), "worst wait s": round(max(crowd.waits), 3)}
    print(json.dumps({"wrong": wrong, "figures": {**figures, **crowd.figures}}))


if __name__ == "__main__":
    django.setup()
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    main(int(sys.argv[1]), float(sys.argv[2]), int(sys.argv[3]))
