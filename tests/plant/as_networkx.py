"""The planner's question put to networkx, which computes the greatest flow with code of its own."""

from __future__ import annotations

import networkx as nx

from permits.plant.rules.energy import Graph, Kind
from tests.plant import exhaustive

SUPPLY, ISOLATOR, STORE, CARRIER, ZONE = Kind


def as_network(graph: Graph, zones: list[str]) -> nx.DiGraph:
    """Isolators split in two with an arc of their effort between; arcs without a capacity have no limit."""
    network = nx.DiGraph()
    network.add_nodes_from(["SOURCE", "SINK"])
    for node in graph.nodes.values():
        limited = node.kind is ISOLATOR and node.lockable
        effort = {"capacity": node.effort} if limited else {}
        network.add_edge(("near", node.id), ("far", node.id), **effort)
        if node.kind in (SUPPLY, STORE):
            limited = node.kind is STORE and node.releasable
            effort = {"capacity": node.effort} if limited else {}
            network.add_edge("SOURCE", ("near", node.id), **effort)
    network.add_edges_from((("far", a), ("near", b)) for a, b in exhaustive.arcs(graph))
    network.add_edges_from((("near", zone), "SINK") for zone in zones)
    return network


def nearest_cut(network: nx.DiGraph) -> tuple[int, set[str], set[str]]:
    """networkx's greatest flow, and the cut around what its residual network still connects to the sink."""
    residual = nx.flow.preflow_push(network, "SOURCE", "SINK")
    room = nx.DiGraph((a, b) for a, b, arc in residual.edges(data=True) if arc["flow"] < arc["capacity"])
    room.add_node("SINK")
    side = nx.ancestors(room, "SINK") | {"SINK"}
    ends = [(a, b) for a, b in network.edges if a not in side and b in side]
    return (
        residual.graph["flow_value"],
        {a[1] for a, _ in ends if a != "SOURCE"},
        {b[1] for a, b in ends if a == "SOURCE"},
    )
