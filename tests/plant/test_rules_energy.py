"""A graph that shares what did not change is the graph that would be compiled from its nodes and links."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from permits.plant.rules.energy import Graph, Kind, Node
from tests.plant.random_plants import plants, staged_plants, subsets

PLANTS = st.one_of(plants(most_nodes=12, most_zones=3), staged_plants())


def assert_compiled_alike(graph: Graph, other: Graph) -> None:
    assert graph == other
    assert graph.feeds == other.feeds
    assert graph.fed_by == other.fed_by
    assert list(graph.nodes) == list(other.nodes)
    assert (graph.zones, graph.danger_areas, graph.place) == (other.zones, other.danger_areas, other.place)


@given(PLANTS, st.data())
def test_nodes_are_replaced_as_if_compiled_anew(graph, data):
    assert graph.zones  # kept from now on: what is made of the graph must not inherit it
    chosen = data.draw(subsets(list(graph.nodes)))
    changed = [replace(graph[id], label="another", danger_area=True, effort=7) for id in chosen]
    changes = {node.id: node for node in changed}
    anew = Graph({id: changes.get(id, node) for id, node in graph.nodes.items()}, graph.links)
    assert_compiled_alike(graph.with_nodes(changed), anew)


@given(PLANTS, st.data())
def test_links_are_taken_away_as_if_compiled_anew(graph, data):
    before = Graph(graph.nodes, graph.links)
    alone = data.draw(subsets(list(graph.nodes)))
    links = tuple(link for link in graph.links if link.source not in alone and link.target not in alone)
    assert_compiled_alike(graph.without_links_of(alone), Graph(graph.nodes, links))
    assert_compiled_alike(graph, before)  # a graph never changes


@given(PLANTS)
def test_what_is_kept_of_a_graph_is_what_a_search_finds(graph):
    zones = [node for node in graph.nodes.values() if node.kind is Kind.ZONE]
    assert list(graph.zones) == zones
    assert [list(graph.nodes)[at] for at in graph.place.values()] == list(graph.place)
    named = graph.with_nodes([replace(zones[0], danger_area=True, machine="M1")])
    assert [area.id for area in named.danger_areas] == [zones[0].id]
    assert [zone.id for zone in named.zones_of("M1")] == [zones[0].id]


def test_a_node_that_is_not_there_is_refused():
    graph = Graph.of([Node("Z", Kind.ZONE)], [])
    with pytest.raises(KeyError, match="Q9"):
        graph.with_nodes([Node("Q9", Kind.ISOLATOR)])
    with pytest.raises(KeyError, match="Q9"):
        graph.without_links_of(["Q9"])
