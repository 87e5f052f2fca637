"""The cheapest isolation nearest the work: by example, by trying every set of points, and against networkx.

The published fact behind it is the max-flow min-cut theorem (Ford and Fulkerson 1956): the least effort of a
plan is the greatest flow of the network. networkx computes that flow with code of its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

import networkx as nx
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from permits.plant.rules import plan as plan_rules
from permits.plant.rules.cut import Cuts, Points, approach
from permits.plant.rules.energy import Graph, Kind, Link, Node
from permits.plant.rules.exposure import witness
from permits.plant.rules.plan import NoPlan, Plan, isolates, plan
from tests.plant import exhaustive
from tests.plant.as_networkx import as_network, nearest_cut
from tests.plant.random_plants import any_efforts, chain, layered_plants, plants, zones_of

SUPPLY, ISOLATOR, STORE, CARRIER, ZONE = Kind


def points(answer: Plan | NoPlan) -> tuple[int, tuple[str, ...], tuple[str, ...]]:
    assert isinstance(answer, Plan), answer
    assert answer.proven_cheapest
    return answer.effort, answer.lock, answer.release


# ---- by example


def test_of_two_equal_isolators_the_one_nearest_the_work_is_locked():
    graph = chain(Node("main", SUPPLY), Node("Q1", ISOLATOR), Node("Q2", ISOLATOR), Node("saw", ZONE))
    assert points(plan(graph, ["saw"])) == (1, ("Q2",), ())


def test_a_cheaper_isolator_further_away_is_preferred():
    graph = chain(
        Node("main", SUPPLY), Node("Q1", ISOLATOR, effort=2), Node("Q2", ISOLATOR, effort=3),
        Node("saw", ZONE),
    )  # fmt: skip
    assert points(plan(graph, ["saw"])) == (2, ("Q1",), ())


def test_an_isolator_that_cannot_be_locked_is_no_choice():
    graph = chain(
        Node("main", SUPPLY), Node("Q1", ISOLATOR, effort=9), Node("Q2", ISOLATOR, lockable=False),
        Node("saw", ZONE),
    )  # fmt: skip
    assert points(plan(graph, ["saw"])) == (9, ("Q1",), ())


def test_two_supplies_that_meet_behind_a_machine_are_both_locked():
    graph = Graph.of(
        [
            Node("F1", SUPPLY), Node("F2", SUPPLY), Node("Q1", ISOLATOR), Node("Q2", ISOLATOR),
            Node("saw", CARRIER), Node("chamber", ZONE),
        ],
        [Link("F1", "Q1"), Link("F2", "Q2"), Link("Q1", "saw"), Link("Q2", "saw"), Link("saw", "chamber")],
    )  # fmt: skip
    assert points(plan(graph, ["chamber"])) == (2, ("Q1", "Q2"), ())


# A UPS feeds the controls, and through their changeover back onto the board that feeds them.
UPS = Graph.of(
    [
        Node("feeder", SUPPLY), Node("ups", SUPPLY), Node("Q1", ISOLATOR), Node("Q2", ISOLATOR),
        Node("board", CARRIER), Node("controls", CARRIER), Node("drive", CARRIER), Node("chamber", ZONE),
    ],
    [
        Link("feeder", "Q1"), Link("Q1", "board"), Link("ups", "controls"),
        Link("board", "Q2", both=True), Link("Q2", "controls", both=True),
        Link("board", "drive"), Link("drive", "chamber"),
    ],
)  # fmt: skip


def test_a_back_feed_from_a_ups_is_locked_as_well():
    assert witness(UPS, "chamber", locked={"Q1"}) == ("ups", "controls", "Q2", "board", "drive", "chamber")
    assert points(plan(UPS, ["chamber"])) == (2, ("Q1", "Q2"), ())


def test_a_cylinder_is_pushed_from_either_side():
    graph = Graph.of(
        [
            Node("air", SUPPLY), Node("V1", ISOLATOR), Node("V2", ISOLATOR),
            Node("a", CARRIER), Node("b", CARRIER), Node("clamp", ZONE),
        ],
        [
            Link("air", "V1"), Link("air", "V2"), Link("V1", "a"), Link("V2", "b"),
            Link("a", "b", both=True), Link("a", "clamp"),
        ],
    )  # fmt: skip
    assert points(plan(graph, ["clamp"])) == (2, ("V1", "V2"), ())


def gantry(*, prop: int, lowering: int, fixed: bool = False) -> Graph:
    """A raised gantry: a prop under it (an isolator on its way down) or lowering it (releasing the store)."""
    return chain(
        Node("gantry", STORE, effort=lowering, releasable=not fixed),
        Node("prop", ISOLATOR, effort=prop),
        Node("bed", ZONE),
    )


def test_propping_a_gantry_competes_with_lowering_it():
    assert points(plan(gantry(prop=1, lowering=2), ["bed"])) == (1, ("prop",), ())
    assert points(plan(gantry(prop=2, lowering=1), ["bed"])) == (1, (), ("gantry",))
    assert points(plan(gantry(prop=1, lowering=1), ["bed"])) == (1, ("prop",), ()), "nearest the work"
    assert points(plan(gantry(prop=2, lowering=1, fixed=True), ["bed"])) == (2, ("prop",), ())


def test_a_released_store_does_not_stop_what_feeds_it():
    graph = chain(Node("main", SUPPLY), Node("Q", ISOLATOR), Node("cap", STORE), Node("saw", ZONE))
    assert points(plan(graph, ["saw"])) == (2, ("Q",), ("cap",))


def test_several_zones_are_isolated_by_one_plan():
    graph = Graph.of(
        [
            Node("main", SUPPLY), Node("Q0", ISOLATOR, effort=3), Node("Q1", ISOLATOR, effort=2),
            Node("Q2", ISOLATOR, effort=2), Node("board", CARRIER), Node("saw", ZONE), Node("press", ZONE),
        ],
        [
            Link("main", "Q0"), Link("Q0", "board"), Link("board", "Q1"), Link("board", "Q2"),
            Link("Q1", "saw"), Link("Q2", "press"),
        ],
    )  # fmt: skip
    assert points(plan(graph, ["saw"])) == (2, ("Q1",), ())
    assert points(plan(graph, ["saw", "press"])) == (3, ("Q0",), ())
    assert plan(graph, ["saw", "saw", "press", "saw"]) == plan(graph, ["saw", "press"])


def test_a_zone_that_nothing_feeds_needs_an_empty_plan():
    graph = Graph.of([Node("Q", ISOLATOR), Node("saw", ZONE), Node("main", SUPPLY)], [Link("Q", "saw")])
    assert plan(graph, ["saw"]) == Plan(effort=0, lock=(), release=(), order=())


def test_what_nothing_isolates_is_refused_with_the_path():
    graph = Graph.of(
        [
            Node("main", SUPPLY), Node("Q", ISOLATOR), Node("lights", SUPPLY),
            Node("S", ISOLATOR, lockable=False), Node("lamp", CARRIER), Node("cabinet", ZONE),
        ],
        [
            Link("main", "Q"), Link("Q", "cabinet"),
            Link("lights", "S"), Link("S", "lamp"), Link("lamp", "cabinet"),
        ],
    )  # fmt: skip
    assert plan(graph, ["cabinet"]) == NoPlan(("lights", "S", "lamp", "cabinet"))


def test_a_store_that_cannot_be_released_is_refused_only_without_a_lock_after_it():
    assert plan(chain(Node("hot", STORE, releasable=False), Node("z", ZONE)), ["z"]) == NoPlan(("hot", "z"))
    assert points(plan(chain(Node("cap", STORE, effort=4), Node("z", ZONE)), ["z"])) == (4, (), ("cap",))


def test_efforts_are_exact_however_large():
    big = 10**30
    graph = Graph.of(
        [
            Node("main", SUPPLY), Node("Q", ISOLATOR, effort=2 * big), Node("board", CARRIER),
            Node("Q1", ISOLATOR, effort=big), Node("Q2", ISOLATOR, effort=big + 1), Node("saw", ZONE),
        ],
        [
            Link("main", "Q"), Link("Q", "board"), Link("board", "Q1"), Link("board", "Q2"),
            Link("Q1", "saw"), Link("Q2", "saw"),
        ],
    )  # fmt: skip
    assert points(plan(graph, ["saw"])) == (2 * big, ("Q",), ())


def test_an_id_that_is_no_zone_is_a_value_error_that_names_it():
    graph = chain(Node("main", SUPPLY), Node("Q", ISOLATOR), Node("saw", ZONE))
    with pytest.raises(ValueError, match="'sow'"):
        plan(graph, ["sow"])
    with pytest.raises(ValueError, match="'Q' is of kind 'isolator'"):
        plan(graph, ["Q"])
    with pytest.raises(ValueError, match="'panel'"):
        plan(graph, ["saw"], ["panel"])


def test_depth_is_no_limit():
    ids = ["main", *(f"Q{at}" for at in range(3_000))]
    nodes = [Node(id, ISOLATOR if at else SUPPLY, effort=2) for at, id in enumerate(ids)]
    links = [*(Link(a, b, both=True) for a, b in pairwise(ids)), Link(ids[-1], "saw")]
    graph = Graph.of([*nodes, Node("saw", ZONE)], links)
    assert points(plan(graph, ["saw"])) == (2, ("Q2999",), ())
    assert points(plan(graph, ["saw"], ["Q1000"])) == (2, ("Q1001",), ())


class Watched(dict):
    """A mapping that notes which keys are looked up and can't be gone through."""

    def __init__(self, whole: Mapping):
        super().__init__(whole)
        self.seen: set[str] = set()

    def __getitem__(self, key):
        self.seen.add(key)
        return super().__getitem__(key)

    def __iter__(self):
        raise AssertionError("the whole plant was gone through")

    keys = values = items = __iter__


@pytest.mark.parametrize("keep", [[], ["ups"], ["controls"]])
def test_only_what_reaches_the_zones_or_the_kept_nodes_is_looked_at(keep):
    elsewhere = [Node(f"far{at}", CARRIER) for at in range(100)]
    graph = Graph.of(
        [*UPS.nodes.values(), *elsewhere],
        [*UPS.links, Link("board", "far0"), *(Link(a.id, b.id) for a, b in pairwise(elsewhere))],
    )
    expected = plan(UPS, ["chamber"], keep)
    watched = {name: Watched(getattr(graph, name)) for name in ("nodes", "feeds", "fed_by")}
    for name, mapping in watched.items():
        object.__setattr__(graph, name, mapping)
    assert plan(graph, ["chamber"], keep) == expected
    assert all(mapping.seen <= set(UPS.nodes) for mapping in watched.values())


# ---- re-proving


def test_a_plan_is_proven_again_against_a_graph_that_has_changed():
    before = chain(Node("main", SUPPLY), Node("Q", ISOLATOR), Node("cap", STORE), Node("saw", ZONE))
    assert isolates(before, ["saw"], ("Q",), ("cap",)) == {}
    fed_again = Graph.of([*before.nodes.values(), Node("F2", SUPPLY)], [*before.links, Link("F2", "cap")])
    assert isolates(fed_again, ["saw"], ("Q",), ("cap",)) == {"saw": ("F2", "cap", "saw")}


@pytest.mark.parametrize(
    ("isolator", "store", "path"),
    [
        (Node("Q", ISOLATOR, lockable=False), Node("cap", STORE), ("main", "Q", "cap", "saw")),
        (Node("Q", CARRIER), Node("cap", STORE), ("main", "Q", "cap", "saw")),
        (Node("Q", ISOLATOR), Node("cap", STORE, releasable=False), ("cap", "saw")),
        (Node("Q2", ISOLATOR), Node("cap", STORE), ("main", "Q2", "cap", "saw")),
    ],
)
def test_a_point_that_can_no_longer_be_held_off_proves_nothing(isolator, store, path):
    now = chain(Node("main", SUPPLY), isolator, store, Node("saw", ZONE))
    assert isolates(now, ["saw"], ("Q",), ("cap",)) == {"saw": path}


def test_a_zone_that_is_gone_cannot_be_proven():
    graph = chain(Node("main", SUPPLY), Node("Q", ISOLATOR), Node("saw", ZONE))
    assert isolates(graph, ["press", "saw"], ("Q",), ()) == {"press": ("press",)}


def test_a_plan_that_does_not_hold_is_never_handed_out(monkeypatch):
    graph = chain(Node("main", SUPPLY), Node("Q", ISOLATOR), Node("saw", ZONE))
    monkeypatch.setattr(plan_rules, "_nearest", lambda graph, before: Points(frozenset(), frozenset()))
    with pytest.raises(AssertionError, match="does not hold"):
        plan(graph, ["saw"])


# ---- against every set of points


def check_open_path(graph: Graph, zones: list[str], path: tuple[str, ...]) -> None:
    """A path from a source that nothing ends to a zone, on which nothing can be locked."""
    stores = exhaustive.kinds(graph, STORE) - exhaustive.releasable(graph)
    assert path[0] in exhaustive.kinds(graph, SUPPLY) | stores
    assert path[-1] in zones
    assert set(pairwise(path)) <= exhaustive.arcs(graph)
    assert not set(path) & exhaustive.lockable(graph)


@settings(max_examples=300)
@given(st.one_of(plants(), layered_plants()))
def test_the_plan_is_the_cheapest_and_nearest_of_all_sets_of_points(graph):
    zones = zones_of(graph)
    answer = plan(graph, zones)
    best = exhaustive.cheapest(graph, zones)
    if best is None:
        assert isinstance(answer, NoPlan)
        assert not answer.conflicts
        check_open_path(graph, zones, answer.path)
        return
    effort, plans = best
    lock, release = exhaustive.nearest(graph, zones, plans)
    assert points(answer) == (effort, tuple(sorted(lock)), tuple(sorted(release)))


# ---- against networkx


@settings(max_examples=300)
@given(st.one_of(plants(24, 3, any_efforts), layered_plants(4, 3, any_efforts)))
def test_the_plan_is_the_minimum_cut_that_networkx_finds(graph):
    zones = zones_of(graph)
    answer = plan(graph, zones)
    try:
        effort, lock, release = nearest_cut(as_network(graph, zones))
    except nx.NetworkXUnbounded:
        assert isinstance(answer, NoPlan)
        check_open_path(graph, zones, answer.path)
    else:
        assert points(answer) == (effort, tuple(sorted(lock)), tuple(sorted(release)))


@given(layered_plants(4, 3), st.data())
def test_a_cut_that_leaves_nodes_live_is_the_one_that_networkx_finds(graph, data):
    """Each such node is fed without limit by the source; it makes no difference when that was demanded."""
    zones = zones_of(graph)
    before = approach(graph, zones)
    assume(before.open_path is None)
    free = [id for id in graph.nodes if id not in before.onward and id not in before.gates]
    first, later = (data.draw(st.frozensets(st.sampled_from(free), max_size=2)) for _ in range(2))
    cuts = Cuts(graph, before, lambda node: node.effort)
    for id in sorted(first):
        cuts.leave_live(id)
    cuts.least()
    more = cuts.copy()
    for id in sorted(later):
        more.leave_live(id)
    for these, live in ((more, first | later), (cuts, first)):
        network = as_network(graph, zones)
        network.add_edges_from(("SOURCE", ("far", id)) for id in live)
        effort, lock, release = nearest_cut(network)
        assert these.least() == effort
        assert these.nearest() == Points(frozenset(lock), frozenset(release))
