"""The next-cheapest plans: against every set of points on random plants, and by hand on small ones."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from permits.plant.rules import dividing
from permits.plant.rules.alternatives import alternatives, as_plan, plan_with
from permits.plant.rules.cut import approach, choices
from permits.plant.rules.energy import Graph, Kind, Link, Node
from permits.plant.rules.plan import NoPlan, Plan, isolates, plan
from permits.plant.rules.stopping import stopped_by
from tests.factories_plant import quillfen
from tests.plant.exhaustive import every_subset, isolated, kept_live, lockable, releasable
from tests.plant.random_plants import (
    chain,
    layered_plants,
    others_of,
    plants,
    staged_plants,
    subsets,
    zones_of,
)


def every_plan(graph, zones, keep=(), pin=frozenset(), forbid=frozenset()):
    """Sorted points of every plan in its order, by trying all sets: none but a pinned point is needless."""

    def holds(points):
        lock, release = points & lockable(graph), points & releasable(graph)
        return isolated(graph, zones, lock, release) and kept_live(graph, keep, lock)

    sets = [pin | more for more in every_subset((lockable(graph) | releasable(graph)) - pin - forbid)]
    holding = {points for points in sets if holds(points)}
    least = [points for points in holding if not any(points - {one} in holding for one in points - pin)]
    return sorted((sum(graph[id].effort for id in points), len(points), sorted(points)) for points in least)


def as_told(found):
    return [
        (one.plan.effort, len(one.plan.lock + one.plan.release), sorted(one.plan.lock + one.plan.release))
        for one in found
    ]


# ---- against every set


@settings(deadline=None, max_examples=300)
@given(graph=plants(most_nodes=9), data=st.data())
def test_all_plans_are_found_in_order_on_random_plants(graph, data):
    zones = zones_of(graph)
    points = sorted(lockable(graph) | releasable(graph))
    pin = data.draw(subsets(points))
    forbid = data.draw(subsets(points)) - pin
    keep = data.draw(subsets(others_of(graph))) if data.draw(st.booleans()) else frozenset()
    found = alternatives(graph, zones, keep, pin=pin, forbid=forbid, most=10_000)
    assert as_told(found) == every_plan(graph, zones, keep, pin, forbid)


@settings(deadline=None, max_examples=60)
@given(graph=layered_plants(layers=3, width=2))
def test_all_plans_are_found_in_order_where_there_are_many(graph):
    zones = zones_of(graph)
    assert as_told(alternatives(graph, zones, most=10_000)) == every_plan(graph, zones)


@settings(deadline=None, max_examples=40)
@given(graph=staged_plants(stages=2, width=2, last=3))
def test_all_plans_are_found_in_order_with_a_node_kept_live(graph):
    zones = zones_of(graph)
    assert as_told(alternatives(graph, zones, ["kept"], most=10_000)) == every_plan(graph, zones, ["kept"])


@settings(deadline=None, max_examples=100)
@given(graph=plants(most_nodes=9), data=st.data())
def test_the_plan_with_pins_is_one_of_the_cheapest(graph, data):
    zones = zones_of(graph)
    points = sorted(lockable(graph) | releasable(graph))
    pin = data.draw(subsets(points))
    forbid = data.draw(subsets(points)) - pin
    found = plan_with(graph, zones, pin=pin, forbid=forbid)
    all_plans = every_plan(graph, zones, (), pin, forbid)
    if isinstance(found, NoPlan):
        assert not all_plans
    else:
        points = sorted(found.lock + found.release)
        assert (found.effort, len(points), points) in all_plans
        assert found.effort == all_plans[0][0]


# ---- by hand


def node(id, kind=Kind.ISOLATOR, **more):
    return Node(id, kind, **more)


def two_machines():
    """A board that feeds two machines: MAIN before both, QA and QB before one each, SPARE beside QA."""
    return Graph.of(
        [
            node("GRID", Kind.SUPPLY),
            node("MAIN"),
            node("QA", effort=2, machine="A"),
            node("QA2", effort=3, machine="A"),
            node("QB", machine="B"),
            node("ZA", Kind.ZONE, machine="A"),
            node("ZB", Kind.ZONE, machine="B"),
        ],
        [Link("GRID", "MAIN"), Link("MAIN", "QA"), Link("QA", "QA2"), Link("QA2", "ZA"), Link("MAIN", "QB"),
         Link("QB", "ZB")],
    )  # fmt: skip


def test_each_says_what_it_stops_elsewhere():
    found = alternatives(two_machines(), ["ZA"], besides=["A"])
    assert [one.plan.lock for one in found] == [("MAIN",), ("QA",), ("QA2",)]
    assert [one.stops.machines for one in found] == [("B",), (), ()]
    assert [one.stops.zones for one in found] == [("ZB",), (), ()]
    every = alternatives(two_machines(), ["ZA"])[0]
    whole = stopped_by(two_machines(), ["MAIN"], [])
    assert every.stops.machines == whole.machines
    assert (*every.stops.zones, "ZA") == ("ZB", "ZA")


def test_a_pinned_point_is_in_each_and_a_forbidden_one_in_none():
    assert [one.plan.lock for one in alternatives(two_machines(), ["ZA"], forbid=["MAIN"])] == [
        ("QA",), ("QA2",),
    ]  # fmt: skip
    pinned = alternatives(two_machines(), ["ZA"], pin=["QB"])
    assert [one.plan.lock for one in pinned] == [("MAIN", "QB"), ("QA", "QB"), ("QA2", "QB")]
    assert [step.point for step in pinned[0].plan.order] == [None, "MAIN", "QB", "MAIN", "QB"]
    enough = alternatives(two_machines(), ["ZA"], pin=["QA2"])
    assert [one.plan.lock for one in enough] == [("QA2",)]


def test_no_more_than_asked_for():
    assert len(alternatives(two_machines(), ["ZA"], most=2)) == 2


def test_a_search_that_is_cut_short_still_has_the_first_ones_in_order(monkeypatch):
    graph = quillfen().graph
    zones = [zone.id for zone in graph.zones_of("C1")]
    every = alternatives(graph, zones, most=1000)
    assert len(choices(graph, approach(graph, zones))) > dividing.EXACT_POINTS
    monkeypatch.setattr(dividing, "MOST_WORK", 30 * len(graph.nodes))
    some = alternatives(graph, zones, most=1000)
    assert 0 < len(some) < len(every)
    assert some == every[: len(some)]
    monkeypatch.setattr(dividing, "EXACT_POINTS", 20)
    assert alternatives(graph, zones, most=1000) == every


def test_a_pinned_store_still_passes_energy_on():
    graph = chain(node("FEED", Kind.SUPPLY), node("Q"), node("TANK", Kind.STORE), node("Z", Kind.ZONE))
    assert [one.plan for one in alternatives(graph, ["Z"], pin=["TANK"])] == [plan(graph, ["Z"])]


def test_nothing_isolates_and_a_zone_that_nothing_feeds():
    graph = chain(node("FEED", Kind.SUPPLY), node("Q", lockable=False), node("Z", Kind.ZONE))
    assert alternatives(graph, ["Z"]) == []
    (empty,) = alternatives(Graph.of([node("Z", Kind.ZONE)], []), ["Z"])
    assert (empty.plan.effort, empty.plan.lock, empty.plan.order) == (0, (), ())


def test_a_path_is_given_where_what_is_forbidden_leaves_no_plan():
    found = plan_with(two_machines(), ["ZA"], forbid=["MAIN", "QA", "QA2"])
    assert found == NoPlan(("GRID", "MAIN", "QA", "QA2", "ZA"))
    assert alternatives(two_machines(), ["ZA"], forbid=["MAIN", "QA", "QA2"]) == []


def test_a_pinned_isolator_is_dead_itself_and_so_never_kept_live():
    assert alternatives(two_machines(), ["ZA"], ["QB"], pin=["QB"]) == []
    assert isinstance(plan_with(two_machines(), ["ZA"], ["ZB"], pin=["QB"]), NoPlan)


@pytest.mark.parametrize(
    ("pin", "forbid", "words"),
    [
        (["GRID"], [], "'GRID' can't be pinned"),
        (["NONE"], [], "'NONE' can't be pinned"),
        (["QA"], ["QA"], "'QA' is pinned and forbidden"),
        ([], ["NONE"], "no node has the id 'NONE'"),
    ],
)
def test_what_cannot_be_pinned_or_forbidden_is_said(pin, forbid, words):
    with pytest.raises(ValueError, match=words):
        alternatives(two_machines(), ["ZA"], pin=pin, forbid=forbid)
    with pytest.raises(ValueError, match=words):
        plan_with(two_machines(), ["ZA"], pin=pin, forbid=forbid)


def test_points_that_someone_chose_have_their_order_and_effort():
    chosen = as_plan(two_machines(), ["QA2", "QB"], [])
    assert (chosen.effort, chosen.lock, chosen.release) == (4, ("QA2", "QB"), ())
    assert [step.do for step in chosen.order] == ["stop", "lock", "lock", "verify", "verify"]


def test_the_demo_plant_has_its_plan_among_its_cheapest():
    graph = quillfen().graph
    zones = [zone.id for zone in graph.zones_of("C1")]
    first = plan(graph, zones)
    assert isinstance(first, Plan)
    found = alternatives(graph, zones, most=6)
    assert first.effort == found[0].plan.effort
    assert [one.plan.effort for one in found] == sorted(one.plan.effort for one in found)
    assert any(one.plan.lock == first.lock and one.plan.release == first.release for one in found)
    assert not any(isolates(graph, zones, one.plan.lock, one.plan.release) for one in found)
