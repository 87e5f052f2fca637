"""A site in the rules and the same site in a careless world beside it; and what must hold between the two.

`World.take` moves both on by what happened and then looks at everything, from scratch and by other means than
the rules' own.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace
from datetime import datetime

from permits.plant.rules.energy import Graph
from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.decide import decide
from permits.work.rules.due import due, plant_changed
from permits.work.rules.evolve import fold
from permits.work.rules.state import Permit, Site
from permits.work.rules.words import BOX, Phase
from permits.work.rules.written import from_data, kind_of, to_data
from tests.work.physics import (
    Stores,
    fed_past,
    locked_since,
    own_locks,
    own_releases,
    people_reached,
    reached,
    sources,
)

Reached = set[tuple[str, str, str]]


@dataclass
class World:
    """`written`: what the ledger would hold, as its data."""

    site: Site
    stores: Stores
    written: list[tuple[str, str, str, datetime, object]] = field(default_factory=list)

    # ── what happens ────────────────────────────────────────────────────────────────────────────────────

    def do(self, ask: c.Command) -> None:
        """A command at its time. Raises Refused; fails when it is accepted and makes someone less safe."""
        self.settle(ask.at)
        self.accept(ask, decide(self.site, ask))

    def accept(self, ask: c.Command, events: list[e.Event]) -> None:
        before = self.in_danger()
        inside = {p.id for p in self.site.open if p.signed_on}
        self.take(events)
        assert self.in_danger() <= before, f"{ask} lets energy reach someone"
        if not isinstance(ask, c.VerifyMachine | c.TryStart | c.AmendPlan):  # these may call people out
            lost = [event for event in events if isinstance(event, e.IsolationLost | e.VerificationVoided)]
            assert not inside & {event.permit for event in lost}, f"{ask} undoes what someone relies on"

    def settle(self, now: datetime) -> None:
        """Time has come this far; time alone lets energy reach nobody."""
        events = due(self.site, now)
        if events:
            before = self.in_danger()
            self.take(events)
            assert self.in_danger() <= before
            assert due(self.site, now) == [], "what fell due falls due once"

    def change_plant(self, graph: Graph, now: datetime) -> None:
        self.settle(now)
        self.site = replace(self.site, graph=graph)
        self.take(plant_changed(self.site, now, "sig"))

    def take(self, events: list[e.Event]) -> None:
        """What happened: into the state, onto the ledger, and into the simulated stores."""
        for event in events:
            data = json.loads(json.dumps(to_data(event)))
            self.written.append((kind_of(event), event.permit, event.by, event.at, data))
            self.move_stores(event)
        self.site = fold(self.site, events)
        self.stores.settle(self.site)
        self.look()

    def move_stores(self, event: e.Event) -> None:
        match event:
            case e.StoreReleased():
                self.stores.release(event.permit, event.point)
            case e.ReleaseUndone():
                self.stores.undo(event.permit, event.point)
            case e.PermitClosed() | e.PermitCancelled() | e.Reenergised():
                for point in self.site.permits[event.permit].points:
                    self.stores.undo(event.permit, point)

    def copy(self) -> World:
        """Another world to try something in."""
        return World(self.site, self.stores.copy())

    # ── what is so ──────────────────────────────────────────────────────────────────────────────────────

    def in_danger(self) -> Reached:
        """(permit, person, zone) of everyone inside whom energy reaches, in the rules' terms or really."""
        return people_reached(self.site) | self.stores.people_hurt(self.site)

    def replayed(self, began: Site) -> Site:
        """The site again, from what was written alone."""
        events = [from_data(kind, data, permit=p, by=by, at=at) for kind, p, by, at, data in self.written]
        return fold(replace(began, graph=self.site.graph), events)

    # ── what must hold ──────────────────────────────────────────────────────────────────────────────────

    def look(self) -> None:
        for permit, _, _ in self.in_danger():
            assert self.site.permits[permit].phase is Phase.ISOLATING, "whom the world reaches is called out"
            assert self.site.permits[permit].stopped_because
        hanging = [k for p in self.site.permits.values() for k in p.locks if k.removed_at is None]
        assert len({k.padlock for k in hanging}) == len(hanging), "a padlock hangs in one place"
        owners = {(k.padlock, k.owner) for p in self.site.permits.values() for k in p.locks}
        assert len({padlock for padlock, _ in owners}) == len(owners), "a padlock belongs to one person"
        for p in self.site.permits.values():
            self.look_at(p)

    def look_at(self, p: Permit) -> None:
        assert not p.signed_on or p.phase in (Phase.ISOLATING, Phase.ISOLATED), "people inside a live machine"
        for on in p.signed_on:
            mine = {k.where for k in p.locks if k.owner == on.person and k.removed_at is None}
            assert BOX in mine or set(p.plan_lock) <= mine, "who is inside has a lock of their own"
        if p.phase.is_over:
            assert (p.hanging, p.signed_on, p.released) == ((), (), frozenset()), "what is over holds nothing"
            assert p.ended_at is not None
        if p.phase is Phase.ISOLATED:
            self.look_at_isolated(p)
        if p.phase in (Phase.ISOLATING, Phase.ISOLATED):
            self.look_at_tests(p)

    def look_at_isolated(self, p: Permit) -> None:
        graph = self.site.graph
        assert set(p.plan_lock) <= own_locks(p)
        assert set(p.plan_release) <= own_releases(p)
        live = sources(graph, own_releases(p))
        assert not any(reached(graph, zone, own_locks(p), live) for zone in p.zones)
        assert set(p.plan_release) <= self.stores.harmless, "a store that filled again is not released"
        for point in p.points:
            counting = [v for v in p.verifications if v.point == point and v.counts]
            assert [(v.passed, v.void_at) for v in counting[-1:]] == [(True, None)]
            when = counting[-1].at
            if point in p.plan_lock:
                assert locked_since(p, point, when), "a test from before the last lock proves nothing"
            else:
                released = [r for r in p.releases if r.point == point and r.undone_at is None]
                assert released[0].counts_from <= when, "a reading before the waiting time is over"

    def look_at_tests(self, p: Permit) -> None:
        for point in p.points:
            tests = [v for v in p.verifications if v.point == point and v.counts]
            if tests and tests[-1].void_at is None and tests[-1].passed and not tests[-1].fed:
                assert not fed_past(self.site, point), "tested with nothing upstream, and fed now"
