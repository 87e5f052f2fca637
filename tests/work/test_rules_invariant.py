"""Anything that people might try, in any order, with time passing and the plant changing under two permits.

After every step, from scratch and by other means than the rules' own: nobody inside is reached; every
padlock hangs in one place; no open permit is stuck; what fell due falls due once; the ledger's data gives
the same state.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from permits.plant.rules.energy import Graph, Kind, Link, Node
from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.decide import decide
from permits.work.rules.due import due, plant_changed
from permits.work.rules.evolve import fold
from permits.work.rules.next_step import next_step
from permits.work.rules.refusal import Refused
from permits.work.rules.state import Site
from permits.work.rules.words import BOX, CHECK_ITEMS, CheckItem, Finding, Phase, Position, Seen
from permits.work.rules.written import from_data, kind_of, to_data
from tests.work.following import ELSEWHERE, following, readings_at
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
from tests.work.small_plant import (
    GRAPH,
    PEOPLE,
    SITE,
    accept,
    at,
    check,
    hand_back,
    isolate,
    issue,
    lock,
    request,
    sanction,
    sign_on,
    tell,
)

WHO = st.sampled_from(sorted(PEOPLE))
NAMED = st.sampled_from(["odo", "pia", "hal"])
PERMIT = st.sampled_from(["P-1", "P-2", "P-1", "P-2", "P-3"])
POINT = st.sampled_from(["Q0", "Q1", "Q2", "C1", "G1"])
POINTS = st.lists(POINT, max_size=3, unique=True).map(tuple)
AREAS = st.lists(st.sampled_from(["OUT", "NEXT", "SAW"]), max_size=2).map(tuple)
PADLOCK = st.sampled_from(["1", "2", "3", "4", "5", "6"])
HOLDER = st.sampled_from(["the holder", "the holder", "hal", "pia"])
YES = st.sampled_from([True, True, True, False])
SELDOM = st.sampled_from([False, False, False, True])

# What a change of the plant may add, each by its name; and the isolator that may turn out to be none.
EXTRA: dict[str, tuple[Node | Link, ...]] = {
    "second feed": (Node("F3", Kind.SUPPLY, "Second feeder"), Link("F3", "DRV")),
    "feed of the bus": (Node("F4", Kind.SUPPLY, "Charger"), Link("F4", "C1")),
    "tie": (Link("F2", "Q1"),),
    "back-feed": (Link("CON", "B1"),),
}

# A next step may still have to wait for somebody else's work; then the refusal names them.
WAITS_FOR_OTHERS = {
    "exposes-crew",
    "locked-by-another",
    "relies-on-dead-upstream",
    "someone-inside",
    "crew-signed-on",
}


def plant(extra: frozenset[str], unlockable: bool) -> Graph:
    nodes = [replace(n, lockable=False) if n.id == "Q2" and unlockable else n for n in GRAPH.nodes.values()]
    links = list(GRAPH.links)
    for name in sorted(extra):
        nodes += [x for x in EXTRA[name] if isinstance(x, Node)]
        links += [x for x in EXTRA[name] if isinstance(x, Link)]
    return Graph.of(nodes, links)


def with_recheck(site: Site) -> Site:
    """The bus has to be read again every 45 minutes."""
    node = replace(GRAPH["C1"], release=replace(GRAPH["C1"].release, recheck_min=45))
    return replace(
        site, graph=Graph.of([*(n for n in GRAPH.nodes.values() if n.id != "C1"), node], GRAPH.links)
    )


def asked(*zones: str) -> list[c.Command]:
    return [request(), request(zones=zones, by="pia")]


def work(permit: str, by: str, *, from_minute: int) -> list[c.Command]:
    return [
        issue(from_minute, permit, holder=by, crew=("hal",)),
        accept(from_minute + 1, permit, by=by),
        tell(from_minute + 2, permit, by=by),
    ]


def inside_under_a_sanction() -> list[c.Command]:
    """Everything is ready for a test of P-1 but one: Odo and Hal are inside."""
    crew = [sign_on("odo", "201", 14), check("odo", 15), sign_on("hal", "202", 16)]
    return [*asked("NEXT"), *work("P-1", "odo", from_minute=1), *isolate(), *crew, sanction(21)]


def proven_behind_the_board() -> list[c.Command]:
    """P-1 was proven while Pia's lock for P-2 kept the board dead; Hal is inside, and Pia hands back."""
    board = [*work("P-2", "pia", from_minute=1), lock("Q0", "301", 4, "P-2", by="pia")]
    cell = [*work("P-1", "odo", from_minute=5), *isolate(8), sign_on("hal", "202", 20)]
    return [*asked("LUG"), *board, *cell, hand_back(21, "P-2", by="pia")]


STARTS: dict[str, Callable[[], list[c.Command]]] = {
    "asked for, next door": lambda: asked("NEXT"),
    "asked for, at the board": lambda: asked("LUG"),
    "asked for, the same outfeed": lambda: asked("OUT"),
    "asked for, across": lambda: asked("NEXT", "SAW"),
    "inside under a sanction": inside_under_a_sanction,
    "proven behind the board": proven_behind_the_board,
}


class TwoPermits(RuleBasedStateMachine):
    def __init__(self) -> None:
        super().__init__()
        self.now = at(0)
        self.site = SITE
        self.written: list[tuple[str, str, str, str, object]] = []
        self.extra: frozenset[str] = frozenset()
        self.unlockable = False
        self.stores = Stores(GRAPH)
        self.refusals: set[str] = set()

    # ── what happens ────────────────────────────────────────────────────────────────────────────────────

    @initialize(start=st.sampled_from(sorted(STARTS)), rounds=st.integers(0, 40))
    def work_begins(self, start, rounds):
        for ask in STARTS[start]():
            self.now = max(self.now, ask.at)
            self.do(ask)
        for _ in range(rounds):
            self.everyone_carries_on("P-1")
            self.everyone_carries_on("P-2")

    @rule(permit=PERMIT, rounds=st.integers(1, 6))
    def work_goes_on(self, permit, rounds):
        for _ in range(rounds):
            self.everyone_carries_on(permit)

    @rule(who=WHO, permit=PERMIT)
    def someone_follows_their_next_step(self, who, permit):
        if permit in self.site.permits:
            self.follow(permit, who)

    def everyone_carries_on(self, permit):
        """Each person does what their next step says; where all wait for time, time passes."""
        moved = [self.follow(permit, who) for who in PEOPLE if permit in self.site.permits]
        if not any(moved):
            self.now += timedelta(minutes=6)

    def follow(self, permit, who) -> bool:
        self.time_is_now()
        ask = following(self.site, permit, who, self.now)
        if ask is not None:
            self.attempt(ask)
        return ask is not None

    @rule(minutes=st.sampled_from([1, 2, 6, 6, 11, 50, 200]))
    def time_passes(self, minutes):
        self.now += timedelta(minutes=minutes)
        before = people_reached(self.site)
        self.time_is_now()
        assert people_reached(self.site) <= before

    @rule(extra=st.sampled_from(sorted(EXTRA)), really=SELDOM)
    def the_plant_changes(self, extra, really):
        if not really:
            return
        self.extra ^= {extra}
        self.change_plant()

    @rule(really=SELDOM)
    def an_isolator_turns_out_to_be_none_or_is_mended(self, really):
        if not really:
            return
        self.unlockable = not self.unlockable
        self.change_plant()

    def change_plant(self):
        self.time_is_now()
        self.site = replace(self.site, graph=plant(self.extra, self.unlockable))
        self.take(plant_changed(self.site, self.now, "sig"))
        for permit, _, _ in people_reached(self.site) | self.stores.people_hurt(self.site):
            assert self.site.permits[permit].phase is Phase.ISOLATING, "everyone reached is called out"
            assert self.site.permits[permit].stopped_because

    # ── what anyone might try ───────────────────────────────────────────────────────────────────────────

    @rule(who=NAMED, permit=PERMIT, point=POINT, padlock=PADLOCK)
    def someone_locks(self, who, permit, point, padlock):
        tag = f"T{padlock}"
        self.attempt(
            c.ApplyLock(
                permit=permit,
                by=who,
                at=self.now,
                point=point,
                padlock=padlock,
                tag=tag,
                position=Position.OFF,
            )
        )

    @rule(who=NAMED, permit=PERMIT, point=POINT, padlock=PADLOCK)
    def someone_releases(self, who, permit, point, padlock):
        tag = f"T{padlock}"
        self.attempt(
            c.ReleaseStore(
                permit=permit, by=who, at=self.now, point=point, method="", padlock=padlock, tag=tag
            )
        )

    @rule(who=NAMED, permit=PERMIT, points=POINTS)
    def someone_takes_locks_off(self, who, permit, points):
        self.attempt(c.RemoveLocks(permit=permit, by=who, at=self.now, points=points))

    @rule(who=NAMED, permit=PERMIT)
    def someone_takes_all_their_locks_off(self, who, permit):
        if permit in self.site.permits:
            p = self.site.permits[permit]
            points = tuple({k.where for k in p.hanging if k.owner == who} | set(p.released))
            self.attempt(c.RemoveLocks(permit=permit, by=who, at=self.now, points=points))

    @rule(who=NAMED, permit=PERMIT, points=POINTS, worst=st.booleans())
    def someone_tests(self, who, permit, points, worst):
        for machine in ("CUT", "DRILL", "BOARD"):
            mine = [p for p in points if GRAPH[p].machine == machine]
            pages = tuple(readings_at(self.site, p) for p in mine)
            if worst and pages:
                bad = tuple(replace(r, value=r.value + 400) for r in pages[0].readings)
                pages = (replace(pages[0], readings=bad), *pages[1:])
            self.attempt(
                c.VerifyMachine(
                    permit=permit, by=who, at=self.now, machine=machine, points=pages, instrument="VT-7",
                    proven_before=True, proven_after=True,
                )
            )  # fmt: skip

    @rule(who=NAMED, permit=PERMIT, dead=YES)
    def someone_tries_the_controls(self, who, permit, dead):
        self.attempt(
            c.TryStart(
                permit=permit, by=who, at=self.now, machine="CUT", stayed_dead=dead, nobody_in_reach=True,
                controls_live=True, back_to_neutral=True,
            )
        )  # fmt: skip

    @rule(who=NAMED, permit=PERMIT, padlock=PADLOCK)
    def someone_goes_in(self, who, permit, padlock):
        self.attempt(c.SignOnCrew(permit=permit, by=who, at=self.now, padlock=padlock))

    @rule(who=NAMED, permit=PERMIT)
    def someone_goes_in_by_their_own_locks(self, who, permit):
        self.attempt(c.SignOnCrew(permit=permit, by=who, at=self.now))

    @rule(who=NAMED, permit=PERMIT)
    def someone_comes_out(self, who, permit):
        self.attempt(c.SignOffCrew(permit=permit, by=who, at=self.now))

    @rule(who=NAMED, permit=PERMIT, defect=st.booleans())
    def someone_checks_the_machine(self, who, permit, defect):
        found = Finding.DEFECT if defect else Finding.OK
        items = tuple(
            CheckItem(item, found if item == "wear" else Finding.OK, "worn") for item, _ in CHECK_ITEMS
        )
        self.attempt(c.RecordMachineCheck(permit=permit, by=who, at=self.now, items=items))

    @rule(who=WHO, permit=PERMIT, areas=AREAS, watching=st.booleans(), one_place=YES)
    def someone_confirms_areas_clear(self, who, permit, areas, watching, one_place):
        self.attempt(
            c.ConfirmClear(
                permit=permit, by=who, at=self.now, areas=areas, how=Seen.SELF, one_place=one_place,
                watching=watching,
            )
        )  # fmt: skip

    @rule(permit=PERMIT, points=POINTS, cycles=st.integers(0, 2))
    def an_issuer_sanctions(self, permit, points, cycles):
        until = self.now + timedelta(minutes=60)
        self.attempt(
            c.GiveSanction(
                permit=permit, by="maud", at=self.now, points=points, limits="jog", cycles=cycles, until=until
            )
        )

    @rule(
        who=HOLDER,
        permit=PERMIT,
        what=st.sampled_from([c.Ready, c.Reisolate, c.SignClosed]),
    )
    def someone_asks_for_a_step(self, who, permit, what):
        who = self.whom(who, permit)
        self.attempt(what(permit=permit, by=who, at=self.now))

    @rule(who=HOLDER, permit=PERMIT, sure=YES)
    def someone_begins_a_cycle(self, who, permit, sure):
        who = self.whom(who, permit)
        self.attempt(c.BeginCycle(permit=permit, by=who, at=self.now, tools_out=sure, guards_on=sure))

    @rule(who=HOLDER, permit=PERMIT, sure=YES)
    def someone_hands_back(self, who, permit, sure):
        who = self.whom(who, permit)
        self.attempt(
            c.HandBack(
                permit=permit, by=who, at=self.now, machine_whole=sure, guards_on=True, tools_out=True,
                people_out=True, standstill=sure, neutral=True,
            )
        )  # fmt: skip

    @rule(who=HOLDER, permit=PERMIT)
    def someone_brings_power_back(self, who, permit):
        who = self.whom(who, permit)
        self.attempt(c.Reenergise(permit=permit, by=who, at=self.now, visual_check=True))

    @rule(who=WHO, permit=PERMIT, really=SELDOM)
    def someone_cancels(self, who, permit, really):
        if really:
            self.attempt(c.CancelPermit(permit=permit, by=who, at=self.now, why="not needed"))

    @rule(permit=PERMIT, hours=st.integers(1, 13))
    def an_issuer_gives_more_time(self, permit, hours):
        until = self.now + timedelta(hours=hours)
        self.attempt(c.ExtendPermit(permit=permit, by="maud", at=self.now, until=until))

    @rule(permit=PERMIT, who=NAMED)
    def the_issuer_names_crew(self, permit, who):
        self.attempt(c.NameCrew(permit=permit, by="maud", at=self.now, person=who))

    @rule(permit=PERMIT, who=WHO)
    def someone_ends_the_sanction(self, permit, who):
        self.attempt(c.EndSanction(permit=permit, by=who, at=self.now, why="enough"))

    @rule(permit=PERMIT, what=st.sampled_from(["correct", "prove", "close"]))
    def the_job_goes_on(self, permit, what):
        made = {
            "correct": lambda **who: c.CorrectAxis(job=1, axis="angle", **who),
            "prove": lambda **who: c.ProveAxis(job=1, axis="angle", **who),
            "close": lambda **who: c.CloseJob(job=1, **who),
        }[what]
        self.attempt(made(permit=permit, by=self.whom("the holder", permit), at=self.now))

    @rule(permit=PERMIT)
    def an_officer_closes_it_out_of_use(self, permit):
        self.attempt(c.CloseOutOfUse(permit=permit, by="sig", at=self.now, why="cannot be proven"))

    @precondition(lambda self: len(self.site.open) < 2)
    @rule(zones=st.sampled_from([("SAW", "OUT"), ("NEXT",), ("LUG",)]), by=NAMED)
    def another_permit_is_asked_for(self, zones, by):
        self.attempt(replace(request(zones=zones, by=by), at=self.now, starts_at=self.now,
            ends_at=self.now + timedelta(hours=6)))  # fmt: skip

    # ── the machinery ───────────────────────────────────────────────────────────────────────────────────

    def whom(self, who: str, permit: str) -> str:
        held = self.site.permits[permit].holder if permit in self.site.permits else ""
        return held if who == "the holder" else who

    def time_is_now(self):
        self.take(due(self.site, self.now))

    def attempt(self, ask: c.Command) -> None:
        try:
            self.do(ask)
        except Refused as refused:
            self.refusals |= refused.codes

    def do(self, ask: c.Command) -> None:
        self.time_is_now()
        ask = replace(ask, at=self.now)
        reached_before, hurt_before = people_reached(self.site), self.stores.people_hurt(self.site)
        events = decide(self.site, ask)
        self.take(events)
        if not isinstance(ask, c.VerifyMachine | c.TryStart):
            lost = [event for event in events if isinstance(event, e.IsolationLost | e.VerificationVoided)]
            inside = {p.id for p in self.site.open if p.signed_on}
            assert not inside & {event.permit for event in lost}, f"{ask} undoes what someone relies on"
        assert people_reached(self.site) <= reached_before, f"{ask} lets energy reach someone"
        assert self.stores.people_hurt(self.site) <= hurt_before, f"{ask} really hurts someone"
        self.now += timedelta(seconds=20)

    def take(self, events: list[e.Event]) -> None:
        """What happened: into the state, onto the ledger, and into the simulated stores."""
        for event in events:
            data = json.loads(json.dumps(to_data(event)))
            self.written.append((kind_of(event), event.permit, event.by, event.at, data))
            if isinstance(event, e.StoreReleased):
                self.stores.release(event.permit, event.point)
            if isinstance(event, e.ReleaseUndone):
                self.stores.undo(event.permit, event.point)
            if isinstance(event, e.PermitClosed | e.PermitCancelled | e.Reenergised):
                for store in ("G1", "C1"):
                    self.stores.undo(event.permit, store)
        self.site = fold(self.site, events)
        self.stores.settle(self.site)
        if events:
            self.nobody_is_reached_who_was_not_called_out()
            self.what_is_called_isolated_is_locked_released_tested_and_dead()
            self.a_test_made_with_nothing_upstream_is_good_only_while_nothing_is()
            self.people_are_inside_only_while_isolated_or_on_their_way_out()
            self.a_padlock_hangs_in_one_place_and_belongs_to_one_person()
            self.whoever_is_inside_has_a_lock_of_their_own()
            self.what_is_over_holds_nothing()

    # ── what must always hold ───────────────────────────────────────────────────────────────────────────

    def nobody_is_reached_who_was_not_called_out(self):
        for permit, _, _ in people_reached(self.site) | self.stores.people_hurt(self.site):
            assert self.site.permits[permit].phase is Phase.ISOLATING
            assert self.site.permits[permit].stopped_because

    def what_is_called_isolated_is_locked_released_tested_and_dead(self):
        for p in self.site.permits.values():
            if p.phase is not Phase.ISOLATED:
                continue
            assert set(p.plan_lock) <= own_locks(p)
            assert set(p.plan_release) <= own_releases(p)
            live = sources(self.site.graph, own_releases(p))
            assert not any(reached(self.site.graph, zone, own_locks(p), live) for zone in p.zones)
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

    def a_test_made_with_nothing_upstream_is_good_only_while_nothing_is(self):
        for p in self.site.permits.values():
            if p.phase not in (Phase.ISOLATING, Phase.ISOLATED):
                continue
            for point in p.points:
                tests = [v for v in p.verifications if v.point == point and v.counts]
                if tests and tests[-1].void_at is None and tests[-1].passed and not tests[-1].fed:
                    assert not fed_past(self.site, point)

    def people_are_inside_only_while_isolated_or_on_their_way_out(self):
        for p in self.site.permits.values():
            assert not p.signed_on or p.phase in (Phase.ISOLATING, Phase.ISOLATED)

    def a_padlock_hangs_in_one_place_and_belongs_to_one_person(self):
        hanging = [k for p in self.site.permits.values() for k in p.locks if k.removed_at is None]
        assert len({k.padlock for k in hanging}) == len(hanging)
        every = {(k.padlock, k.owner) for p in self.site.permits.values() for k in p.locks}
        assert len({padlock for padlock, _ in every}) == len(every)

    def whoever_is_inside_has_a_lock_of_their_own(self):
        for p in self.site.permits.values():
            for on in p.signed_on:
                mine = {k.where for k in p.locks if k.owner == on.person and k.removed_at is None}
                assert BOX in mine or set(p.plan_lock) <= mine

    def what_is_over_holds_nothing(self):
        for p in self.site.permits.values():
            if p.phase.is_over:
                assert (p.hanging, p.signed_on, p.released) == ((), (), frozenset())
                assert p.ended_at is not None

    # ── what must hold after every step ─────────────────────────────────────────────────────────────────

    @invariant()
    def what_fell_due_falls_due_once(self):
        settled = fold(self.site, due(self.site, self.now))
        assert due(settled, self.now) == []

    @invariant()
    def no_open_permit_is_stuck(self):
        """Someone has a next step, or time ends the wait; none is refused for its own permit's sake."""
        settled = fold(self.site, due(self.site, self.now))
        for p in settled.open:
            steps = {who: next_step(settled, p, who, self.now) for who in PEOPLE}
            assert any(step.action or step.until for step in steps.values()), (p.id, p.phase, steps)
            for who, step in steps.items():
                if step.action not in ("", *ELSEWHERE):
                    codes = refusal_codes(settled, following(settled, p.id, who, self.now))
                    shut = {"procedure-unproven"} if step.action == "issue" else set()
                    assert codes <= WAITS_FOR_OTHERS | shut, (p.id, who, step)

    @invariant()
    def the_ledgers_data_gives_the_same_state(self):
        if len(self.written) % 10:
            return
        events = [from_data(kind, data, permit=p, by=by, at=when) for kind, p, by, when, data in self.written]
        again = fold(replace(SITE, graph=self.site.graph), events)
        assert again == self.site


def refusal_codes(site: Site, ask: c.Command) -> set[str]:
    try:
        decide(site, ask)
    except Refused as refused:
        return refused.codes
    return set()


class TwoPermitsWithRecheck(TwoPermits):
    """The same, with a store that has to be read again and again."""

    def __init__(self) -> None:
        super().__init__()
        self.site = with_recheck(SITE)

    def change_plant(self):
        """The plant stays as it is."""


BOUNDED = settings(
    max_examples=150,
    stateful_step_count=50,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
TestTwoPermits = TwoPermits.TestCase
TestTwoPermits.settings = BOUNDED
TestTwoPermitsWithRecheck = TwoPermitsWithRecheck.TestCase
TestTwoPermitsWithRecheck.settings = settings(BOUNDED, max_examples=60)
