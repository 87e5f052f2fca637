"""What else loses its energy when a plan is carried out."""

from dataclasses import replace

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from permits.plant.rules.energy import Graph, Kind
from permits.plant.rules.exposure import witness
from permits.plant.rules.plantfile import check
from permits.plant.rules.stopping import Stopped, stopped_by
from tests.factories_plant import plants as sites
from tests.factories_plant import quillfen, small_plant
from tests.plant import exhaustive
from tests.plant.random_plants import layered_plants, others_of, plants, staged_plants, subsets, zones_of


def two_mills() -> dict:
    """The small plant, with another machine's zone fed through the same valve."""
    plant = small_plant()
    plant["machines"].append({"id": "M2", "name": "Moulder"})
    plant["nodes"] += [
        {"id": "CYL2", "kind": "carrier", "machine": "M2"},
        {"id": "BED2", "kind": "zone", "machine": "M2"},
    ]
    plant["links"] += [{"from": "V1", "to": "CYL2"}, {"from": "CYL2", "to": "BED2"}]
    return plant


def test_zones_and_machines_that_lose_their_energy_are_named():
    graph = check(two_mills()).graph
    assert stopped_by(graph, ["V1"], [], besides=["M1"]) == Stopped(("BED2",), ("M2",))


def test_what_is_fed_otherwise_does_not_stop():
    plant = two_mills()
    plant["links"].append({"from": "FEED", "to": "CYL2"})
    assert stopped_by(check(plant).graph, ["V1"], [], besides=["M1"]) == Stopped((), ())


def test_the_boards_coupler_keeps_the_other_board_alive():
    graph = quillfen().graph
    assert stopped_by(graph, ["B3-QB1"], []) == Stopped((), ())
    both = stopped_by(graph, ["B3-QB1", "B4-QB1"], [])
    assert "K4" in both.machines
    assert "K4-TRANSFER" in both.zones


def test_nothing_locked_stops_nothing():
    assert stopped_by(quillfen().graph, [], []) == Stopped((), ())


@given(sites())
def test_a_zone_that_stops_is_reached_before_and_not_after(plant):
    graph = check(plant).graph
    lock = [id for id, node in graph.nodes.items() if node.kind is Kind.ISOLATOR]
    release = [id for id, node in graph.nodes.items() if node.kind is Kind.STORE]
    zones = [id for id, node in graph.nodes.items() if node.kind is Kind.ZONE]
    stopped = set(stopped_by(graph, lock, release).zones)
    for zone in zones:
        before = witness(graph, zone) is not None
        after = witness(graph, zone, locked=frozenset(lock), released=frozenset(release)) is not None
        assert (zone in stopped) == (before and not after)


@st.composite
def points_of_plants(draw):
    """A plant whose nodes belong to machines of their own, points to lock and to release, and a machine."""
    graph = draw(st.one_of(plants(most_nodes=12, most_zones=3), layered_plants(), staged_plants()))
    ids = others_of(graph)
    lock = draw(subsets([id for id in ids if graph[id].kind is not Kind.STORE]))
    release = draw(subsets([id for id in ids if graph[id].kind is not Kind.ISOLATOR]))
    named = [replace(node, machine=f"of {id}") for id, node in graph.nodes.items()]
    return Graph.of(named, graph.links), lock, release, draw(st.sampled_from(list(graph.nodes)))


@given(points_of_plants())
def test_what_stops_is_what_the_plain_definition_says(asked):
    """Against networkx's descendants in the whole plant, before and after: live before, dead after."""
    graph, lock, release, beside = asked
    whole = nx.DiGraph()
    whole.add_nodes_from(graph.nodes)
    whole.add_edges_from(exhaustive.arcs(graph))

    def live(locked, released):
        open_graph = whole.subgraph(set(graph.nodes) - (locked & exhaustive.kinds(graph, Kind.ISOLATOR)))
        stores = exhaustive.kinds(graph, Kind.STORE) - released
        starts = exhaustive.kinds(graph, Kind.SUPPLY) | stores
        return starts.union(*(nx.descendants(open_graph, id) for id in starts))

    lost = live(frozenset(), frozenset()) - live(lock, release) - lock - release - {beside}
    found = stopped_by(graph, lock, release, besides=[f"of {beside}"])
    assert found.machines == tuple(f"of {id}" for id in graph.nodes if id in lost)
    assert found.zones == tuple(zone for zone in zones_of(graph) if zone in lost)


def test_ids_that_the_plant_has_not_stop_nothing():
    graph = quillfen().graph
    assert stopped_by(graph, ["GONE"], ["GONE TOO"]) == Stopped((), ())
