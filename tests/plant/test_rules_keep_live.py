"""Isolating zones while given nodes stay energised: by example, and by trying every set of points."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from permits.plant.rules import keep_live
from permits.plant.rules.cut import approach, choices
from permits.plant.rules.energy import Graph, Kind, Link, Node
from permits.plant.rules.plan import NoPlan, Plan, plan
from tests.plant import exhaustive
from tests.plant.integer_program import least_effort
from tests.plant.random_plants import (
    chain,
    demands,
    layered_plants,
    plants,
    staged_plants,
    subsets,
    zones_of,
)

SUPPLY, ISOLATOR, STORE, CARRIER, ZONE = Kind

# main ── Q0 ── board ── Q1 ── drive ── saw (zone)
#                  └──── Q2 ── controls ── Q3 ── saw
BOARD = Graph.of(
    [
        Node("main", SUPPLY), Node("Q0", ISOLATOR), Node("Q1", ISOLATOR), Node("Q2", ISOLATOR),
        Node("Q3", ISOLATOR), Node("board", CARRIER), Node("drive", CARRIER), Node("controls", CARRIER),
        Node("saw", ZONE),
    ],
    [
        Link("main", "Q0"), Link("Q0", "board"), Link("board", "Q1"), Link("Q1", "drive"),
        Link("drive", "saw"), Link("board", "Q2"), Link("Q2", "controls"), Link("controls", "Q3"),
        Link("Q3", "saw"),
    ],
)  # fmt: skip


def locks(answer: Plan | NoPlan) -> tuple[str, ...]:
    assert isinstance(answer, Plan), answer
    assert answer.proven_cheapest
    return answer.lock


def test_what_is_kept_live_moves_the_locks_behind_it():
    assert locks(plan(BOARD, ["saw"])) == ("Q0",)
    assert locks(plan(BOARD, ["saw"], ["controls"])) == ("Q1", "Q3")
    assert locks(plan(BOARD, ["saw"], ["board"])) == ("Q1", "Q2"), "the smaller ids of two with equal effort"


def test_a_kept_isolator_is_live_and_not_locked_itself():
    assert locks(plan(BOARD, ["saw"], ["Q2"])) == ("Q1", "Q3")
    assert locks(plan(BOARD, ["saw"], ["Q0"])) == ("Q1", "Q2")


def test_a_supply_is_live_by_itself():
    assert locks(plan(BOARD, ["saw"], ["main"])) == ("Q0",)


def test_with_anything_kept_live_ties_go_to_the_smaller_ids_and_not_to_the_nearest():
    graph = chain(Node("main", SUPPLY), Node("Q1", ISOLATOR), Node("Q2", ISOLATOR), Node("saw", ZONE))
    assert locks(plan(graph, ["saw"])) == ("Q2",)
    assert locks(plan(graph, ["saw"], ["main"])) == ("Q1",)


def test_ties_go_by_ids_also_where_only_a_store_feeds_the_zone():
    hot = Node("hot", STORE, releasable=False)
    graph = chain(hot, Node("Q1", ISOLATOR), Node("Q2", ISOLATOR), Node("saw", ZONE))
    with_main = Graph.of([*graph.nodes.values(), Node("main", SUPPLY)], graph.links)
    assert locks(plan(with_main, ["saw"])) == ("Q2",)
    assert locks(plan(with_main, ["saw"], ["main"])) == ("Q1",)


def test_with_anything_kept_live_fewer_points_win():
    graph = Graph.of(
        [
            Node("main", SUPPLY), Node("Q", ISOLATOR, effort=2), Node("board", CARRIER),
            Node("A", ISOLATOR), Node("B", ISOLATOR), Node("saw", ZONE),
        ],
        [Link("main", "Q"), Link("Q", "board"), Link("board", "A"), Link("board", "B"), Link("A", "saw"),
         Link("B", "saw")],
    )  # fmt: skip
    assert locks(plan(graph, ["saw"])) == ("A", "B")
    assert locks(plan(graph, ["saw"], ["main"])) == ("Q",)


def test_a_store_keeps_nothing_live():
    graph = Graph.of(
        [Node("main", SUPPLY), Node("Q", ISOLATOR), Node("cell", STORE), Node("clock", CARRIER),
         Node("P", ISOLATOR, effort=5), Node("saw", ZONE)],
        [Link("main", "Q"), Link("Q", "clock"), Link("cell", "clock"), Link("clock", "P"), Link("P", "saw")],
    )  # fmt: skip
    assert plan(graph, ["saw"]).release == ("cell",)
    assert locks(plan(graph, ["saw"], ["clock"])) == ("P",)


def test_the_way_that_costs_least_overall_is_left_open():
    """Two ways feed the controls; the shorter one opens more ways to the saw."""
    graph = Graph.of(
        [
            Node("main", SUPPLY), Node("A", ISOLATOR), Node("B", ISOLATOR), Node("b", CARRIER),
            Node("C", ISOLATOR), Node("a", CARRIER), Node("controls", CARRIER),
            *(Node(f"S{at}", ISOLATOR) for at in range(4)), Node("saw", ZONE),
        ],
        [
            Link("main", "A"), Link("A", "a"), Link("a", "controls"),
            Link("main", "B"), Link("B", "b"), Link("b", "C"), Link("C", "controls"),
            *(Link("a", f"S{at}") for at in range(3)), Link("b", "S3"),
            *(Link(f"S{at}", "saw") for at in range(4)),
        ],
    )  # fmt: skip
    answer = plan(graph, ["saw"], ["controls"])
    assert locks(answer) == ("A", "S3")


def test_a_way_past_the_last_isolator_before_the_zone_is_never_left_open():
    """G feeds the lamp as well as the saw; so A or B is left open, with what can be locked behind it."""
    nodes = [Node("main", SUPPLY), Node("lamp", CARRIER), Node("G", ISOLATOR), Node("saw", ZONE)]
    links = [Link("main", "G"), Link("G", "lamp"), Link("G", "saw")]
    for way, effort in (("A", 3), ("B", 2)):
        nodes += [Node(way, ISOLATOR), Node(f"{way}1", CARRIER), Node(f"{way}2", ISOLATOR, effort=effort)]
        links += [Link("main", way), Link(way, f"{way}1"), Link(f"{way}1", "lamp")]
        links += [Link(f"{way}1", f"{way}2"), Link(f"{way}2", "saw")]
    graph = Graph.of(nodes, links)
    assert locks(plan(graph, ["saw"])) == ("A", "B", "G")
    assert locks(plan(graph, ["saw"], ["lamp"])) == ("A", "B2", "G")


# ---- against every set of points


@settings(max_examples=300)
@given(demands(st.one_of(plants(), layered_plants(), staged_plants())))
def test_the_plan_is_the_first_of_all_cheapest_sets_that_keep_the_nodes_live(demand):
    graph, keep = demand
    zones = zones_of(graph)
    answer = plan(graph, zones, keep)
    best = exhaustive.cheapest(graph, zones, keep)
    if best is None:
        assert isinstance(answer, NoPlan)
        assert bool(answer.conflicts) == (exhaustive.cheapest(graph, zones) is not None)
        return
    effort, plans = best
    lock, release = exhaustive.first_by_ids(plans)
    assert isinstance(answer, Plan)
    assert answer.effort == effort
    assert (answer.lock, answer.release) == (tuple(sorted(lock)), tuple(sorted(release)))
    assert answer.proven_cheapest


@settings(max_examples=50)
@given(demands(staged_plants(stages=12, width=2, last=14, fewest=9)))
def test_the_effort_is_the_one_an_integer_program_finds(demand):
    """Against scipy's `milp`, with up to 40 points to choose from: as many as are always proven."""
    graph, keep = demand
    zones = zones_of(graph)
    answer = plan(graph, zones, keep)
    least = least_effort(graph, zones, keep)
    if least is None:
        assert isinstance(answer, NoPlan)
    else:
        assert isinstance(answer, Plan)
        assert answer.effort == least


# ---- more points than are searched to the end


@given(demands(staged_plants(6, 3, 6)), st.integers(0, 200))
def test_a_search_that_is_cut_short_gives_a_plan_that_holds_and_says_so(demand, work):
    """The full search is the floor; what is said to be proven is the same plan."""
    graph, keep = demand
    zones = zones_of(graph)
    best = plan(graph, zones, keep)
    assume(isinstance(best, Plan))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(keep_live, "EXACT_POINTS", 0)
        patch.setattr(keep_live, "MOST_WORK", work)
        found = plan(graph, zones, keep)
    assert isinstance(found, Plan)
    assert exhaustive.isolated(graph, zones, found.lock, found.release)
    assert exhaustive.kept_live(graph, keep, found.lock)
    assert found.effort >= best.effort
    assert found == best if found.proven_cheapest else True


@given(st.lists(st.integers(1, 3), min_size=1, max_size=5), st.data())
def test_weights_compare_as_effort_then_points_then_sorted_ids(efforts, data):
    nodes = [Node(id, ISOLATOR, effort=effort) for id, effort in zip("abcde", efforts, strict=False)]
    weigh = keep_live._weigher([node.id for node in nodes])
    one, other = (data.draw(st.frozensets(st.sampled_from(nodes))) for _ in range(2))

    def rank(chosen: frozenset[Node]) -> tuple[int, int, list[str]]:
        return sum(node.effort for node in chosen), len(chosen), sorted(node.id for node in chosen)

    assert (sum(map(weigh, one)) < sum(map(weigh, other))) == (rank(one) < rank(other))


@given(demands(st.one_of(plants(), staged_plants(5))), st.data())
def test_what_every_way_to_a_node_passes_is_what_it_dies_without(demand, data):
    """Against the definition: a node is on every way when taking it out leaves no way."""
    graph, (id, *_) = demand
    shut = data.draw(subsets(sorted(exhaustive.kinds(graph, ISOLATOR))))
    supplies = exhaustive.kinds(graph, SUPPLY)
    on_every_way = keep_live._on_every_way(graph, id, shut)
    if id in shut or id not in exhaustive.spread(graph, supplies, shut):
        assert on_every_way is None
        return
    without = {one: exhaustive.spread(graph, supplies - {one}, shut | {one}) for one in graph.nodes}
    expected = {one for one, reached in without.items() if one == id or id not in reached}
    if id in supplies:
        expected = {id}
    assert on_every_way is not None
    assert sorted(on_every_way) == sorted(expected)


def test_the_search_stays_small():
    """Twelve stages with two ways each, and sixteen last isolators: 4,096 ways to feed one node."""
    nodes = [Node("main", SUPPLY), Node("z", ZONE)]
    nodes += [Node(f"last{at}", ISOLATOR, effort=1 + at % 3) for at in range(16)]
    links = [Link(f"last{at}", "z") for at in range(16)]
    before = "main"
    for stage in range(12):
        nodes.append(Node(f"after{stage}", CARRIER))
        for way in (0, 1):
            isolator, behind = f"Q{stage}.{way}", f"c{stage}.{way}"
            nodes += [Node(isolator, ISOLATOR, effort=1 + (stage + way) % 3), Node(behind, CARRIER)]
            links += [Link(before, isolator), Link(isolator, behind), Link(behind, f"after{stage}")]
            links += [Link(behind, f"last{(5 * stage + 7 * way + at * at) % 16}") for at in (1, 2)]
        before = f"after{stage}"
    graph = Graph.of(nodes, links)
    points = choices(graph, approach(graph, ["z"]))
    search = keep_live._Search(graph, approach(graph, ["z"]), [before], points)
    best, proven = search.run(None)
    assert (len(points), proven) == (40, True)
    assert best.effort(graph) == least_effort(graph, ["z"], [before])
    assert search.trials < 500
