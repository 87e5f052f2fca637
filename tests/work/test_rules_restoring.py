"""Going back to service: hand-back, locks off by their owners, power, others still at work."""

from dataclasses import replace

import pytest

from permits.plant.rules.energy import Kind, Link, Node, Release
from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.restoring import held_by_others, may_be_running
from permits.work.rules.words import Phase
from tests.work.small_plant import (
    SECOND_FEED,
    SITE,
    accepted_site,
    at,
    cancel,
    checked_site,
    clear,
    done,
    end_sanction,
    hand_back,
    handed_back_site,
    happened,
    in_test_site,
    isolate_again,
    isolated_site,
    lock,
    locked_site,
    next_door,
    occupied_site,
    p1,
    powered_site,
    ready,
    reenergise,
    refusal,
    refused,
    reisolate,
    release,
    remove,
    request,
    restore,
    sanction,
    settled,
    sign_off,
    sign_on,
    tell,
    with_graph,
)


def unlocked(when: float = 81):
    """Handed back, every lock off, told and clear: only power is missing."""
    return done(handed_back_site(), *restore(when)[:3])


# ── hand back ───────────────────────────────────────────────────────────────────────────────────────────


def test_the_holder_hands_back():
    assert p1(handed_back_site()).phase is Phase.RESTORING


def test_nobody_hands_back_for_the_holder():
    assert refused(checked_site(), hand_back(by="hal")) == {"not-holder"}


def test_nobody_is_inside_at_hand_back():
    no = refusal(occupied_site(), hand_back())
    assert no.codes == {"crew-signed-on"}
    assert len(no.unmet) == 2


@pytest.mark.parametrize("confirmed", ["machine_whole", "guards_on", "tools_out", "people_out"])
def test_the_machine_is_whole_guarded_and_empty(confirmed):
    assert refused(checked_site(), replace(hand_back(), **{confirmed: False})) == {"not-handed-back"}


def test_a_machine_is_handed_back_once():
    assert refused(handed_back_site(), hand_back(81)) == {"wrong-phase"}


@pytest.mark.parametrize("seen", ["standstill", "neutral"])
def test_from_a_test_standstill_and_neutral_controls_are_seen(seen):
    assert refused(powered_site(), replace(hand_back(26), **{seen: False})) == {"not-at-rest"}


def test_from_isolated_nothing_can_have_been_running():
    ask = replace(hand_back(), standstill=False, neutral=False)
    assert p1(done(checked_site(), ask)).phase is Phase.RESTORING


def test_from_a_test_the_danger_areas_are_clear():
    assert refused(powered_site(), hand_back(60)) == {"confirmation-stale"}


def test_before_ready_there_was_no_power_to_clear_away_from():
    assert p1(done(in_test_site(), hand_back(60))).phase is Phase.RESTORING


def test_a_test_that_ran_out_of_time_is_handed_back_like_one_under_power():
    site = settled(powered_site(), at(200))
    assert may_be_running(site, p1(site))
    ask = replace(hand_back(201), standstill=False)
    assert refused(site, ask) == {"not-at-rest", "not-confirmed-clear"}


def test_after_a_test_the_areas_can_be_confirmed_for_hand_back():
    site = done(settled(powered_site(), at(200)), clear("OUT", "NEXT", when=201), hand_back(202))
    assert p1(site).phase is Phase.RESTORING


def test_locked_again_it_cannot_be_running():
    site = done(powered_site(), end_sanction(30), *isolate_again(31)[:3])
    assert not may_be_running(site, p1(site))


def test_hand_back_ends_the_sanction():
    assert p1(done(checked_site(), sanction(), hand_back())).sanctions[0].why_ended == "handed back"


def test_an_expired_permit_is_handed_back():
    assert p1(done(settled(checked_site(), at(500)), hand_back(501))).phase is Phase.RESTORING


def test_a_permit_that_can_no_longer_be_isolated_is_handed_back():
    site = done(isolated_site(), sign_on("hal", "202"), sign_off("hal", 15))
    assert p1(done(with_graph(site, *SECOND_FEED), hand_back(20))).phase is Phase.RESTORING


# ── locks off ───────────────────────────────────────────────────────────────────────────────────────────


def test_each_owner_takes_off_their_own():
    site = done(checked_site(), lock("Q1", "211", 21, by="hal"), hand_back(), remove("Q1", when=81))
    assert [(k.owner, k.where) for k in p1(site).hanging if k.where == "Q1"] == [("hal", "Q1")]


def test_taking_the_lock_off_a_prop_undoes_it():
    assert [type(x) for x in happened(handed_back_site(), remove("G1", when=81))] == [
        e.LockRemoved,
        e.ReleaseUndone,
    ]


def test_a_prop_with_a_second_lock_stays():
    site = done(checked_site(), lock("G1", "211", 21, by="hal"), hand_back(), remove("G1", when=81))
    assert "G1" in p1(site).released


def test_a_crew_next_door_stands_on_its_own_lock_when_this_one_comes_off():
    site = next_door(handed_back_site(), 81)
    assert p1(done(site, remove("Q1", "Q2", "G1", when=90))).locked == set()


# ── power back ──────────────────────────────────────────────────────────────────────────────────────────


def test_power_comes_back_when_everything_is_met():
    assert p1(done(unlocked(), reenergise(84))).reenergised_at == at(84)


def test_power_comes_back_after_hand_back():
    assert refused(checked_site(), reenergise(30)) >= {"wrong-phase"}


def test_only_the_holder_brings_power_back():
    assert refused(unlocked(), reenergise(84, by="hal")) == {"not-holder"}


def test_power_comes_back_once():
    assert refused(done(unlocked(), reenergise(84)), reenergise(85)) == {"done-already"}


def test_every_lock_is_off():
    site = done(handed_back_site(), clear("OUT", "NEXT", when=82))
    no = refusal(site, reenergise(83))
    assert no.codes == {"locks-still-on", "release-still-on", "not-told"}
    assert len([u for u in no.unmet if u.code == "locks-still-on"]) == 3


def test_a_prop_that_is_still_in_is_named():
    site = done(handed_back_site(), remove("Q1", "Q2", when=81), clear("OUT", "NEXT", when=82))
    no = refusal(site, reenergise(83))
    held = next(unmet for unmet in no.unmet if unmet.code == "release-still-on")
    assert "Gantry is still held released (prop it)" in held.what


def test_affected_people_are_told_after_the_last_lock_is_off():
    site = done(handed_back_site(), remove("Q1", "Q2", "G1", when=81), clear("OUT", "NEXT", when=82))
    assert refused(site, reenergise(83)) == {"not-told"}


def test_a_notice_from_before_a_later_lock_came_off_does_not_count():
    site = done(unlocked(), reisolate(84), tell(84), lock("Q1", "101", 85), clear("OUT", "NEXT", when=85))
    site = done(site, hand_back(86), remove("Q1", when=87))
    assert "not-told" in refused(site, reenergise(88))


def test_danger_areas_are_clear_when_power_comes_back():
    assert refused(unlocked(), reenergise(95)) == {"confirmation-stale"}


def test_someone_looks_before_power_comes_back():
    assert refused(unlocked(), replace(reenergise(84), visual_check=False)) == {"not-looked"}


def test_nobody_is_inside_when_power_comes_back():
    site = unlocked()
    inside = replace(p1(site), crew=p1(done(isolated_site(), sign_on("hal", "202"))).crew)
    assert "crew-signed-on" in refused(replace(site, permits={"P-1": inside}), reenergise(84))


def test_with_power_back_no_store_counts_as_released():
    assert done(unlocked(), reenergise(84)).released == set()


def test_power_comes_back_beside_someone_at_work_next_door():
    site = next_door(handed_back_site(), 81)
    site = done(site, remove("Q1", "Q2", "G1", when=90), tell(91), clear("OUT", when=92))
    assert p1(done(site, reenergise(93))).reenergised_at == at(93)


# ── in service ──────────────────────────────────────────────────────────────────────────────────────────


def test_a_machine_that_nothing_holds_is_in_service():
    assert p1(done(unlocked(), reenergise(84))).in_service


def test_a_machine_of_which_another_permit_holds_a_point_is_not_in_service():
    site = next_door(handed_back_site(), 81)
    assert held_by_others(site, p1(site)) == ("P-2",)


def test_a_mere_request_holds_nothing():
    site = done(unlocked(), request(84, by="pia"))
    assert held_by_others(site, p1(site)) == ()


def test_a_permit_at_work_in_the_same_machine_holds_it_even_before_its_first_lock():
    site = accepted_site()
    other = replace(p1(site), id="P-2")
    site = handed_back_site()
    assert held_by_others(replace(site, permits={**site.permits, "P-2": other}), p1(site)) == ("P-2",)


def test_of_two_permits_that_go_back_together_the_last_returns_the_machine():
    site = done(unlocked(), reenergise(84))
    other = replace(p1(unlocked()), id="P-2")
    both = replace(site, permits={**site.permits, "P-2": other})
    assert held_by_others(both, other) == ()


def test_hand_back_from_a_test_says_so():
    handed = [x for x in happened(powered_site(), hand_back(26)) if isinstance(x, e.HandedBack)]
    assert handed[0].from_test


def test_ready_again_after_hand_back_is_out_of_the_question():
    assert "wrong-phase" in refused(handed_back_site(), ready(81))


def test_nobody_was_ever_inside_and_locks_are_on_it_may_be_handed_back_too():
    assert p1(done(locked_site(), hand_back(20))).phase is Phase.RESTORING


def test_taking_locks_off_needs_a_permit():
    assert refused(locked_site(), c.RemoveLocks(permit="P-7", by="odo", at=at(9), points=("Q1",))) == {
        "no-such-permit"
    }


# ── a store that nothing fills, and that no prop holds ──────────────────────────────────────────────────


def with_spring():
    """A wound spring in the saw chamber: it is let off once, and nobody can tell when it is wound again."""
    spring = Node("S1", Kind.STORE, "Spring", sequence=50, machine="CUT", release=Release("let it off"))
    site = with_graph(SITE, spring, Link("S1", "SAW"))
    return replace(site, procedures={"CUT": replace(SITE.procedures["CUT"], release=("C1", "G1", "S1"))})


def let_off():
    return done(locked_site(with_spring()), release("S1", 8))


def test_a_spring_that_was_let_off_stays_so_while_locks_come_off():
    assert done(let_off(), remove("Q1", "Q2", "G1", when=9)).released == {"S1"}


def test_with_power_back_a_spring_is_no_longer_taken_as_let_off():
    site = done(let_off(), hand_back(80), *restore())
    assert site.released == set()


def test_with_a_cancelled_permit_a_spring_is_no_longer_taken_as_let_off():
    site = done(let_off(), remove("Q1", "Q2", "G1", when=9), cancel(10))
    assert p1(site).released == set()
