"""Danger areas: which ones, who says they are clear, for how long that is believed."""

from dataclasses import replace

import pytest

from permits.plant.rules.energy import Kind, Link, Node
from permits.work.rules import events as e
from permits.work.rules.against import goes_stale, is_fresh, not_clear
from permits.work.rules.clearing import areas_to_confirm
from permits.work.rules.words import Policy, Seen
from tests.work.small_plant import (
    SITE,
    accepted_site,
    at,
    at_the_board,
    checked_site,
    clear,
    done,
    end_sanction,
    handed_back_site,
    happened,
    in_test_site,
    isolated_site,
    issue,
    leave_watch,
    lock,
    next_door,
    p1,
    ready,
    refusal,
    refused,
    reisolate,
    remove,
    request,
    sanction,
    sign_on,
    with_graph,
    with_node,
)


def areas(site, permit="P-1"):
    return areas_to_confirm(site, site.permits[permit])


# ── which areas ─────────────────────────────────────────────────────────────────────────────────────────


def test_the_areas_of_a_test_are_those_that_the_freed_points_energy_reaches_on_any_machine():
    assert areas(in_test_site()) == ("OUT", "NEXT")


def test_a_point_that_stays_locked_keeps_its_areas_out_of_it():
    assert areas(done(checked_site(), sanction(points=("Q1",)))) == ("OUT",)


def test_the_outfeed_is_always_confirmed_even_where_no_freed_energy_reaches_it():
    assert areas(done(checked_site(), sanction(points=("G1",)))) == ("OUT",)


def test_another_permits_lock_on_the_way_stops_the_energy():
    beyond = with_graph(
        SITE,
        Node("Q3", Kind.ISOLATOR, "Saw outlet", machine="DRILL"),
        Node("FAR", Kind.ZONE, "Far table", machine="DRILL", danger_area=True),
        Link("DRV", "Q3"),
        Link("Q3", "FAR"),
    )
    site = checked_site(replace(beyond, procedures={**SITE.procedures, "DRILL": replace(
        SITE.procedures["DRILL"], zones=("FAR",), lock=("Q3",))}))  # fmt: skip
    site = done(site, sanction(points=("Q1",)))
    assert areas(site) == ("OUT", "FAR")
    p2 = replace(
        p1(site), id="P-2", zones=("FAR",), sanctions=(), locks=(replace(p1(site).locks[0], where="Q3"),)
    )
    assert areas(replace(site, permits={**site.permits, "P-2": p2})) == ("OUT",)


def test_all_the_plans_points_count_when_the_machine_goes_back_to_service():
    assert areas(handed_back_site()) == ("OUT", "NEXT")


def test_what_another_permit_holds_locked_frees_nothing_when_the_machine_goes_back_to_service():
    """Someone works on the drilling table under a lock of their own: there is nothing to clear there."""
    assert areas(next_door(handed_back_site(), 81)) == ("OUT",)


def test_an_outfeed_that_another_permit_keeps_dead_needs_no_confirming_by_who_goes_back_to_service():
    site = done(
        handed_back_site(), request(81, zones=("OUT",), by="pia"), issue(82, "P-2", holder="pia", crew=())
    )
    dead = replace(
        p1(isolated_site()), id="P-2", holder="pia", zones=("OUT",),
        locks=tuple(replace(k, owner="pia", padlock=f"30{k.padlock}") for k in p1(isolated_site()).locks),
    )  # fmt: skip
    assert areas(replace(site, permits={**site.permits, "P-2": dead})) == ()


# ── confirming ──────────────────────────────────────────────────────────────────────────────────────────


def test_a_confirmation_says_who_and_how():
    [said] = happened(in_test_site(), clear("OUT", seen_by="pia"))
    assert (said.by, said.how, said.seen_by, said.areas) == ("ola", Seen.RADIO, "pia", ("OUT",))


@pytest.mark.parametrize("who", ["", "ola", "a passer-by"])
def test_by_radio_somebody_else_of_the_site_is_named_who_sees_it(who):
    told = replace(clear("OUT"), how=Seen.RADIO, seen_by=who)
    assert refused(in_test_site(), told) == {"seen-by-nobody"}


def test_who_is_named_as_seeing_it_told_it_by_radio():
    assert refused(in_test_site(), replace(clear("OUT"), seen_by="pia")) == {"seen-by-two"}


def test_told_by_radio_it_is_believed_as_long_as_who_sees_it_stands_there():
    site = done(in_test_site(), clear("OUT", seen_by="pia"))
    assert p1(site).confirmation("OUT").eyes == "pia"
    moved = clear("NEXT", by="odo", seen_by="pia", when=25, one_place=False)
    assert p1(done(site, moved)).confirmation("OUT") is None, "she has walked on"
    asked = clear("NEXT", when=25, one_place=False)
    assert p1(done(site, asked)).confirmation("OUT"), "Ola did not see it herself"


def test_nobody_ends_anothers_watch_by_naming_them():
    """Power is on, and Ola watches: who names her as seeing something else does not take her watch away."""
    site = done(in_test_site(), remove("Q1", "Q2"), clear("OUT", "NEXT", watching=True), ready())
    elsewhere = clear("NEXT", by="odo", seen_by="ola", when=26, one_place=False)
    no = refusal(site, elsewhere)
    assert no.codes == {"watches-elsewhere"}
    assert no.unmet[0].who.startswith("Ola Operator leaves that watch first")
    both = clear("NEXT", by="odo", seen_by="ola", when=26, one_place=True)
    assert p1(done(site, both)).confirmation("OUT").watching


def test_told_by_radio_it_is_void_when_who_saw_it_has_left_the_site():
    site = done(in_test_site(), clear("OUT", seen_by="hal", when=24))
    gone = replace(site, people={ref: one for ref, one in site.people.items() if ref != "hal"})
    assert not is_fresh(gone, p1(gone), "OUT", at(25))
    assert [no.code for no in not_clear(gone, p1(gone), ("OUT",), at(25))] == ["not-confirmed-clear"]
    assert is_fresh(site, p1(site), "OUT", at(25))
    assert not list(not_clear(site, p1(site), ("OUT",), at(25)))


def test_an_area_is_named():
    assert refused(in_test_site(), clear()) == {"no-area"}


@pytest.mark.parametrize("area", ["ATTIC", "Q1"])
def test_an_area_is_one_of_the_site(area):
    assert refused(in_test_site(), clear(area)) == {"no-such-area"}


def test_one_person_confirms_several_areas_only_from_one_place():
    assert refused(in_test_site(), clear("OUT", "NEXT", one_place=False)) == {"not-one-place"}


def test_who_walks_on_to_another_area_no_longer_sees_the_first():
    site = done(in_test_site(), clear("OUT", one_place=False), clear("NEXT", when=25, one_place=False))
    assert p1(site).confirmation("OUT") is None


def test_who_walks_on_no_longer_sees_what_they_confirmed_for_another_permit():
    site = done(next_door(in_test_site(), 30, crew_on=False), clear("OUT", when=37))
    site = done(site, clear("NEXT", when=38, permit="P-2", one_place=False))
    assert p1(site).confirmation("OUT") is None


def test_another_persons_confirmation_stands():
    site = done(
        in_test_site(), clear("OUT", one_place=False), clear("NEXT", by="sig", when=25, one_place=False)
    )
    assert p1(site).confirmation("OUT") is not None


def test_an_area_with_someone_signed_on_is_not_clear():
    site = next_door(in_test_site(), 30)
    no = refusal(site, clear("NEXT", when=40))
    assert no.codes == {"someone-inside"}
    assert "Pia Holder" in no.unmet[0].what


def test_who_is_inside_is_no_watcher():
    site = done(isolated_site(), sign_on("hal", "202"))
    assert "watcher-inside" in refused(site, clear("NEXT", by="hal", when=15, watching=True))


def test_nothing_is_confirmed_before_work_began():
    assert refused(done(SITE, request(), issue()), clear("OUT")) == {"wrong-phase"}


# ── for how long ────────────────────────────────────────────────────────────────────────────────────────


def test_a_confirmation_is_fresh_up_to_the_sites_minutes():
    site = done(in_test_site(), clear("OUT"))
    assert [is_fresh(site, p1(site), "OUT", at(24 + minutes)) for minutes in (9.99, 10)] == [True, False]


def test_a_site_may_ask_for_fewer_minutes():
    site = replace(done(in_test_site(), clear("OUT")), policy=Policy(clear_minutes=3))
    assert goes_stale(site, p1(site).confirmation("OUT")) == at(27)


def test_a_stale_confirmation_is_named_with_its_age():
    site = done(in_test_site(), remove("Q1", "Q2"), clear("OUT", "NEXT"))
    no = refusal(site, ready(40))
    assert no.codes == {"confirmation-stale"}
    assert "Ola Operator saw Outfeed clear 16 minutes ago" in no.unmet[0].what


def test_an_area_that_nobody_confirmed_is_named():
    site = done(in_test_site(), remove("Q1", "Q2"), clear("OUT"))
    no = refusal(site, ready())
    assert no.codes == {"not-confirmed-clear"}
    assert "Drilling table" in no.unmet[0].what


def test_a_watcher_keeps_an_area_fresh():
    site = done(in_test_site(), clear("OUT", watching=True))
    assert is_fresh(site, p1(site), "OUT", at(300))


def test_a_watch_ends_when_the_watcher_leaves():
    site = done(in_test_site(), clear("OUT", watching=True), leave_watch(60))
    assert not is_fresh(site, p1(site), "OUT", at(60))


def test_who_keeps_no_watch_leaves_none():
    assert refused(done(in_test_site(), clear("OUT")), leave_watch(60)) == {"not-watching"}


def test_a_later_confirmation_takes_the_place_of_an_earlier_one():
    site = done(in_test_site(), clear("OUT"), clear("OUT", when=30))
    assert [c.void_at is None for c in p1(site).confirmations] == [False, True]


def test_an_area_named_twice_is_confirmed_once():
    [said] = happened(in_test_site(), clear("OUT", "OUT"))
    assert said.areas == ("OUT",)


def test_areas_next_door_can_be_confirmed_for_a_test():
    assert [type(x) for x in happened(in_test_site(), clear("NEXT"))] == [e.ConfirmedClear]


def test_a_zone_that_is_no_danger_area_needs_no_confirming():
    assert "NEXT" not in areas(in_test_site(with_node(SITE, "NEXT", danger_area=False)))


def test_locks_on_nothing_free_nothing():
    assert areas(done(accepted_site(), lock("Q1", "101"))) == ("OUT", "NEXT")


# ── how long it is believed ─────────────────────────────────────────────────────────────────────────────


def test_a_watch_is_kept_by_someone_who_sees_the_area():
    by_radio = clear("OUT", "NEXT", watching=True, seen_by="pia")
    assert refused(in_test_site(), by_radio) == {"watch-by-radio"}
    assert p1(done(in_test_site(), replace(by_radio, watching=False))).confirmation("OUT")


@pytest.mark.parametrize("over", [reisolate(30), end_sanction(30)], ids=["re-isolated", "sanction ended"])
def test_a_watch_is_not_carried_over_to_the_next_cycle(over):
    site = done(in_test_site(), remove("Q1", "Q2"), clear("OUT", "NEXT", watching=True), ready())
    assert p1(site).confirmation("OUT").watching
    assert p1(done(site, over)).confirmation("OUT") is None


def test_a_sign_on_beside_it_makes_a_danger_area_of_the_machine_stale():
    """Pia goes into the chamber, by which she passes the outfeed; nobody has seen it clear since."""
    site = done(checked_site(), sanction(), clear("OUT", "NEXT", when=24))
    on = p1(done(site, sign_on("hal", "202", 25))).confirmation("OUT")
    assert on is None
    board = at_the_board(done(checked_site(), sanction(), clear("OUT", "NEXT", when=24)))
    assert p1(board).confirmation("OUT"), "another machine"
