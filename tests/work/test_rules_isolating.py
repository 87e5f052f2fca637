"""Locks on points and stores released: each by its owner, in order, one padlock in one place."""

from dataclasses import replace
from datetime import timedelta

import pytest

from permits.plant.rules.energy import Kind, Link, Node, Release
from permits.work.rules import events as e
from permits.work.rules.words import Phase
from tests.work.small_plant import (
    SITE,
    accept,
    accepted_site,
    checked_site,
    done,
    hand_back,
    handed_back_site,
    happened,
    in_test_site,
    isolated_site,
    issue,
    lock,
    locked_site,
    next_door,
    p1,
    refusal,
    refused,
    release,
    remove,
    request,
    sanction,
    sign_off,
    sign_on,
    verify,
    with_graph,
    with_node,
    with_person,
    zero,
)

LOCKED = (lock("Q1", "101"), lock("Q2", "102", 5))


def stores_left():
    """Both switches are locked; no store is released."""
    return done(accepted_site(), *LOCKED)


# ── locks ───────────────────────────────────────────────────────────────────────────────────────────────


def test_a_lock_says_whose_it_is_and_how_the_point_stood():
    [locked] = happened(accepted_site(), replace(lock("Q1", " 101 "), typed=True))
    assert (locked.by, locked.padlock, locked.position, locked.typed) == ("odo", "101", "off", True)


def test_no_lock_goes_on_before_the_permit_is_accepted():
    assert refused(done(SITE, request(), issue()), lock("Q1", "101")) == {"wrong-phase", "not-told"}


def test_no_lock_goes_on_after_hand_back_without_isolating_again():
    assert refused(handed_back_site(), lock("Q1", "104", 90, by="hal")) == {"wrong-phase"}


def test_affected_people_are_told_before_the_first_lock():
    assert refused(done(SITE, request(), issue(), accept()), lock("Q1", "101")) == {"not-told"}


def test_who_is_not_named_on_the_permit_locks_nothing_for_it():
    no = refusal(accepted_site(), lock("Q1", "101", by="pia"))
    assert no.codes == {"not-named"}
    assert "Odo Holder" in no.unmet[0].who


def test_who_is_no_longer_authorised_locks_nothing():
    site = with_person(accepted_site(), "hal", authorisations=())
    assert refused(site, lock("Q1", "101", by="hal")) == {"not-authorised"}


def test_a_point_outside_the_plan_is_not_locked():
    assert refused(accepted_site(), lock("Q0", "101")) == {"not-in-plan"}


def test_locks_go_on_in_the_plans_order():
    assert refused(accepted_site(), lock("Q2", "102")) == {"out-of-order"}


def test_a_second_persons_lock_on_a_locked_point_is_never_out_of_order():
    site = done(accepted_site(), *LOCKED)
    assert p1(done(site, lock("Q2", "211", 6, by="hal"))).hanging[-1].owner == "hal"


def test_a_lock_has_a_number():
    assert refused(accepted_site(), lock("Q1", "  ")) >= {"no-padlock"}


def test_a_lock_has_a_danger_tag():
    assert refused(accepted_site(), replace(lock("Q1", "101"), tag=" ")) == {"no-tag"}


def test_one_persons_second_padlock_on_a_point_is_refused():
    assert refused(stores_left(), lock("Q1", "104", 6)) == {"already-locked"}


def test_a_padlock_belongs_to_one_person():
    site = done(isolated_site(), hand_back(20), remove("Q1", when=21))
    no = refusal(next_door(site, crew_on=False), lock("Q2", "101", 40, "P-2", by="pia"))
    assert "padlock-of-another" in no.codes


def test_a_padlock_of_someone_who_left_the_site_may_be_given_to_another():
    site = replace(accepted_site(), padlock_owners={"k7": "pia"})
    assert refused(site, lock("Q1", "K7")) == {"padlock-of-another"}
    left = replace(site, people={who: known for who, known in site.people.items() if who != "pia"})
    given = done(left, lock("Q1", "k7"))
    assert given.padlock_owners == {"k7": "odo"}
    assert refused(given, lock("Q2", "K7", 5)) == {"padlock-in-use"}


def test_a_padlock_hangs_in_one_place():
    no = refusal(done(accepted_site(), LOCKED[0]), lock("Q2", "101", 5))
    assert no.codes == {"padlock-in-use"}
    assert "Main switch" in no.unmet[0].what


def test_a_padlock_on_the_box_is_not_on_a_point():
    site = done(isolated_site(), sign_on("hal", "202"))
    no = refusal(site, lock("Q1", "202", 15, by="hal"))
    assert no.codes == {"padlock-in-use"}
    assert "group box" in no.unmet[0].what


def test_a_padlock_is_the_same_however_its_letters_are_typed():
    site = done(accepted_site(), lock("Q1", "k7"))
    assert refused(site, lock("Q2", "K7", 5)) == {"padlock-in-use"}


def test_a_padlock_of_another_permit_is_in_use_too():
    site = next_door(isolated_site(), crew_on=False)
    assert refused(site, lock("Q1", "301", 40, by="hal")) == {"padlock-of-another", "padlock-in-use"}


def test_a_padlock_that_came_off_may_go_on_elsewhere():
    site = done(accepted_site(), LOCKED[0], remove("Q1", when=5))
    assert p1(done(site, lock("Q1", "101", 6))).locked == {"Q1"}


def test_two_permits_on_one_point_each_put_on_their_own_lock():
    site = next_door(isolated_site())
    assert {permit.id for permit, _ in site.locks_on("Q2")} == {"P-1", "P-2"}


def test_a_lock_on_a_point_that_another_permit_may_energise_ends_that_sanction():
    site = done(checked_site(), sanction())
    after = next_door(site, 30, crew_on=False)
    assert p1(after).sanction is None
    assert "Pia Holder locked" in p1(after).sanctions[-1].why_ended


def test_a_lock_on_a_freed_point_ends_the_test_there():
    freed = done(in_test_site(), remove("Q1", "Q2"))
    after = next_door(freed, 30)
    assert p1(after).phase is Phase.ISOLATING


def test_the_crews_own_lock_on_a_freed_point_is_accepted_and_ends_the_test():
    freed = done(in_test_site(), remove("Q1", "Q2"))
    events = [type(event) for event in happened(freed, lock("Q1", "211", 24, by="hal"))]
    assert events == [e.LockApplied, e.SanctionEnded]


def test_locking_again_between_cycles_does_not_end_the_sanction():
    site = done(checked_site(), sanction(), lock("Q1", "211", 22, by="hal"))
    assert p1(site).sanction is not None


# ── releases ────────────────────────────────────────────────────────────────────────────────────────────


def test_a_store_is_released_after_every_lock():
    no = refusal(done(accepted_site(), LOCKED[0]), release("C1"))
    assert no.codes == {"upstream-not-locked"}
    assert "Conveyor switch" in no.unmet[0].what


def test_stores_are_released_in_the_plans_order():
    assert refused(stores_left(), release("G1", 6, padlock="103")) == {"out-of-order"}


def test_a_reading_counts_from_the_end_of_the_stores_waiting_time():
    [released] = happened(stores_left(), release("C1", 6))
    assert released.counts_from - released.at == timedelta(seconds=300)


def test_no_store_is_released_before_anyone_was_told():
    only_gantry = replace(SITE.graph, links=tuple(k for k in SITE.graph.links if k.source == "G1"))
    site = done(replace(SITE, graph=only_gantry), request(zones=("SAW",)), issue(), accept())
    assert refused(site, release("G1", padlock="103")) == {"not-told"}


def test_a_store_outside_the_plan_is_not_released():
    assert refused(stores_left(), release("Q1", 6)) == {"not-in-plan"}


def test_a_store_is_released_once():
    assert refused(done(stores_left(), release("C1", 6)), release("C1", 7)) == {"already-released"}


def test_a_store_is_released_only_while_isolating():
    assert refused(isolated_site(), release("C1", 14)) == {"wrong-phase", "already-released"}


def test_it_is_said_how_a_store_was_released_where_the_plant_does_not_say_it():
    site = with_node(stores_left(), "C1", release=None)
    assert refused(site, replace(release("C1", 6), method=" ")) == {"says-too-little"}


def test_the_plants_own_method_is_recorded_where_none_is_typed():
    [released] = happened(stores_left(), replace(release("C1", 6), method=" "))
    assert released.method == "wait for the bleeder"


def test_a_release_that_can_be_undone_carries_a_lock_of_its_own():
    site = done(stores_left(), release("C1", 6))
    assert refused(site, release("G1", 7)) == {"no-padlock", "no-tag"}


def test_the_lock_on_a_prop_hangs_on_the_store():
    site = done(stores_left(), release("C1", 6), release("G1", 7, padlock="103"))
    assert p1(site).locked == {"Q1", "Q2", "G1"}


def test_a_padlock_on_a_release_that_needs_none_still_has_a_danger_tag():
    assert refused(stores_left(), replace(release("C1", 6, padlock="104"), tag="")) == {"no-tag"}


def test_a_padlock_on_a_release_hangs_in_one_place_too():
    site = done(stores_left(), release("C1", 6))
    assert refused(site, release("G1", 7, padlock="101")) == {"padlock-in-use"}


def test_a_stores_first_lock_goes_on_with_its_release():
    assert refused(stores_left(), lock("G1", "103", 6)) == {"not-released-yet"}


def test_a_second_person_may_lock_a_prop_as_well():
    site = done(locked_site(), lock("G1", "211", 8, by="hal"))
    assert {k.owner for k in p1(site).hanging if k.where == "G1"} == {"odo", "hal"}


def test_no_lock_goes_on_a_release_that_nobody_could_undo():
    assert refused(locked_site(), lock("C1", "211", 8, by="hal")) == {"not-in-plan"}


def test_a_store_that_is_fed_past_every_lock_of_the_plan_cannot_be_emptied():
    site = with_graph(stores_left(), Node("F3", Kind.SUPPLY, "Second feeder"), Link("F3", "C1"))
    no = refusal(site, release("C1", 6))
    assert (no.codes, no.path) == ({"fills-again"}, ("Second feeder", "DC bus"))


def test_stores_that_fill_each_other_can_be_released_one_after_the_other():
    pair = Node("H1", Kind.STORE, "Second bus", sequence=35, machine="CUT", release=Release("short it"))
    ring = with_graph(SITE, pair, Link("C1", "H1", both=True), Link("H1", "SAW"))
    ring = replace(ring, procedures={"CUT": replace(SITE.procedures["CUT"], release=("C1", "G1", "H1"))})
    site = done(accepted_site(ring), *LOCKED, release("C1", 6), release("H1", 7))
    assert p1(site).released == {"C1", "H1"}


# ── locks off again before any work began ───────────────────────────────────────────────────────────────


def test_before_anyone_was_inside_an_owner_may_take_a_lock_off_again():
    assert p1(done(locked_site(), remove("Q1", when=8))).locked == {"Q2", "G1"}


def test_taking_a_lock_off_upstream_fills_the_store_again():
    events = happened(locked_site(), remove("Q1", when=8))
    assert [type(event) for event in events] == [e.LockRemoved, e.ReleaseUndone]
    assert events[1].point == "C1"


def test_a_prop_stays_where_it_is_when_energy_comes_back():
    assert "G1" in p1(done(locked_site(), remove("Q1", when=8))).released


def test_a_point_named_twice_comes_off_once():
    removed = [x for x in happened(locked_site(), remove("Q2", "Q2", when=8)) if isinstance(x, e.LockRemoved)]
    assert len(removed) == 1


def test_a_lock_comes_off_by_its_owner_alone():
    no = refusal(locked_site(), remove("Q1", by="hal", when=8))
    assert no.codes == {"not-your-lock"}
    assert "Odo Holder" in no.unmet[0].who


def test_after_anyone_was_inside_the_last_lock_stays_until_hand_back():
    site = done(isolated_site(), sign_on("hal", "202"), sign_off("hal", 15))
    assert refused(site, remove("Q1", when=16)) == {"last-lock"}


def test_the_last_lock_stays_on_while_it_is_proven_dead():
    assert refused(isolated_site(), remove("Q1", when=14)) == {"last-lock"}


def test_a_lock_that_is_not_the_last_may_come_off_while_others_are_inside():
    site = done(isolated_site(), lock("Q1", "211", 14, by="hal"), sign_on("odo", "201", 15))
    assert p1(done(site, remove("Q1", by="hal", when=16))).locked == {"Q1", "Q2", "G1"}


def test_no_last_lock_comes_off_while_anyone_is_signed_on():
    site = done(isolated_site(), sign_on("odo", "201"))
    assert refused(site, remove("Q1", when=16)) == {"last-lock", "crew-signed-on"}


def test_after_a_call_to_come_out_no_lock_comes_off_before_everyone_is_out():
    site = done(isolated_site(), lock("Q1", "211", 14, by="hal"), sign_on("odo", "201", 15))
    site = done(site, verify("CUT", zero("Q1", "230"), when=16))
    assert refused(site, remove("Q1", by="hal", when=17)) == {"crew-signed-on"}
    assert done(site, sign_off("odo", 17), remove("Q1", by="hal", when=18))


def test_who_is_signed_on_by_their_own_locks_leaves_them_on():
    mine = [lock("Q1", "211", 14, by="hal"), lock("Q2", "212", 14, by="hal"), lock("G1", "213", 14, by="hal")]
    site = done(isolated_site(), *mine, sign_on("hal", "", 15))
    assert refused(site, remove("Q1", by="hal", when=16)) == {"own-locks-protect"}


def test_the_holder_undoes_a_release_that_carries_no_lock():
    site = done(stores_left(), release("C1", 6))
    assert p1(done(site, remove("C1", when=7))).released == set()


def test_taking_off_no_lock_at_all_is_refused():
    assert refused(locked_site(), remove(when=8)) == {"no-point"}


def test_before_acceptance_there_is_no_lock_to_take_off():
    assert refused(done(SITE, request(), issue()), remove("Q1", when=8)) == {"wrong-phase", "not-your-lock"}


@pytest.mark.parametrize("point", ["C1", "Q1"])
def test_a_tested_point_is_untested_without_its_lock_or_release(point):
    one = done(locked_site(), verify("CUT", zero(point), when=12))
    assert not p1(done(one, remove("Q1", when=13))).is_verified(point, remove(when=13).at)
