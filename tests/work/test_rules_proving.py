"""Proving points dead: readings, tries of the controls, and isolated coming by itself."""

from dataclasses import replace
from decimal import Decimal

import pytest

from permits.plant.rules import energy
from permits.plant.rules.energy import Kind, Link, Medium, Node
from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.proving import not_isolated
from permits.work.rules.words import Phase, Reading
from tests.work.small_plant import (
    SECOND_FEED,
    SITE,
    accepted_site,
    at,
    at_the_board,
    done,
    happened,
    isolated_site,
    lock,
    locked_site,
    next_door,
    occupied_site,
    p1,
    powered_site,
    readings,
    refusal,
    refused,
    reisolate,
    release,
    remove,
    sign_off,
    sign_on,
    try_start,
    verify,
    with_graph,
    with_node,
    with_person,
    zero,
)

CUT_PAGE, DRILL_PAGE = readings()


def page(*points: c.PointReadings, when: float = 12) -> c.VerifyMachine:
    return verify("CUT", *points, when=when)


def unmet_of(site, when: float = 30) -> set[str]:
    return {unmet.code for unmet in not_isolated(site, p1(site), at(when))}


# ── readings ────────────────────────────────────────────────────────────────────────────────────────────


def test_isolated_comes_by_itself_with_the_last_reading():
    site = done(locked_site(), CUT_PAGE)
    assert [type(event) for event in happened(site, DRILL_PAGE)] == [e.PointVerified, e.Isolated]


def test_all_points_of_a_machine_are_read_on_one_page():
    assert len(happened(locked_site(), CUT_PAGE)) == 3


def test_readings_on_the_limit_pass():
    [result] = happened(locked_site(), page(zero("Q1", "-50")))
    assert result.passed


def test_one_reading_over_the_limit_fails_and_is_recorded():
    one = zero("Q1")
    one = replace(one, readings=(replace(one.readings[0], value=Decimal("50.1")), *one.readings[1:]))
    [result] = happened(locked_site(), page(one))
    assert not result.passed


def test_a_failed_reading_does_not_isolate():
    site = done(locked_site(), verify("CUT", zero("Q1", "380"), zero("C1"), zero("G1"), when=12), DRILL_PAGE)
    assert p1(site).phase is Phase.ISOLATING


def test_the_latest_reading_counts():
    site = done(locked_site(), page(zero("Q1", "380")), CUT_PAGE, DRILL_PAGE)
    assert p1(site).phase is Phase.ISOLATED


def test_a_store_that_is_found_full_is_released_again_with_its_wait():
    site = done(locked_site(), page(zero("C1", "380")))
    assert "C1" not in p1(site).released
    assert refused(site, DRILL_PAGE) == {"not-all-released"}
    again = done(site, release("C1", 14))
    assert not p1(done(again, page(zero("C1"), when=15))).is_verified("C1", at(15)), "five minutes"
    assert p1(done(again, *readings(19))).phase is Phase.ISOLATED


def test_a_prop_stays_whatever_is_read_there():
    assert "G1" in p1(done(locked_site(), page(zero("G1", "3")))).released


def test_who_is_inside_when_a_store_is_found_full_is_called_out():
    site = occupied_site()
    events = happened(site, page(zero("C1", "380"), when=30))
    assert [type(x) for x in events] == [e.PointVerified, e.ReleaseUndone, e.IsolationLost]
    assert events[2].crew == ("odo", "hal")
    assert events[2].path[-1] == "Saw chamber"


def test_a_reading_before_the_waiting_time_is_over_is_kept_but_does_not_count():
    site = done(locked_site(), page(zero("C1"), when=10))
    assert (p1(site).verifications[-1].passed, p1(site).is_verified("C1", at(10))) == (True, False)


def test_a_reading_counts_from_the_very_end_of_the_waiting_time():
    site = done(locked_site(), page(zero("C1"), when=11))
    assert p1(site).is_verified("C1", at(11))


def test_a_later_reading_that_does_not_count_hides_no_earlier_one_that_does():
    site = done(locked_site(), page(zero("C1"), when=12))
    again = replace(p1(site).verifications[-1], counts=False, passed=False)
    permit = replace(p1(site), verifications=(*p1(site).verifications, again))
    assert permit.is_verified("C1", at(13))


def test_nothing_is_tested_before_the_last_lock_and_release():
    no = refusal(done(accepted_site(), lock("Q1", "101")), page(zero("Q1")))
    assert no.codes == {"not-all-locked", "not-all-released"}
    assert len(no.unmet) == 3


def test_a_prop_without_its_lock_is_not_locked():
    site = with_node(accepted_site(), "C1", release=replace(SITE.graph["C1"].release, undoable=False))
    site = done(
        site, lock("Q1", "101"), lock("Q2", "102", 5), release("C1", 6), release("G1", 7, padlock="103")
    )
    pinned = with_node(site, "C1", release=replace(SITE.graph["C1"].release, undoable=True))
    assert refused(pinned, page(zero("Q1"))) == {"not-all-locked"}


def test_a_test_is_made_while_isolating_or_isolated():
    assert refused(powered_site(), page(zero("Q1"), when=30)) >= {"wrong-phase"}


def test_who_is_not_named_tests_nothing():
    assert refused(locked_site(), replace(CUT_PAGE, by="pia")) == {"not-named"}


def test_a_helper_who_is_not_qualified_measures_no_voltage():
    no = refusal(locked_site(), replace(CUT_PAGE, by="hal"))
    assert no.codes == {"not-qualified"}
    assert "Odo Holder, Pia Holder" in no.unmet[0].who


def test_a_helper_reads_what_is_not_electrical():
    assert p1(done(locked_site(), replace(page(zero("G1")), by="hal"))).is_verified("G1", at(12))


def test_where_nobody_is_qualified_the_refusal_says_so():
    site = with_person(locked_site(), "odo", authorisations=SITE.people["hal"].authorisations)
    site = with_person(site, "pia", authorisations=())
    assert "nobody at this site is" in refusal(site, CUT_PAGE).unmet[0].who


def test_an_electrical_point_without_a_stated_test_still_needs_a_qualified_reading_in_volts():
    site = with_node(locked_site(), "Q1", test=None)
    looked = c.PointReadings(point="Q1", readings=(Reading(Decimal(0), ""),))
    assert refused(site, replace(page(looked), by="hal")) == {"not-qualified", "wrong-unit"}


def test_the_tester_is_named():
    assert refused(locked_site(), replace(CUT_PAGE, instrument="")) == {"no-instrument"}


@pytest.mark.parametrize("when", ["proven_before", "proven_after"])
def test_the_tester_is_proven_before_and_after(when):
    assert refused(locked_site(), replace(CUT_PAGE, **{when: False})) == {"instrument-unproven"}


def test_every_conductor_combination_is_measured():
    one = zero("Q1")
    no = refusal(locked_site(), page(replace(one, readings=one.readings[:4])))
    assert no.codes == {"reading-missing"}
    assert "L2-PE, L3-PE" in no.unmet[0].what


def test_a_point_without_conductors_is_read_once():
    assert refused(locked_site(), page(c.PointReadings(point="C1", readings=()))) == {"reading-missing"}


def test_a_reading_has_the_unit_of_its_limit():
    one = c.PointReadings(point="C1", readings=(Reading(Decimal(0), "bar"),))
    assert refused(locked_site(), page(one)) == {"wrong-unit"}


@pytest.mark.parametrize("value", ["NaN", "Infinity"])
def test_a_reading_is_a_number(value):
    assert refused(locked_site(), page(zero("C1", value))) == {"not-a-number"}


def test_a_reading_that_nobody_asked_for_is_refused():
    one = zero("C1")
    assert refused(locked_site(), page(replace(one, readings=one.readings * 2))) == {"reading-unknown"}


def test_a_point_given_twice_could_hide_a_failed_reading():
    assert refused(locked_site(), page(zero("C1", "380"), zero("C1"))) == {"point-twice"}


def test_a_page_without_readings_is_refused():
    assert refused(locked_site(), page()) == {"no-reading"}


def test_a_point_of_another_machine_is_not_on_this_page():
    assert refused(locked_site(), page(zero("Q2"))) == {"not-in-plan"}


def test_a_test_notes_that_energy_stood_upstream():
    [result] = happened(locked_site(), page(zero("Q1")))
    assert result.fed


def test_a_test_notes_that_nothing_stood_upstream():
    [result] = happened(at_the_board(locked_site(), 8), page(zero("Q1"), when=30))
    assert not result.fed


def test_a_store_behind_locked_switches_is_tested_with_nothing_upstream():
    [result] = happened(locked_site(), page(zero("C1")))
    assert not result.fed


def test_a_store_that_can_fill_again_says_when_it_must_be_read_again():
    site = with_node(SITE, "C1", release=replace(SITE.graph["C1"].release, recheck_min=60))
    [result] = happened(locked_site(site), page(zero("C1")))
    assert result.lapses_at == at(72)


def test_a_point_that_fails_while_people_are_inside_calls_them_out():
    events = happened(occupied_site(), page(zero("Q1", "230"), when=30))
    assert [type(event) for event in events] == [e.PointVerified, e.IsolationLost]
    assert events[1].crew == ("odo", "hal")


def test_proven_again_it_is_isolated_again():
    site = done(occupied_site(), page(zero("Q1", "230"), when=30), page(zero("Q1"), when=31))
    assert p1(site).phase is Phase.ISOLATED
    assert p1(site).stopped_because == ""


# ── trying the controls ─────────────────────────────────────────────────────────────────────────────────


def test_a_try_start_does_not_stand_in_for_a_reading():
    site = done(locked_site(), try_start("CUT", 12), try_start("DRILL", 12))
    assert {p for p in p1(site).points if p1(site).is_verified(p, at(13))} == set()


def test_a_try_start_beside_the_reading_changes_nothing():
    assert p1(done(isolated_site(), try_start("CUT", 14))).phase is Phase.ISOLATED


def test_a_try_start_proves_a_point_that_has_nothing_to_read():
    valve = Node("V1", Kind.ISOLATOR, "Air valve", sequence=15, machine="CUT", medium=Medium.PNEUMATIC)
    air = Node("AIR", Kind.SUPPLY, "Air main")
    site = with_graph(SITE, valve, air, Link("AIR", "V1"), Link("V1", "SAW"))
    site = replace(site, procedures={"CUT": replace(SITE.procedures["CUT"], lock=("Q1", "Q2", "V1"))})
    site = done(accepted_site(site), lock("Q1", "101"), lock("V1", "104"), lock("Q2", "102", 5))
    site = done(site, release("C1", 6), release("G1", 7, padlock="103"), try_start("CUT", 12))
    assert p1(site).is_verified("V1", at(12))
    assert not p1(site).is_verified("G1", at(12)), "a try of the controls says nothing about a prop"


def test_an_electrical_point_is_never_proven_by_trying():
    site = with_node(locked_site(), "Q1", test=None)
    assert not p1(done(site, try_start("CUT", 12))).is_verified("Q1", at(12))


def test_a_try_start_that_moves_something_fails_every_point_of_the_machine():
    site = done(isolated_site(), try_start("CUT", 14, stayed_dead=False))
    assert p1(site).phase is Phase.ISOLATING
    assert {p for p in p1(site).points if not p1(site).is_verified(p, at(15))} == {"Q1", "C1", "G1"}


def test_a_machine_without_points_in_the_plan_is_not_tried():
    assert refused(locked_site(), try_start("BOARD", 12)) == {"not-in-plan"}


def test_nobody_is_signed_on_when_the_controls_are_tried():
    assert refused(done(isolated_site(), sign_on("hal", "202")), try_start("CUT", 15)) == {"crew-signed-on"}


def test_nobody_of_another_permit_on_that_machine_is_signed_on_when_its_controls_are_tried():
    no = refusal(next_door(isolated_site()), try_start("DRILL", 40))
    assert no.codes == {"crew-signed-on"}
    assert "Pia Holder" in no.unmet[0].what


def test_crew_on_another_machine_does_not_stand_in_the_way_of_a_try():
    assert done(next_door(isolated_site()), try_start("CUT", 40))


@pytest.mark.parametrize("confirmed", ["nobody_in_reach", "controls_live", "back_to_neutral"])
def test_a_try_start_needs_nobody_in_reach_live_controls_and_neutral_afterwards(confirmed):
    assert refused(locked_site(), replace(try_start("CUT", 12), **{confirmed: False})) == {"try-start-unsafe"}


# ── what still stands between a permit and isolated ─────────────────────────────────────────────────────


def test_what_is_missing_is_named_point_by_point():
    assert unmet_of(accepted_site()) == {"not-all-locked", "not-all-released", "not-verified", "zone-exposed"}


def test_a_plant_that_grew_a_second_feed_is_not_isolated_by_old_tests():
    site = with_graph(done(locked_site(), CUT_PAGE), *SECOND_FEED)
    assert p1(done(site, DRILL_PAGE)).phase is Phase.ISOLATING


def test_a_zone_that_is_gone_from_the_plant_is_not_proven():
    site = isolated_site()
    nodes = [n for n in site.graph.nodes.values() if n.id != "OUT"]
    links = [k for k in site.graph.links if k.target != "OUT"]
    assert unmet_of(replace(site, graph=type(site.graph).of(nodes, links))) == {"zone-gone"}


def test_an_isolator_that_turns_out_to_be_none_isolates_nothing():
    assert unmet_of(with_node(isolated_site(), "Q2", lockable=False)) == {"zone-exposed"}


# ── tests that relied on nothing upstream ───────────────────────────────────────────────────────────────


def proven_behind_the_board():
    """Odo proved Q1 dead while Pia's lock on the board switch kept it unfed."""
    return done(at_the_board(locked_site(), 8), *readings(30))


def test_feeding_a_point_again_voids_the_test_that_was_made_without():
    site = proven_behind_the_board()
    site = done(site, hand_back_of_p2(40), remove("Q0", by="pia", when=41, permit="P-2"))
    assert not p1(site).is_verified("Q1", at(42))
    assert p1(site).phase is Phase.ISOLATING


def test_feeding_a_point_again_is_refused_while_someone_relies_on_its_test():
    site = done(proven_behind_the_board(), sign_on("hal", "202", 39), hand_back_of_p2(40))
    no = refusal(site, remove("Q0", by="pia", when=41, permit="P-2"))
    assert no.codes == {"relies-on-dead-upstream"}
    assert "Hal Helper" in no.unmet[0].what
    assert no.path == ("Feeder 1", "Board switch", "Board", "Main switch")


def test_everyone_who_relies_is_named():
    site = done(
        proven_behind_the_board(), sign_on("hal", "202", 39), sign_on("odo", "201", 39), hand_back_of_p2(40)
    )
    no = refusal(site, remove("Q0", by="pia", when=41, permit="P-2"))
    assert [unmet.what.split(",")[0] for unmet in no.unmet] == ["Hal Helper", "Odo Holder"]


def test_once_they_have_signed_off_the_point_may_be_fed_again():
    site = done(
        proven_behind_the_board(), sign_on("hal", "202", 39), hand_back_of_p2(40), sign_off("hal", 41)
    )
    assert done(site, remove("Q0", by="pia", when=42, permit="P-2")).locked == {"Q1", "Q2", "G1"}


def test_a_test_that_was_made_with_energy_upstream_stays_good():
    site = done(isolated_site(), sign_on("hal", "202"))
    site = at_the_board(site)
    site = done(site, hand_back_of_p2(40), remove("Q0", by="pia", when=41, permit="P-2"))
    assert p1(site).is_verified("Q1", at(42))


def hand_back_of_p2(when: float) -> c.HandBack:
    return c.HandBack(
        permit="P-2",
        by="pia",
        at=at(when),
        machine_whole=True,
        guards_on=True,
        tools_out=True,
        people_out=True,
    )


def test_reisolating_voids_every_test():
    site = done(powered_site(), reisolate())
    assert all(v.void_at is not None for v in p1(site).verifications)


def test_a_test_names_its_limit_and_unit():
    [result] = happened(locked_site(), page(zero("C1")))
    assert (result.limit, result.unit) == (Decimal(50), "V")


def test_a_stricter_limit_of_the_plant_is_the_one_that_counts():
    site = with_node(locked_site(), "C1", test=energy.Test("voltage", "V", Decimal(12)))
    result, undone = happened(site, page(zero("C1", "30")))
    assert (result.passed, type(undone)) == (False, e.ReleaseUndone)
