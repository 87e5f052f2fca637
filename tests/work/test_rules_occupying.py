"""People inside: on and off with a padlock of their own, the machine check, its defects."""

from dataclasses import replace

import pytest

from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.words import BOX, CHECK_ITEMS, CheckItem, DefectState, Finding, Phase
from tests.work.small_plant import (
    SECOND_FEED,
    SITE,
    accepted_site,
    at,
    begin,
    check,
    checked_site,
    clear,
    done,
    happened,
    in_test_site,
    isolated_site,
    lock,
    locked_site,
    next_door,
    occupied_site,
    p1,
    refusal,
    refused,
    request,
    sanction,
    settled,
    sign_off,
    sign_on,
    with_graph,
    with_node,
    with_person,
)


def recheck_site():
    """As isolated, but the bus must be read again every hour."""
    return isolated_site(with_node(SITE, "C1", release=replace(SITE.graph["C1"].release, recheck_min=60)))


def resolve(defect: int = 0, when: float = 17, *, by: str = "odo", how: str = "tightened") -> c.ResolveDefect:
    return c.ResolveDefect(permit="P-1", by=by, at=at(when), defect=defect, how=how)


def accept_defect(
    defect: int = 0, when: float = 17, *, by: str = "sig", why: str = "cosmetic"
) -> c.AcceptDefect:
    return c.AcceptDefect(permit="P-1", by=by, at=at(when), defect=defect, why=why)


def defect_site():
    """Odo is inside and has found a loose cable."""
    return done(isolated_site(), sign_on("odo", "201"), check(defect="cables"))


# ── on ──────────────────────────────────────────────────────────────────────────────────────────────────


def test_signing_on_hangs_the_persons_padlock_on_the_box():
    site = done(isolated_site(), sign_on("hal", " 202 "))
    assert [(k.where, k.padlock) for k in p1(site).locks if k.owner == "hal"] == [(BOX, "202")]


def test_the_holder_signs_on_like_everyone_else():
    assert [on.person for on in p1(done(isolated_site(), sign_on("odo", "201"))).signed_on] == ["odo"]


def test_nobody_goes_in_before_it_is_isolated():
    no = refusal(locked_site(), sign_on("hal", "202"))
    assert no.codes == {"wrong-phase", "not-verified"}
    assert len(no.unmet) == 1 + 4, "each unproven point is named"


def test_nobody_goes_in_during_a_test():
    assert "wrong-phase" in refused(in_test_site(), sign_on("hal", "202", 23))


def test_nobody_goes_in_once_a_test_of_a_point_has_lapsed():
    assert refused(recheck_site(), sign_on("hal", "202", 72)) == {"wrong-phase", "not-verified"}


def test_nobody_goes_in_where_the_plant_grew_a_way_for_energy():
    no = refusal(with_graph(isolated_site(), *SECOND_FEED), sign_on("hal", "202"))
    assert no.codes == {"zone-exposed"}
    assert no.path == ("Second feeder", "Saw drive", "Saw chamber")


def test_who_is_not_named_does_not_sign_on():
    assert refused(isolated_site(), sign_on("pia", "301")) == {"not-named"}


def test_authorisation_is_checked_each_time():
    site = with_person(isolated_site(), "hal", authorisations=())
    assert refused(site, sign_on("hal", "202")) == {"not-authorised"}


def test_nobody_signs_on_before_the_permits_time():
    site = done(SITE, replace(request(), starts_at=at(60)))
    assert refused(isolated_before(site), sign_on("hal", "202")) == {"too-early"}


def isolated_before(site):
    early = isolated_site()
    return replace(early, permits={"P-1": replace(p1(early), starts_at=p1(site).starts_at)})


def test_nobody_signs_on_after_the_permits_time():
    assert refused(isolated_site(), sign_on("hal", "202", 480)) == {"expired"}


def test_someone_signs_on_once():
    site = done(isolated_site(), sign_on("hal", "202"))
    assert refused(site, sign_on("hal", "203", 15)) == {"already-on"}


def test_someone_may_be_signed_on_under_two_permits_with_two_padlocks():
    site = next_door(isolated_site(), crew_on=False)
    site = done(site, sign_on("odo", "201", 40))
    named = replace(site.permits["P-2"], crew_named=("odo",))
    site = replace(site, permits={**site.permits, "P-2": named})
    assert done(site, sign_on("odo", "204", 41, "P-2"))


def test_a_name_on_a_screen_is_not_a_lock():
    no = refusal(isolated_site(), sign_on("hal", " "))
    assert no.codes == {"no-padlock"}
    assert "Main switch, Conveyor switch, Gantry" in no.unmet[0].what


def test_ones_own_locks_on_every_point_do_without_the_box():
    mine = [lock(point, f"21{n}", 14, by="hal") for n, point in enumerate(("Q1", "Q2", "G1"))]
    site = done(isolated_site(), *mine, sign_on("hal", "", 15))
    assert [on.person for on in p1(site).signed_on] == ["hal"]


def test_ones_own_locks_must_hang_on_the_prop_too():
    mine = [lock(point, f"21{n}", 14, by="hal") for n, point in enumerate(("Q1", "Q2"))]
    no = refusal(done(isolated_site(), *mine), sign_on("hal", "", 15))
    assert no.codes == {"no-padlock"}
    assert "Gantry" in no.unmet[0].what


def test_a_plan_without_points_needs_a_padlock_on_the_box_all_the_same():
    site = isolated_site()
    bare = replace(p1(site), plan_lock=(), plan_release=(), plan_order=(), zones=("NEXT",))
    graph = replace(site.graph, links=())
    assert refused(replace(site, graph=graph, permits={"P-1": bare}), sign_on("hal", "")) == {"no-padlock"}


def test_a_padlock_that_hangs_on_a_point_is_not_on_the_box():
    assert refused(isolated_site(), sign_on("odo", "101")) == {"padlock-in-use"}


def test_someone_elses_padlock_is_not_ones_own():
    assert refused(isolated_site(), sign_on("hal", "101")) == {"padlock-of-another", "padlock-in-use"}


def test_going_in_voids_what_was_confirmed_clear():
    site = done(checked_site(), clear("OUT", "NEXT", when=21), sign_on("hal", "202", 22))
    assert p1(site).confirmation("OUT") is None


def test_going_in_next_door_voids_the_same_area_everywhere():
    site = done(next_door(checked_site(), crew_on=False), clear("OUT", "NEXT", when=37))
    site = done(site, sign_on("pia", "302", 38, "P-2"))
    assert (p1(site).confirmation("NEXT"), p1(site).confirmation("OUT") is None) == (None, False)


@pytest.mark.parametrize(
    "said",
    [
        clear("OUT", by="pia", when=37, watching=True),
        clear("OUT", by="ola", when=37, seen_by="pia"),
    ],
    ids=["watches", "told it by radio"],
)
def test_who_goes_in_elsewhere_no_longer_sees_it(said):
    site = done(next_door(checked_site(), crew_on=False), said)
    assert p1(site).confirmation("OUT")
    assert p1(done(site, sign_on("pia", "302", 38, "P-2"))).confirmation("OUT") is None


# ── off ─────────────────────────────────────────────────────────────────────────────────────────────────


def test_signing_off_takes_the_padlock_off_the_box():
    site = done(occupied_site(), sign_off("hal", 23))
    assert [k.padlock for k in p1(site).locks if k.where == BOX and k.removed_at is None] == ["201"]


def test_the_padlock_is_free_again_after_signing_off():
    assert done(occupied_site(), sign_off("hal", 23), sign_on("hal", "202", 24))


def test_signing_off_is_never_refused_to_someone_who_is_on():
    site = settled(occupied_site(), at(481))
    site = with_person(with_graph(site, *SECOND_FEED), "hal", authorisations=(), roles=frozenset())
    assert [on.person for on in p1(done(site, sign_off("hal", 482))).signed_on] == ["odo"]


def test_who_is_not_on_does_not_sign_off():
    assert refused(isolated_site(), sign_off("hal")) == {"not-on"}


# ── machine check ───────────────────────────────────────────────────────────────────────────────────────


def test_a_check_is_made_from_inside():
    assert refused(isolated_site(), check()) == {"not-signed-on"}


def test_a_check_is_made_while_isolated():
    assert refused(locked_site(), check()) == {"wrong-phase", "not-signed-on"}


def test_every_item_of_the_check_is_answered():
    site = done(isolated_site(), sign_on("odo", "201"))
    no = refusal(site, replace(check(), items=check().items[2:]))
    assert no.codes == {"check-incomplete"}
    assert len(no.unmet) == 2


def test_a_defect_is_described():
    site = done(isolated_site(), sign_on("odo", "201"))
    items = tuple(CheckItem(item, Finding.DEFECT, " ") for item, _ in CHECK_ITEMS)
    assert refused(site, replace(check(), items=items)) == {"defect-undescribed"}


def test_a_check_opens_its_defects():
    assert [(d.item, d.what) for _, d in p1(defect_site()).open_defects] == [("cables", "loose")]


def test_an_open_defect_blocks_the_test():
    site = done(defect_site(), sign_off("odo"), sanction())
    no = refusal(site, begin())
    assert no.codes == {"defect-open"}
    assert "Cables, sensors, loose wires: loose" in no.unmet[0].what
    assert "Sig Officer" in no.unmet[0].who


def test_the_crew_inside_mends_a_defect():
    assert p1(done(defect_site(), resolve())).defects[0].state is DefectState.RESOLVED


def test_nobody_mends_from_outside():
    assert refused(done(defect_site(), sign_off("odo")), resolve(when=21)) == {"not-signed-on"}


def test_nothing_is_mended_while_it_is_not_isolated():
    site = done(defect_site(), sign_off("odo"))
    lost = replace(site, permits={"P-1": replace(p1(site), phase=Phase.ISOLATING)})
    assert refused(lost, resolve(when=21)) == {"wrong-phase", "not-signed-on"}


def test_it_is_said_how_a_defect_was_mended():
    assert refused(defect_site(), resolve(how=" ")) == {"says-too-little"}


@pytest.mark.parametrize("number", [1, -1])
def test_a_defect_that_is_not_there_cannot_be_mended(number):
    assert refused(defect_site(), resolve(number)) == {"no-such-defect"}


def test_a_defect_is_settled_once():
    assert refused(done(defect_site(), resolve()), accept_defect(when=18)) == {"no-such-defect"}


def test_an_officer_accepts_a_defect_with_a_reason():
    defect = p1(done(defect_site(), accept_defect())).defects[0]
    assert (defect.state, defect.ended_by, defect.how) == (DefectState.ACCEPTED, "sig", "cosmetic")


def test_only_an_officer_accepts_a_defect():
    assert refused(defect_site(), accept_defect(by="maud")) == {"no-role"}


def test_a_defect_is_accepted_with_a_reason():
    assert refused(defect_site(), accept_defect(why="")) == {"says-too-little"}


def test_an_officer_accepts_a_defect_in_any_phase():
    site = done(defect_site(), sign_off("odo"))
    lost = replace(site, permits={"P-1": replace(p1(site), phase=Phase.RESTORING)})
    assert [type(event) for event in happened(lost, accept_defect(when=22))] == [e.DefectAccepted]


def test_nothing_is_checked_where_there_is_no_permit():
    assert refused(accepted_site(), replace(check(), permit="P-9")) == {"no-such-permit"}
