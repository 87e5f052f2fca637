"""Anything that people might try, in any order, with time passing and the plant changing under two permits.

After every step, from scratch and by other means than the rules' own (world.py): nobody inside is reached,
every padlock hangs in one place, no open permit is stuck, what fell due falls due once; at the end the
ledger's data gives the same state.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from datetime import timedelta

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from permits.work.rules import commands as c
from permits.work.rules.decide import decide
from permits.work.rules.due import due
from permits.work.rules.evolve import fold
from permits.work.rules.next_step import next_step
from permits.work.rules.refusal import Refused
from permits.work.rules.state import Site
from permits.work.rules.words import BOX, CHECK_ITEMS, CheckItem, Finding, Position, Seen
from tests.work.following import ELSEWHERE, following, readings_at
from tests.work.physics import Stores
from tests.work.small_plant import GRAPH, PEOPLE, SITE, at, request
from tests.work.trying import EXTRA, STARTS, dangerous, plant, with_recheck
from tests.work.world import World

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

# A next step may still have to wait for somebody else's work; then the refusal names them.
WAITS_FOR_OTHERS = {
    "exposes-crew",
    "locked-by-another",
    "relies-on-dead-upstream",
    "someone-inside",
    "crew-signed-on",
}


class TwoPermits(RuleBasedStateMachine):
    began = SITE

    def __init__(self) -> None:
        super().__init__()
        self.now = at(0)
        self.world = World(self.began, Stores(self.began.graph))
        self.extra: frozenset[str] = frozenset()
        self.unlockable = False

    @property
    def site(self) -> Site:
        return self.world.site

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
        self.world.settle(self.now)
        ask = following(self.site, permit, who, self.now)
        if ask is not None:
            self.attempt(ask)
        return ask is not None

    @rule(minutes=st.sampled_from([1, 2, 6, 6, 11, 50, 200]))
    def time_passes(self, minutes):
        self.now += timedelta(minutes=minutes)
        self.world.settle(self.now)

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
        self.world.change_plant(plant(self.extra, self.unlockable), self.now)

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

    # ── what goes otherwise ─────────────────────────────────────────────────────────────────────────────

    @rule(permit=PERMIT, who=WHO, really=SELDOM)
    def someone_stops_the_work(self, permit, who, really):
        if really:
            self.attempt(c.StopWork(permit=permit, by=who, at=self.now, why="smoke"))

    @rule(permit=PERMIT, really=SELDOM)
    def the_holder_suspends_it(self, permit, really):
        if really:
            holder = self.whom("the holder", permit)
            self.attempt(c.SuspendPermit(permit=permit, by=holder, at=self.now, why="storm"))

    @rule(permit=PERMIT, who=WHO)
    def someone_lifts_what_holds_it_up(self, permit, who):
        self.attempt(c.LiftHalt(permit=permit, by=who, at=self.now, how="looked at"))

    @rule(really=SELDOM, over=st.booleans())
    def an_officer_declares_or_ends_an_emergency(self, really, over):
        if over:
            self.attempt(c.EndEmergency(by="sig", at=self.now, how="put out"))
        elif really:
            self.attempt(c.DeclareEmergency(by="sig", at=self.now, why="fire"))

    @rule(permit=PERMIT, to=NAMED, gone=st.booleans())
    def it_is_handed_over(self, permit, to, gone):
        if gone:
            self.attempt(c.NameHolder(permit=permit, by="sig", at=self.now, to=to, why="went home"))
        else:
            holder = self.whom("the holder", permit)
            self.attempt(c.OfferHandover(permit=permit, by=holder, at=self.now, to=to))

    @rule(permit=PERMIT, who=NAMED, withdrawn=SELDOM)
    def a_handover_is_accepted_or_withdrawn(self, permit, who, withdrawn):
        who = self.site.permits[permit].next_holder or who if permit in self.site.permits else who
        if withdrawn:
            self.attempt(c.WithdrawHandover(permit=permit, by=who, at=self.now, why="stays"))
            return
        known = {"knows_energies": True, "knows_hazards": True, "knows_control": True}
        self.attempt(c.AcceptHandover(permit=permit, by=who, at=self.now, **known))

    @rule(permit=PERMIT, owner=NAMED, where=st.sampled_from([BOX, "Q0", "Q1", "Q2", "G1"]))
    def an_officer_takes_an_absent_persons_lock_off(self, permit, owner, where):
        self.attempt(
            c.TakeOffForAbsent(
                permit=permit, by="sig", at=self.now, where=where, owner=owner, second="maud",
                not_on_site="gate", tried="called", searched="both zones",
            )
        )  # fmt: skip

    @rule(person=NAMED)
    def who_was_absent_is_told(self, person):
        self.attempt(c.TellReturned(by="sig", at=self.now, person=person, how="at the gate"))

    @rule(permit=PERMIT, points=POINTS, really=SELDOM)
    def an_issuer_adds_points(self, permit, points, really):
        if really:
            lock = tuple(p for p in points if p.startswith("Q"))
            release = tuple(p for p in points if not p.startswith("Q"))
            self.attempt(
                c.AmendPlan(permit=permit, by="maud", at=self.now, lock=lock, release=release, why="more")
            )

    @rule(really=SELDOM, over=st.booleans())
    def the_site_goes_on_paper_or_comes_back(self, really, over):
        if over:
            self.attempt(c.EndPaper(by="sig", at=self.now, how="all entered", all_inside_signed_on=True))
        elif really:
            self.attempt(c.DeclarePaper(by="sig", at=self.now, since=self.now, why="no power"))

    @rule(permit=PERMIT, who=NAMED, points=POINTS)
    def what_happened_on_paper_is_entered(self, permit, who, points):
        asked = {"permit": permit, "by": who, "at": self.now}
        for what in (c.RemoveLocks(**asked, points=points), c.SignOffCrew(**asked)):
            self.attempt(
                c.EnterLate(
                    permit=permit, by="sig", at=self.now, what=what, happened_at=self.now, second="maud",
                    form="F1",
                )
            )  # fmt: skip

    @precondition(lambda self: len(self.site.open) < 2)
    @rule(zones=st.sampled_from([("SAW", "OUT"), ("NEXT",), ("LUG",)]), by=NAMED)
    def another_permit_is_asked_for(self, zones, by):
        self.attempt(replace(request(zones=zones, by=by), at=self.now, starts_at=self.now,
            ends_at=self.now + timedelta(hours=6)))  # fmt: skip

    # ── the machinery ───────────────────────────────────────────────────────────────────────────────────

    def whom(self, who: str, permit: str) -> str:
        held = self.site.permits[permit].holder if permit in self.site.permits else ""
        return held if who == "the holder" else who

    def attempt(self, ask: c.Command) -> None:
        with suppress(Refused):
            self.do(ask)

    def do(self, ask: c.Command) -> None:
        self.world.do(replace(ask, at=self.now))
        self.now += timedelta(seconds=20)

    # ── what must hold after every step ─────────────────────────────────────────────────────────────────

    @invariant()
    def nothing_that_takes_protection_away_is_accepted_where_it_harms(self):
        """Whoever might ask for it now: in a world of its own, so that the work here goes on."""
        self.world.settle(self.now)
        for ask in dangerous(self.site, self.now):
            with suppress(Refused):
                self.world.copy().accept(ask, decide(self.site, ask))

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

    def teardown(self):
        assert self.world.replayed(self.began) == self.site, "the ledger's data gives the same state"


class TwoPermitsWithRecheck(TwoPermits):
    """The same, with a store that has to be read again and again, and a plant that stays as it is."""

    began = with_recheck(SITE)

    def change_plant(self):
        pass


def refusal_codes(site: Site, ask: c.Command) -> set[str]:
    try:
        decide(site, ask)
    except Refused as refused:
        return refused.codes
    return set()


BOUNDED = settings(
    max_examples=60,
    stateful_step_count=40,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
TestTwoPermits = TwoPermits.TestCase
TestTwoPermits.settings = BOUNDED
TestTwoPermitsWithRecheck = TwoPermitsWithRecheck.TestCase
TestTwoPermitsWithRecheck.settings = settings(BOUNDED, max_examples=25)
