"""What was so once and no longer holds: watches, notices, signatures and sanctions that were overtaken."""

from dataclasses import replace

import pytest

from permits.plant.rules.energy import Release
from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.due import plant_changed
from permits.work.rules.evolve import fold
from permits.work.rules.words import Phase
from tests.work.otherwise import (
    absent,
    amend,
    emergency,
    end_emergency,
    late,
    lift,
    off_paper,
    offer,
    on_paper,
    stop,
    suspend,
    take_over,
)
from tests.work.small_plant import (
    QUALIFIED,
    SITE,
    accept,
    at,
    begin,
    check,
    checked_site,
    clear,
    done,
    end_sanction,
    hand_back,
    handed_back_site,
    happened,
    in_test_site,
    isolate,
    isolate_again,
    isolated_site,
    issue,
    lock,
    occupied_site,
    p1,
    powered_site,
    readings,
    ready,
    reenergise,
    refusal,
    refused,
    reisolate,
    remove,
    request,
    restore,
    restored_site,
    sanction,
    sign_closed,
    sign_off,
    sign_on,
    tell,
    verify,
    with_node,
    with_person,
    zero,
)

WATCHED = [remove("Q1", "Q2", "G1", when=81), tell(82), clear("OUT", "NEXT", when=83, watching=True)]

# ── who saw that it is clear ────────────────────────────────────────────────────────────────────────────


def test_a_watch_ends_with_an_emergency_that_called_everyone_away():
    site = done(handed_back_site(), *WATCHED, emergency(84), end_emergency(200), lift(201))
    assert refused(site, reenergise(202)) == {"not-confirmed-clear"}


def test_a_watch_ends_with_a_suspension_too():
    site = done(in_test_site(), remove("Q1", "Q2"), clear("OUT", "NEXT", watching=True), suspend(30))
    site = done(site, lift(200, by="odo"), *isolate_again(201), sanction(215), begin(216))
    site = done(site, remove("Q1", "Q2", when=217))
    assert refused(site, ready(218)) == {"not-confirmed-clear"}


def test_nobody_watches_who_has_left_the_site_for_good():
    site = done(handed_back_site(), *WATCHED)
    gone = replace(site, people={ref: who for ref, who in site.people.items() if ref != "ola"})
    assert refused(gone, reenergise(85)) == {"not-confirmed-clear"}
    assert p1(done(site, reenergise(85))).reenergised_at


# ── who may test under power ────────────────────────────────────────────────────────────────────────────


def test_a_holder_who_is_no_longer_authorised_tests_nothing():
    site = with_person(done(checked_site(), sanction()), "odo", authorisations=())
    assert refused(site, begin(22)) == {"not-authorised"}
    begun = done(in_test_site(), remove("Q1", "Q2"), clear("OUT", "NEXT"))
    assert refused(with_person(begun, "odo", authorisations=()), ready()) == {"not-authorised"}


def test_a_holder_who_was_absent_is_told_before_they_test():
    site = done(isolated_site(), sign_on("odo", "201"), check(), absent(when=40), sanction(41))
    assert refused(site, begin(42)) == {"not-told-back"}


def test_nobody_tests_under_a_sanction_that_they_gave_themselves():
    site = with_person(SITE, "pia", roles=frozenset({"issuer", "technician"}))
    own = [lock(point, f"30{n}", 23, by="pia") for n, point in enumerate(("Q1", "Q2", "G1"))]
    site = done(checked_site(site), sanction(21, by="pia"), offer("pia", 22), *own, take_over(24, by="pia"))
    assert refused(site, replace(begin(25), by="pia")) == {"own-issue"}
    site = done(site, end_sanction(26, by="pia"), sanction(27))
    assert p1(done(site, replace(begin(28), by="pia"))).phase is Phase.TESTING


# ── told, handed back, signed ───────────────────────────────────────────────────────────────────────────


def test_people_who_were_told_that_it_starts_are_told_before_it_is_locked_again():
    site = done(restored_site(), reisolate(90))
    assert refused(site, lock("Q1", "101", 91)) == {"not-told"}
    assert "Q1" in p1(done(site, tell(91), lock("Q1", "101", 92))).locked


def test_a_machine_under_power_again_is_handed_back_at_rest():
    site = done(restored_site(), reisolate(86))
    moving = replace(hand_back(87), standstill=False, neutral=False)
    assert refused(site, moving) >= {"not-at-rest", "not-confirmed-clear"}


def test_a_closing_signature_from_before_a_stop_closes_nothing():
    site = done(restored_site(), sign_closed(88), stop(89, why="it threw a part"), lift(90))
    assert p1(done(site, sign_closed(91, by="maud"))).phase is Phase.RESTORING
    assert p1(done(site, sign_closed(91, by="maud"), sign_closed(92))).phase is Phase.CLOSED


def test_an_issue_to_oneself_ends_with_the_handover():
    lone = replace(SITE, policy=replace(SITE.policy, own_issue=True))
    lone = with_person(lone, "maud", roles=frozenset({"issuer", "technician"}), authorisations=QUALIFIED)
    site = done(lone, request(), issue(holder="maud", crew=("odo",)), accept(by="maud"), tell(by="maud"))
    site = done(site, replace(offer("odo", 5), by="maud"), take_over(6, by="odo"), *isolate(7))
    site = done(site, sign_on("odo", "201", 30), sign_off("odo", 31), hand_back(32), *restore(33))
    assert p1(done(site, sign_closed(40))).phase is Phase.RESTORING, "one signature is not two"


# ── the plant, the plan ─────────────────────────────────────────────────────────────────────────────────


def test_a_store_that_needs_a_lock_now_calls_out_who_relies_on_it():
    site = with_node(occupied_site(), "C1", release=Release("earth it", undoable=True, wait_s=300))
    events = plant_changed(site, at(30), "sig")
    assert [type(x) for x in events] == [e.IsolationLost]
    assert p1(fold(site, events)).phase is Phase.ISOLATING


def test_who_is_inside_on_their_own_locks_has_one_on_an_added_point_or_comes_out():
    own = [lock(point, f"40{n}", 14, by="hal") for n, point in enumerate(("Q1", "Q2", "G1"))]
    site = done(isolated_site(), *own, sign_on("hal", "", 15), amend(16, lock=("Q0",)))
    site = done(site, tell(16), lock("Q0", "110", 17), *readings(20), verify("BOARD", zero("Q0"), when=24))
    assert p1(site).phase is Phase.ISOLATING, "Hal has no lock on Q0"
    assert p1(done(site, sign_off("hal", 25))).phase is Phase.ISOLATED
    assert p1(done(site, lock("Q0", "411", 25, by="hal"))).phase is Phase.ISOLATED


def test_a_store_that_fills_again_past_the_plan_is_not_added_without_its_lock():
    site = done(SITE, request(zones=("NEXT",)), issue(holder="odo"))
    no = refusal(site, amend(3, lock=(), release=("C1",)))
    assert no.codes == {"fills-again"}
    assert no.path[0] == "Feeder 1"
    assert p1(done(site, amend(3, lock=("Q1",), release=("C1",)))).plan_release == ("C1",)


def test_what_has_to_stay_live_is_not_cut_off_by_an_added_point():
    asked = replace(request(zones=("SAW", "OUT")), keep_live=("B1",))
    site = done(SITE, asked, issue())
    assert refused(site, amend(3, lock=("Q0",))) == {"keep-live-conflict"}


# ── on paper ────────────────────────────────────────────────────────────────────────────────────────────


def test_a_lock_did_not_come_off_before_it_was_put_on():
    site = done(handed_back_site(), on_paper(90, since=0))
    off = late(remove("Q1", when=85), 91, happened=1)
    assert refused(site, off) == {"before-it-hung"}


def test_nothing_happened_under_a_permit_before_it_was_asked_for():
    site = done(handed_back_site(), on_paper(90, since=-60))
    assert "before-the-permit" in refused(site, late(remove("Q1", when=85), 91, happened=-30))


def test_paper_mode_does_not_reach_back_for_ever():
    assert refused(handed_back_site(), on_paper(90, since=90 - 8 * 24 * 60)) == {"too-long-ago"}


def test_that_it_starts_is_told_again_and_not_entered_late():
    site = done(handed_back_site(), remove("Q1", "Q2", "G1", when=81), on_paper(500, since=70))
    assert refused(site, late(tell(80), 501, happened=71)) == {"tell-again-now"}


def test_a_check_from_before_a_stop_is_not_entered_late():
    site = done(isolated_site(), sign_on("odo", "201"), stop(30), sign_off("odo", 31), lift(32))
    site = done(site, *readings(33), sign_on("odo", "201", 40), on_paper(50, since=20))
    assert refused(site, late(check(), 51, happened=25)) == {"check-again"}
    assert p1(done(site, late(check(), 51, happened=41), off_paper(52))).checked


@pytest.mark.parametrize("what", [c.ConfirmClear, c.VerifyMachine, c.SignOnCrew, c.Ready, c.GiveSanction])
def test_nothing_that_lets_power_on_or_people_in_is_entered_late(what):
    assert what not in c.LateCommand.__args__


# ── handing over ────────────────────────────────────────────────────────────────────────────────────────


def test_a_lock_that_the_plan_does_not_ask_for_is_none_the_incoming_needs():
    """Odo hung one on the bus as well, which only has to run down."""
    site = done(SITE, request(), issue(), accept(), tell(), *isolate()[:2])
    bus = c.ReleaseStore(
        permit="P-1", by="odo", at=at(6), point="C1", method="as written", padlock="109", tag="T109"
    )
    site = done(site, bus, *isolate()[3:], offer("pia", 30))
    own = [lock(point, f"40{n}", 31, by="pia") for n, point in enumerate(("Q1", "Q2", "G1"))]
    assert p1(done(site, *own, take_over(32))).holder == "pia"


def test_what_can_be_under_power_is_handed_back_with_its_areas_clear():
    site = done(powered_site(), end_sanction(30))
    assert {"not-at-rest"} <= refused(site, replace(hand_back(31), standstill=False, neutral=False))
    assert refused(site, hand_back(31)) == {"not-confirmed-clear"}, "it was seen before the end"
    site = done(site, clear("OUT", "NEXT", when=31))
    assert [type(x) for x in happened(site, hand_back(32))] == [e.HandedBack]
