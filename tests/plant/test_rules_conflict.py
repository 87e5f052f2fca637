"""Why nodes can't be kept live while zones are isolated: by example, and by trying every set of points."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from permits.plant.rules.energy import Graph, Kind, Link, Node
from permits.plant.rules.plan import Conflict, NoPlan, Plan, plan
from tests.plant import exhaustive
from tests.plant.random_plants import chain, demands, layered_plants, plants, zones_of

SUPPLY, ISOLATOR, STORE, CARRIER, ZONE = Kind


def test_a_node_with_nothing_to_lock_after_it_conflicts_with_the_zone():
    graph = chain(
        Node("main", SUPPLY), Node("Q", ISOLATOR), Node("drive", CARRIER), Node("motor", CARRIER),
        Node("saw", ZONE),
    )  # fmt: skip
    path = ("main", "Q", "drive", "motor", "saw")
    assert plan(graph, ["saw"], ["drive"]) == NoPlan(path, (Conflict("drive", "saw"),))
    assert plan(graph, ["saw"], ["Q"]) == NoPlan(path, (Conflict("Q", "saw"),))


def test_a_node_whose_only_feed_must_be_locked_conflicts_with_the_zone():
    graph = Graph.of(
        [Node("main", SUPPLY), Node("Q", ISOLATOR), Node("board", CARRIER), Node("panel", CARRIER),
         Node("saw", ZONE)],
        [Link("main", "Q"), Link("Q", "board"), Link("board", "panel"), Link("board", "saw")],
    )  # fmt: skip
    assert plan(graph, ["saw"], ["panel"]) == NoPlan(
        ("main", "Q", "board", "saw"),
        (Conflict("panel", "saw"),),
    )


def test_the_path_of_a_conflict_leads_through_the_node_where_nothing_can_be_locked_after_it():
    graph = Graph.of(
        [Node("main", SUPPLY), Node("Q", ISOLATOR), Node("board", CARRIER), Node("drive", CARRIER),
         Node("R", ISOLATOR), Node("saw", ZONE)],
        [Link("main", "Q"), Link("Q", "board"), Link("board", "saw"), Link("board", "drive"),
         Link("drive", "saw"), Link("board", "R"), Link("R", "drive")],
    )  # fmt: skip
    assert plan(graph, ["saw"], ["drive"]).path == ("main", "Q", "board", "drive", "saw")
    assert plan(graph, ["saw"], ["R"]).path == ("main", "Q", "board", "R", "drive", "saw")


def test_the_path_of_a_conflict_takes_no_detour_to_a_node_and_back():
    graph = Graph.of(
        [Node("main", SUPPLY), Node("Q", ISOLATOR), Node("board", CARRIER), Node("panel", CARRIER),
         Node("saw", ZONE)],
        [Link("main", "Q"), Link("Q", "board"), Link("board", "panel", both=True), Link("board", "saw")],
    )  # fmt: skip
    assert plan(graph, ["saw"], ["panel"]).path == ("main", "Q", "board", "saw")


def test_a_zone_named_twice_conflicts_once():
    graph = chain(Node("main", SUPPLY), Node("Q", ISOLATOR), Node("drive", CARRIER), Node("saw", ZONE))
    assert plan(graph, ["saw", "saw"], ["drive", "drive"]).conflicts == (Conflict("drive", "saw"),)


def test_a_zone_cannot_be_kept_live_and_isolated():
    graph = chain(Node("main", SUPPLY), Node("Q", ISOLATOR), Node("saw", ZONE))
    assert plan(graph, ["saw"], ["saw"]) == NoPlan(("main", "Q", "saw"), (Conflict("saw", "saw"),))


def test_a_node_that_no_supply_reaches_conflicts_with_every_zone():
    graph = Graph.of(
        [Node("main", SUPPLY), Node("Q", ISOLATOR), Node("saw", ZONE), Node("press", ZONE),
         Node("lamp", CARRIER)],
        [Link("main", "Q"), Link("Q", "saw")],
    )  # fmt: skip
    assert plan(graph, ["press", "saw"], ["lamp"]) == NoPlan(
        ("main", "Q", "saw"), (Conflict("lamp", "press"), Conflict("lamp", "saw"))
    )


def test_zones_that_exclude_a_node_only_together_are_named_together():
    graph = Graph.of(
        [
            Node("main", SUPPLY), Node("A", ISOLATOR), Node("B", ISOLATOR), Node("C", ISOLATOR),
            Node("panel", CARRIER), Node("saw", ZONE), Node("press", ZONE), Node("drill", ZONE),
        ],
        [
            Link("main", "A"), Link("A", "saw"), Link("A", "panel"), Link("main", "B"), Link("B", "press"),
            Link("B", "panel"), Link("main", "C"), Link("C", "drill"),
        ],
    )  # fmt: skip
    for zones, lock in ((["saw", "drill"], ("A", "C")), (["press"], ("B",))):
        answer = plan(graph, zones, ["panel"])
        assert isinstance(answer, Plan)
        assert answer.lock == lock
    answer = plan(graph, ["saw", "drill", "press"], ["main", "panel"])
    assert isinstance(answer, NoPlan)
    assert answer.conflicts == (Conflict("panel", "saw"), Conflict("panel", "press"))
    assert answer.path in {("main", "A", "saw"), ("main", "B", "press")}


def test_an_open_path_is_no_matter_of_keeping_live():
    graph = Graph.of(
        [Node("main", SUPPLY), Node("Q", ISOLATOR), Node("saw", ZONE), Node("lights", SUPPLY)],
        [Link("main", "Q"), Link("Q", "saw"), Link("lights", "saw")],
    )
    assert plan(graph, ["saw"], ["Q"]) == NoPlan(("lights", "saw"))


# ---- against every set of points


@settings(suppress_health_check=[HealthCheck.filter_too_much])  # most plants have no conflict
@given(demands(st.one_of(plants(), layered_plants())))
def test_conflicts_are_what_every_set_of_points_shows(demand):
    graph, keep = demand
    zones = zones_of(graph)
    answer = plan(graph, zones, keep)
    assume(isinstance(answer, NoPlan) and answer.conflicts)

    def excluded(id: str, by: list[str]) -> bool:
        return exhaustive.cheapest(graph, by, [id]) is None

    for id in keep:
        against = [conflict.zone for conflict in answer.conflicts if conflict.keep == id]
        alone = [zone for zone in zones if excluded(id, [zone])]
        if alone:
            assert against == alone
        elif excluded(id, zones):
            assert excluded(id, against)
            assert not any(excluded(id, [zone for zone in against if zone != one]) for one in against)
        else:
            assert against == []


@settings(suppress_health_check=[HealthCheck.filter_too_much])  # most plants have no conflict
@given(demands(st.one_of(plants(), layered_plants())))
def test_the_path_of_a_conflict_leads_to_a_zone_and_crosses_only_locks_the_node_needs(demand):
    graph, keep = demand
    answer = plan(graph, zones_of(graph), keep)
    assume(isinstance(answer, NoPlan) and answer.conflicts)
    path, kept = answer.path, answer.conflicts[0].keep
    zones = [conflict.zone for conflict in answer.conflicts if conflict.keep == kept]
    supplies = exhaustive.kinds(graph, SUPPLY)
    if kept not in exhaustive.spread(graph, supplies):
        sources = supplies | exhaustive.kinds(graph, STORE)
        assert bool(path) == (not exhaustive.spread(graph, sources).isdisjoint(zones))
        return
    assert path[0] in supplies
    assert path[-1] in zones
    assert set(pairwise(path)) <= exhaustive.arcs(graph)
    assert len(set(path)) == len(path)
    crossed = [id for id in path if id in exhaustive.lockable(graph)]
    assert crossed, "else it would be an open path"
    if kept in path:
        assert not set(crossed) & set(path[path.index(kept) + 1 :])
