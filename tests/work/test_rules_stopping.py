"""Stop, suspension, emergency: what they end, what stays allowed, who lifts them."""

from dataclasses import replace

import pytest

from permits.work.rules import events as e
from permits.work.rules.due import plant_changed
from permits.work.rules.evolve import fold
from permits.work.rules.words import HaltKind, Phase
from tests.work.otherwise import (
    amend,
    emergency,
    end_emergency,
    fed_twice,
    lift,
    name_holder,
    stop,
    suspend,
)
from tests.work.small_plant import (
    SITE,
    accept,
    accepted_site,
    at,
    cancel,
    check,
    checked_site,
    clear,
    done,
    hand_back,
    handed_back_site,
    happened,
    in_test_site,
    isolate,
    isolated_site,
    issue,
    lock,
    locked_site,
    next_door,
    occupied_site,
    p1,
    powered_site,
    readings,
    reenergise,
    refusal,
    refused,
    reisolate,
    release,
    remove,
    request,
    restored_site,
    sanction,
    sign_closed,
    sign_off,
    sign_on,
    tell,
)

AT_WORK = {"isolating": locked_site, "isolated": isolated_site, "occupied": occupied_site,
           "test": in_test_site, "powered": powered_site}  # fmt: skip


@pytest.mark.parametrize("state", AT_WORK)
@pytest.mark.parametrize("ask", [stop(70), suspend(70), emergency(70)], ids=["stop", "suspend", "emergency"])
def test_what_is_stopped_is_isolating_with_every_test_void_and_no_sanction(state, ask):
    p = p1(done(AT_WORK[state](), ask))
    assert (p.phase, p.sanction) == (Phase.ISOLATING, None)
    assert all(v.void_at is not None for v in p.verifications)
    assert p.halted


@pytest.mark.parametrize("who", ["ola", "hal", "pia", "maud", "sig", "odo"])
def test_anyone_stops_the_work(who):
    assert p1(done(occupied_site(), stop(30, by=who))).halted[0].by == who


def test_a_stop_needs_no_reason_at_once():
    assert p1(done(occupied_site(), stop(30, why=""))).halted[0].why == "no reason given yet"


def test_a_stop_names_whom_it_calls_out():
    stopped = happened(occupied_site(), stop(30))
    assert [type(x) for x in stopped] == [e.WorkStopped]
    assert stopped[0].crew == ("odo", "hal")


def test_a_stop_in_a_test_ends_the_sanction_first():
    assert [type(x) for x in happened(powered_site(), stop(70))] == [e.SanctionEnded, e.WorkStopped]


def test_what_is_over_cannot_be_stopped():
    over = done(restored_site(), sign_closed(), sign_closed(89, by="maud"))
    assert refused(over, stop(95)) == {"no-such-permit"}


@pytest.mark.parametrize(
    "state",
    [lambda: done(SITE, request()), lambda: done(SITE, request(), issue()), handed_back_site, restored_site],
)
def test_a_permit_that_is_not_at_work_is_held_up_where_it_is(state):
    site = state()
    stopped = done(site, stop(90))
    assert p1(stopped).phase is p1(site).phase
    assert p1(stopped).halted


# ── what is refused meanwhile ───────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("site", "ask"),
    [
        (done(SITE, request()), issue(91)),
        (done(SITE, request(), issue()), accept(91)),
        (isolated_site(), sign_on("odo", "201", 91)),
        (checked_site(), sanction(91)),
        (checked_site(), hand_back(91)),
        (occupied_site(), check(when=91)),
        (handed_back_site(), remove("Q1", when=91)),
        (done(handed_back_site(), remove("Q1", "Q2", "G1", when=81), tell(82), clear("OUT", "NEXT", when=83)),
         reenergise(91)),
        (restored_site(), sign_closed(91)),
        (locked_site(), remove("Q1", when=91)),
        (locked_site(), clear("OUT", when=91)),
        (locked_site(), name_holder(when=91)),
        (locked_site(), amend(91, lock=("Q0",))),
    ],
)  # fmt: skip
@pytest.mark.parametrize("by", [stop(90), suspend(90), emergency(90)], ids=["stop", "suspend", "emergency"])
def test_nothing_that_takes_protection_away_is_accepted_while_held_up(site, ask, by):
    if by.__class__.__name__ == "SuspendPermit" and p1(site).phase not in (
        Phase.ISOLATING, Phase.ISOLATED, Phase.TESTING,
    ):  # fmt: skip
        assert "wrong-phase" in refused(site, by)
        return
    assert refused(done(site, by), ask) & {"held-up", "emergency"}


def test_the_refusal_names_the_stop_beside_everything_else_that_is_missing():
    site = done(occupied_site(), stop(30))
    no = refusal(site, hand_back(31))
    assert no.codes == {"held-up", "crew-signed-on"}
    assert "Ola Operator" in no.unmet[0].what
    assert "Sig Officer" in no.unmet[0].who


def test_coming_out_locking_releasing_and_testing_stay_allowed():
    site = done(accepted_site(), stop(4))
    site = done(site, *isolate(5), lock("Q1", "301", 19, by="hal"))
    assert p1(site).phase is Phase.ISOLATING, "it is proven, and still held up"
    assert p1(done(site, lift(20))).phase is Phase.ISOLATED, "lifted, it comes by itself"


def test_who_is_inside_comes_out_while_it_is_held_up():
    site = done(occupied_site(), stop(30), sign_off("odo", 31), sign_off("hal", 31))
    assert p1(site).signed_on == ()


def test_a_stopped_permit_that_goes_back_to_service_is_isolated_again():
    site = done(handed_back_site(), stop(81), reisolate(82))
    assert p1(site).phase is Phase.ISOLATING


def test_a_stopped_permit_without_locks_is_cancelled_lawfully():
    assert p1(done(accepted_site(), stop(4), cancel(5))).phase is Phase.CANCELLED


def test_a_second_stop_is_heard_too():
    site = done(occupied_site(), stop(30), stop(31, by="pia", why="oil"))
    assert [halt.by for halt in p1(site).halted] == ["ola", "pia"]


# ── lifting ─────────────────────────────────────────────────────────────────────────────────────────────


def stopped_and_out(by=None):
    return done(occupied_site(), by or stop(30), sign_off("odo", 31), sign_off("hal", 31))


def test_an_officer_lifts_a_stop_and_the_machine_is_proven_again():
    site = done(stopped_and_out(), lift(40))
    assert p1(site).halted == ()
    assert p1(site).phase is Phase.ISOLATING
    site = done(site, *readings(41))
    assert p1(site).phase is Phase.ISOLATED


@pytest.mark.parametrize("who", ["odo", "maud", "ola", "hal"])
def test_nobody_but_an_officer_lifts_a_stop(who):
    no = refusal(stopped_and_out(), lift(40, by=who))
    assert no.codes == {"may-not-lift"}
    assert "Sig Officer" in no.unmet[0].who


@pytest.mark.parametrize("who", ["odo", "maud", "sig"])
def test_holder_issuer_or_officer_lift_a_suspension(who):
    assert p1(done(stopped_and_out(suspend(30)), lift(40, by=who))).halted == ()


@pytest.mark.parametrize("who", ["ola", "hal", "pia"])
def test_others_do_not_lift_a_suspension(who):
    no = refusal(stopped_and_out(suspend(30)), lift(40, by=who))
    assert no.codes == {"may-not-lift"}
    assert "Odo Holder" in no.unmet[0].who


def test_everyone_is_out_before_it_is_lifted():
    no = refusal(done(occupied_site(), stop(30)), lift(40))
    assert no.codes == {"crew-signed-on"}


def test_what_became_of_the_reason_is_said():
    assert refused(stopped_and_out(), lift(40, how=" ")) == {"says-too-little"}


def test_what_is_not_held_up_is_not_lifted():
    assert refused(isolated_site(), lift(40)) == {"not-held-up"}


def test_after_a_stop_the_machine_is_checked_again_after_a_suspension_not():
    site = done(checked_site(), stop(30), lift(31), *readings(32), sanction(35))
    assert not p1(site).checked
    site = done(checked_site(), suspend(30), lift(31), *readings(32), sanction(35))
    assert p1(site).checked


def test_one_stop_among_suspensions_needs_the_officer():
    site = done(stopped_and_out(suspend(30)), stop(32))
    assert refused(site, lift(40, by="odo")) == {"may-not-lift"}


@pytest.mark.parametrize("who", ["ola", "hal", "pia", "sig"])
def test_only_the_holder_or_an_issuer_suspends(who):
    assert refused(isolated_site(), suspend(30, by=who)) == {"no-role"}


def test_a_suspension_says_why():
    assert refused(isolated_site(), suspend(30, why="")) == {"says-too-little"}


# ── emergency ───────────────────────────────────────────────────────────────────────────────────────────


def test_an_emergency_stops_every_open_permit():
    site = done(next_door(checked_site()), emergency(60))
    assert [p.halted[0].kind for p in site.open] == [HaltKind.EMERGENCY, HaltKind.EMERGENCY]
    assert all(p.phase is Phase.ISOLATING for p in site.open)


@pytest.mark.parametrize("who", ["odo", "maud", "ola"])
def test_only_an_officer_declares_or_ends_it(who):
    assert refused(isolated_site(), emergency(30, by=who)) == {"no-role"}
    assert refused(done(isolated_site(), emergency(30)), end_emergency(40, by=who)) == {"no-role"}


def test_it_is_declared_once_and_ended_once():
    site = done(isolated_site(), emergency(30))
    assert refused(site, emergency(31)) == {"emergency-already"}
    ended = done(site, end_emergency(40))
    assert refused(ended, end_emergency(41)) == {"no-emergency"}


def test_how_it_ended_is_said():
    assert refused(done(isolated_site(), emergency(30)), end_emergency(40, how="")) == {"says-too-little"}


def test_no_stop_is_lifted_while_the_emergency_lasts():
    site = done(isolated_site(), emergency(30))
    assert refused(site, lift(31)) == {"emergency"}
    assert p1(done(site, end_emergency(40), lift(41), *readings(42))).phase is Phase.ISOLATED


def test_the_end_of_the_emergency_lifts_no_permits_own_stop():
    site = done(isolated_site(), emergency(30), end_emergency(40))
    assert refused(site, hand_back(41)) == {"held-up"}


def test_a_permit_asked_for_in_an_emergency_is_not_issued():
    site = done(SITE, emergency(0), request(1))
    assert refused(site, issue(2)) == {"emergency"}
    assert p1(done(site, end_emergency(3), issue(4))).phase is Phase.ISSUED


# ── a changed plant is a stop ───────────────────────────────────────────────────────────────────────────


def test_a_plant_that_lets_energy_through_holds_the_permit_up_until_an_officer_looked():
    site = fed_twice(occupied_site())
    site = done(site, sign_off("odo", 31), sign_off("hal", 31))
    assert p1(site).halted[0].kind is HaltKind.PLANT
    assert refused(site, hand_back(32)) == {"held-up"}
    assert p1(done(site, lift(33), hand_back(34))).phase is Phase.RESTORING


def test_a_plant_mended_is_lifted_too():
    site = fed_twice(isolated_site())
    mended = replace(site, graph=SITE.graph)
    mended = fold(mended, plant_changed(mended, at(35), "sig"))
    site = done(mended, release("C1", 36), *readings(50))
    assert p1(site).phase is Phase.ISOLATING
    assert p1(done(site, lift(55))).phase is Phase.ISOLATED
