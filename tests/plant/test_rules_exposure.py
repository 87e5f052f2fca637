"""Does energy reach a zone, and by which path: by example, and against networkx's shortest paths."""

from __future__ import annotations

from itertools import pairwise

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from permits.plant.rules.energy import Graph, Kind, Link, Node
from permits.plant.rules.exposure import downstream, exposed, fed, live, witness
from tests.plant import exhaustive
from tests.plant.random_plants import others_of, plants, subsets, zones_of

SUPPLY, ISOLATOR, STORE, CARRIER, ZONE = Kind

# Two feeders meet behind a saw; its capacitor stands beside the blade.
#   F1 ── Q1 ── board ── saw ── chamber (zone)
#   F2 ── Q2 ──────────── saw;   cap ── saw;   board ── Q3 ── outfeed (zone)
SAW = Graph.of(
    [
        Node("F1", SUPPLY), Node("F2", SUPPLY), Node("cap", STORE),
        Node("Q1", ISOLATOR), Node("Q2", ISOLATOR), Node("Q3", ISOLATOR),
        Node("board", CARRIER), Node("saw", CARRIER), Node("chamber", ZONE), Node("outfeed", ZONE),
    ],
    [
        Link("F1", "Q1"), Link("Q1", "board"), Link("board", "saw", both=True), Link("saw", "chamber"),
        Link("F2", "Q2"), Link("Q2", "saw"), Link("cap", "saw"), Link("board", "Q3"), Link("Q3", "outfeed"),
    ],
)  # fmt: skip


@pytest.mark.parametrize("links", [SAW.links, SAW.links[::-1]])
def test_a_zone_is_exposed_by_its_nearest_source_in_whatever_order_the_links_are(links):
    saw = Graph(SAW.nodes, links)
    assert witness(saw, "chamber") == ("cap", "saw", "chamber")
    assert witness(saw, "chamber", released={"cap"}) == ("F2", "Q2", "saw", "chamber")
    assert witness(saw, "chamber", released={"cap"}, locked={"Q2"}) == ("F1", "Q1", "board", "saw", "chamber")


def test_a_zone_is_proven_when_no_source_is_left():
    assert witness(SAW, "chamber", released={"cap"}, locked={"Q1", "Q2"}) is None
    assert exposed(SAW, ["chamber", "outfeed"], released={"cap"}, locked={"Q1", "Q2"}) == {}


def test_a_second_feed_comes_back_through_the_board_that_it_feeds():
    path = ("F2", "Q2", "saw", "board", "Q3", "outfeed")
    assert exposed(SAW, ["chamber", "outfeed"], released={"cap"}, locked={"Q1"}) == {
        "chamber": ("F2", "Q2", "saw", "chamber"),
        "outfeed": path,
    }


def test_a_released_store_still_passes_energy_on():
    graph = Graph.of(
        [Node("main", SUPPLY), Node("tank", STORE), Node("press", ZONE)],
        [Link("main", "tank"), Link("tank", "press")],
    )
    assert witness(graph, "press", released={"tank"}) == ("main", "tank", "press")


def test_only_a_locked_isolator_stops_energy():
    assert witness(SAW, "chamber", locked={"saw", "board", "nowhere"}, released={"cap", "nowhere"}) == (
        "F2", "Q2", "saw", "chamber",
    )  # fmt: skip


def test_live_is_everything_energy_reaches_and_no_locked_isolator():
    assert live(SAW, locked={"Q1", "Q2"}, released={"cap"}) == {"F1", "F2"}
    locked = {"Q1", "Q3", "board", "nowhere"}
    assert live(SAW, locked=locked) == {"F1", "F2", "Q2", "cap", "saw", "board", "chamber"}


def test_a_locked_point_is_fed_while_its_upstream_side_is_live():
    assert fed(SAW, "Q1", locked={"Q1"}) == ("F1", "Q1")
    assert fed(SAW, "Q3", locked={"Q1", "Q3"}, released={"cap"}) == ("F2", "Q2", "saw", "board", "Q3")
    assert fed(SAW, "Q3", locked={"Q1", "Q2", "Q3"}, released={"cap"}) is None


def test_a_store_is_fed_by_others_and_not_by_itself():
    graph = Graph.of(
        [Node("air", SUPPLY), Node("V", ISOLATOR), Node("tank", STORE), Node("ring", CARRIER)],
        [Link("air", "V"), Link("V", "ring"), Link("ring", "tank", both=True)],
    )
    assert fed(graph, "tank") == ("air", "V", "ring", "tank")
    assert fed(graph, "tank", locked={"V"}) is None


def test_downstream_is_what_energy_let_through_a_point_reaches():
    assert downstream(SAW, ["Q2"], locked={"Q2", "Q3"}) == {"Q2", "saw", "board", "chamber"}
    assert downstream(SAW, ["Q2", "Q3"], locked={"Q1", "Q2", "Q3"}) == {
        "Q2", "Q3", "saw", "board", "chamber", "outfeed",
    }  # fmt: skip
    assert downstream(SAW, ["chamber"]) == {"chamber"}


@pytest.mark.parametrize("ask", [witness, fed])
def test_a_node_that_the_graph_lacks_is_a_key_error(ask):
    with pytest.raises(KeyError):
        ask(SAW, "elsewhere")


def test_depth_is_no_limit():
    ids = ["feed", *(f"b{n}" for n in range(20_000)), "end"]
    nodes = [Node("feed", SUPPLY), *(Node(id, CARRIER) for id in ids[1:-1]), Node("end", ZONE)]
    graph = Graph.of(nodes, [Link(a, b) for a, b in pairwise(ids)])
    assert witness(graph, "end") == tuple(ids)
    assert len(live(graph)) == len(ids)


def as_networkx(graph: Graph) -> nx.DiGraph:
    whole = nx.DiGraph()
    whole.add_nodes_from(graph.nodes)
    whole.add_edges_from(exhaustive.arcs(graph))
    return whole


@st.composite
def states(draw):
    """A plant with some isolators locked and some stores released, lockable or not: facts, not plans."""
    graph = draw(plants(most_nodes=12))
    ids = others_of(graph)
    locked = draw(subsets([id for id in ids if graph[id].kind is ISOLATOR]))
    released = draw(subsets([id for id in ids if graph[id].kind is STORE]))
    return graph, locked, released


def sources(graph: Graph, released: frozenset[str]) -> set[str]:
    return exhaustive.kinds(graph, Kind.SUPPLY) | (exhaustive.kinds(graph, Kind.STORE) - released)


@given(states())
def test_the_witness_is_a_shortest_path(state):
    """Against networkx's breadth-first distances over the graph without the locked isolators."""
    graph, locked, released = state
    open_graph = as_networkx(graph)
    open_graph.remove_nodes_from(locked)
    starts = sources(graph, released)
    for zone in zones_of(graph):
        path = witness(graph, zone, locked=locked, released=released)
        distances = nx.single_source_shortest_path_length(open_graph.reverse(), zone)
        near = [distances[id] for id in starts if id in distances]
        if not near:
            assert path is None
            continue
        assert path is not None
        assert len(path) - 1 == min(near)
        assert path[0] in starts
        assert path[-1] == zone
        assert nx.is_path(open_graph, path)


@given(states())
def test_live_fed_and_exposed_are_what_reachability_says(state):
    """Against networkx's descendants over the graph without the locked isolators."""
    graph, locked, released = state
    whole, open_graph = as_networkx(graph), as_networkx(graph)
    open_graph.remove_nodes_from(locked)
    starts = sources(graph, released)
    reached = starts.union(*(nx.descendants(open_graph, id) for id in starts))
    assert live(graph, locked=locked, released=released) == reached
    zones = zones_of(graph)
    assert set(exposed(graph, zones, locked=locked, released=released)) == reached & set(zones)
    for point in others_of(graph):
        with_point = whole.subgraph(set(open_graph) | {point})
        others = [id for id in starts if id != point]
        path = fed(graph, point, locked=locked, released=released)
        assert (path is not None) == any(nx.has_path(with_point, id, point) for id in others)
        if path is not None:
            assert nx.is_path(with_point, path)
            assert path[-1] == point
            assert point not in path[:-1]


@given(states(), st.data())
def test_downstream_is_all_that_is_reached_past_the_other_locks(state, data):
    """Against networkx's descendants: the points pass, every other locked isolator stops."""
    graph, locked, _ = state
    points = data.draw(subsets(others_of(graph)))
    open_graph = as_networkx(graph).subgraph(set(graph.nodes) - (locked - points))
    reached = points.union(*(nx.descendants(open_graph, id) for id in points))
    assert downstream(graph, points, locked=locked) == reached
