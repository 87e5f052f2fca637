"""The last line of defence by itself: whatever a command's own conditions found, nobody inside is reached."""

from dataclasses import replace

import pytest

from permits.plant.rules.energy import Kind, Link, Node, Release
from permits.work.rules import occupying, restoring
from permits.work.rules.decide import decide, guard_the_invariant
from permits.work.rules.reaching import made_worse, opened, protects_less, reached_crew, recharged
from permits.work.rules.refusal import Refused
from permits.work.rules.words import Phase
from tests.work.small_plant import (
    SECOND_FEED,
    SITE,
    accepted_site,
    clear,
    done,
    in_test_site,
    isolated_site,
    lock,
    next_door,
    occupied_site,
    p1,
    powered_site,
    refused,
    release,
    remove,
    sign_off,
    sign_on,
    with_graph,
    with_node,
)


def without(site, *points: str, permit: str = "P-1"):
    """The site as if the permit's locks and releases at these points had gone, by whatever way."""
    p = site.permits[permit]
    bare = replace(
        p,
        locks=tuple(k for k in p.locks if k.where not in points),
        releases=tuple(r for r in p.releases if r.point not in points),
    )
    return replace(site, permits={**site.permits, permit: bare})


def guarded(before, after) -> set[str]:
    try:
        guard_the_invariant(before, after)
    except Refused as refused:
        return refused.codes
    return set()


# ── the invariant ───────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("point", ["Q1", "Q2", "C1", "G1"])
def test_no_lock_and_no_release_goes_while_someone_would_be_reached(point):
    site = occupied_site()
    assert guarded(site, without(site, point)) == {"exposes-crew"}


def test_everyone_who_would_be_reached_is_named_with_the_path():
    site = occupied_site()
    with pytest.raises(Refused) as refused:
        guard_the_invariant(site, without(site, "G1"))
    assert [unmet.path for unmet in refused.value.unmet] == [
        ("Gantry", "Saw chamber", "Odo Holder"),
        ("Gantry", "Saw chamber", "Hal Helper"),
    ]


def test_another_permits_lock_protects_nobody_of_this_one():
    site = occupied_site(SITE)
    both = next_door(site, crew_on=False)
    assert guarded(both, without(both, "Q2")) == {"exposes-crew"}


def test_with_nobody_inside_locks_may_go():
    site = isolated_site()
    assert guarded(site, without(site, "Q1", "Q2")) == set()


def test_nobody_gets_into_a_zone_that_energy_reaches():
    site = with_graph(isolated_site(), *SECOND_FEED)
    inside = replace(site, permits={"P-1": replace(p1(site), crew=p1(occupied_site()).crew)})
    assert guarded(site, inside) == {"exposes-crew"}


def test_what_the_plant_broke_does_not_stop_who_comes_out():
    site = with_graph(occupied_site(), *SECOND_FEED)
    assert decide(site, sign_off("hal", 30))


def test_what_the_plant_broke_does_not_stop_a_lock_even_when_energy_then_takes_another_way():
    """Two new ways in: a lock on the shorter one changes the witness path, and is still good."""
    site = with_graph(
        occupied_site(),
        Node("F3", Kind.SUPPLY, "Second feeder"),
        Link("F3", "DRV"),
        Link("F3", "CON"),
    )
    site = replace(site, permits={"P-1": replace(p1(site), phase=Phase.ISOLATING)})
    assert decide(site, lock("Q1", "211", 30, by="hal"))


def test_what_the_plant_broke_is_not_made_worse():
    site = with_graph(occupied_site(), *SECOND_FEED)
    assert guarded(site, without(site, "Q2")) == {"exposes-crew"}


# ── what changed ────────────────────────────────────────────────────────────────────────────────────────


def test_a_permit_with_one_lock_less_is_worse():
    site = isolated_site()
    assert [p.id for p in made_worse(site, without(site, "Q1"))] == ["P-1"]


def test_a_permit_with_someone_out_is_not_worse():
    site = occupied_site()
    assert list(made_worse(site, done(site, sign_off("hal", 30)))) == []


def test_a_point_that_another_permit_still_holds_protects_as_before():
    site = next_door(isolated_site(), crew_on=False)
    assert not protects_less(site, without(site, "Q2"))


def test_a_point_that_nobody_holds_any_more_protects_less():
    site = isolated_site()
    assert protects_less(site, without(site, "Q2"))


# ── stores that fill again ──────────────────────────────────────────────────────────────────────────────


def test_a_store_behind_a_freed_switch_fills_again():
    site = in_test_site()
    assert recharged(without(site, "Q1"), p1(without(site, "Q1"))) == ("C1",)


def test_what_a_prop_holds_does_not_fill_again():
    site = without(in_test_site(with_graph(SITE, Link("DRV", "G1"))), "Q1")
    assert "G1" not in recharged(site, p1(site))


def test_a_store_that_fills_another_fills_it_too():
    chain = with_graph(
        SITE,
        Node("H1", Kind.STORE, "Accumulator", sequence=35, machine="CUT", release=Release("bleed")),
        Link("C1", "H1"),
        Link("H1", "SAW"),
    )
    site = without(in_test_site_with_accumulator(chain), "Q1")
    assert recharged(site, p1(site)) == ("C1", "H1")


def in_test_site_with_accumulator(plant):
    """Both stores released by hand in the state; only the switch's lock matters here."""
    site = in_test_site()
    p = p1(site)
    more = replace(p.releases[0], point="H1")
    order = (*p.plan_order[:4], ("release", "H1"), *p.plan_order[4:])
    p = replace(p, releases=(*p.releases, more), plan_release=(*p.plan_release, "H1"), plan_order=order)
    return replace(site, graph=plant.graph, permits={"P-1": p})


def test_opening_points_in_thought_changes_nothing():
    site = in_test_site()
    assert opened(site, p1(site), frozenset({"Q1"})).locked == {"Q2", "G1"}
    assert site.locked == {"Q1", "Q2", "G1"}


def test_nobody_signed_on_means_nobody_reached():
    site = without(isolated_site(), "Q1", "Q2", "C1", "G1")
    assert list(reached_crew(site, p1(site))) == []


def test_a_lock_on_what_is_no_isolator_any_more_protects_nobody():
    site = with_node(occupied_site(), "Q1", lockable=False)
    assert [unmet.code for unmet in reached_crew(site, p1(site))] == ["exposes-crew"] * 4


# ── and with the commands ───────────────────────────────────────────────────────────────────────────────


def test_freeing_for_a_test_leaves_the_neighbours_crew_behind_its_own_lock():
    site = next_door(done(in_test_site(), remove("Q1", "Q2"), clear("OUT", when=24)), 30)
    assert site.permits["P-2"].signed_on
    assert list(reached_crew(site, site.permits["P-2"])) == []


def test_under_power_the_neighbour_is_as_safe():
    site = next_door(powered_site(), 30)
    assert (p1(site).phase, site.permits["P-2"].phase) == (Phase.ISOLATING, Phase.ISOLATED)


def test_the_invariant_holds_even_where_a_commands_own_conditions_miss_it(monkeypatch):
    """With the conditions of taking locks off switched off, the last line of defence still refuses."""
    monkeypatch.setattr(restoring, "against_removing", lambda site, p, ask: iter(()))
    assert refused(occupied_site(), remove("Q1", when=30)) == {"exposes-crew"}


def test_nobody_gets_in_even_where_the_conditions_of_signing_on_miss_it(monkeypatch):
    monkeypatch.setattr(occupying, "against_sign_on", lambda site, p, ask: iter(()))
    freed = done(in_test_site(), remove("Q1", "Q2"))
    assert refused(freed, sign_on("hal", "202", 24)) == {"exposes-crew"}


def test_stores_that_fill_each_other_stay_released_while_a_lock_elsewhere_comes_off():
    ring = with_graph(
        SITE,
        Node("H1", Kind.STORE, "Second bus", sequence=35, machine="CUT", release=Release("short it")),
        Link("C1", "H1", both=True),
        Link("H1", "SAW"),
    )
    ring = replace(ring, procedures={"CUT": replace(SITE.procedures["CUT"], release=("C1", "G1", "H1"))})
    site = done(accepted_site(ring), lock("Q1", "101"), lock("Q2", "102", 5), release("C1", 6))
    assert p1(done(site, remove("Q2", when=7))).released == {"C1"}
