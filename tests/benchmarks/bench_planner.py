"""The planner beside general-purpose libraries' bare maximum flow on the same whole graph, in the same run.

    python tests/benchmarks/bench_planner.py [--nodes 1000 10000 100000] [--zones 15] [--seed 1]

Two invented plants of each size, with one and a half links to a node. *boards*: feeders, boards and machines,
where little reaches one zone. *tangle*: links at random, where up to half of the plant reaches it, the worst
case. For each zone `plan` is timed warm (the graph is built once); scipy's compiled `maximum_flow` and, up to
10,000 nodes, networkx's pure-Python one get the network ready made and need only fill it. Times are medians
over the zones in milliseconds; a ratio below 1 is quicker than the library. Nothing is asserted about time;
that all find the same effort is.
"""

from __future__ import annotations

import argparse
import random
import statistics
import sys
import time
from bisect import bisect_left
from collections.abc import Callable
from pathlib import Path

import networkx as nx
import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_flow

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from permits.plant.rules.energy import Graph, Kind, Link, Node
from permits.plant.rules.exposure import downstream, witness
from permits.plant.rules.plan import NoPlan, plan

NO_LIMIT = 10**9
NETWORKX_UP_TO = 10_000


def nodes_of(count: int, supplies: int, chance: random.Random) -> list[Node]:
    kinds = [Kind.ZONE, Kind.STORE, Kind.ISOLATOR, Kind.CARRIER]
    drawn = chance.choices(kinds, [10, 5, 40, 45], k=count)
    return [
        Node(f"n{at}", Kind.SUPPLY if at < supplies else kind, effort=chance.randint(1, 5))
        for at, kind in enumerate(drawn)
    ]


def boards(count: int, seed: int) -> Graph:
    """Each node is fed by one or two nodes before it, as boards feed boards feed machines."""
    chance = random.Random(seed)
    supplies = max(2, count // 500)
    nodes = nodes_of(count, supplies, chance)
    feeders = [at for at, node in enumerate(nodes) if node.kind is not Kind.ZONE]
    links = [
        Link(f"n{feeders[chance.randrange(bisect_left(feeders, at))]}", f"n{at}")
        for at in range(supplies, count)
        for _ in range(chance.choice([1, 2]))
    ]
    return Graph.of(nodes, links)


def tangle(count: int, seed: int) -> Graph:
    """Each link joins any two nodes."""
    chance = random.Random(seed)
    nodes = nodes_of(count, max(2, count // 100), chance)
    feeders = [node.id for node in nodes if node.kind is not Kind.ZONE]
    links = [Link(chance.choice(feeders), chance.choice(nodes).id) for _ in range(count * 3 // 2)]
    return Graph.of(nodes, links)


def network_arcs(graph: Graph, zone: str) -> list[tuple[int, int, int]]:
    """The whole plant as a network: source 0, sink 1, two nodes for each of the plant's."""
    place = {id: 2 + 2 * at for at, id in enumerate(graph.nodes)}
    arcs = [(place[zone], 1, NO_LIMIT)]
    for id, node in graph.nodes.items():
        arcs.append((place[id], place[id] + 1, node.effort if node.kind is Kind.ISOLATOR else NO_LIMIT))
        if node.kind in (Kind.SUPPLY, Kind.STORE):
            arcs.append((0, place[id], node.effort if node.kind is Kind.STORE else NO_LIMIT))
        arcs += ((place[id] + 1, place[near], NO_LIMIT) for near in graph.feeds[id])
    return arcs


def scipy_flow(graph: Graph, zone: str) -> Callable[[], int]:
    tails, heads, capacities = map(np.array, zip(*network_arcs(graph, zone), strict=True))
    size = 2 + 2 * len(graph.nodes)
    network = csr_array((capacities.astype(np.int32), (tails, heads)), shape=(size, size))
    return lambda: int(maximum_flow(network, 0, 1).flow_value)


def networkx_flow(graph: Graph, zone: str) -> Callable[[], int]:
    network = nx.DiGraph()
    network.add_weighted_edges_from(network_arcs(graph, zone), weight="capacity")
    return lambda: nx.maximum_flow_value(network, 0, 1, flow_func=nx.flow.dinitz)


def milliseconds(call: Callable[[], object], times: int = 3) -> tuple[float, object]:
    """The quickest of a few calls, and what it answered."""
    best, answer = float("inf"), None
    for _ in range(times):
        begin = time.perf_counter()
        answer = call()
        best = min(best, (time.perf_counter() - begin) * 1000)
    return best, answer


def compare(make: Callable[[int, int], Graph], count: int, zones: int, seed: int) -> None:
    build, graph = milliseconds(lambda: make(count, seed), times=1)
    assert isinstance(graph, Graph)
    rebuild, _ = milliseconds(lambda: Graph(graph.nodes, graph.links), times=1)
    chance = random.Random(seed)
    ids = [id for id, node in graph.nodes.items() if node.kind is Kind.ZONE]
    planned: list[tuple[str, float, int]] = []
    cold = None
    for zone in chance.sample(ids, len(ids)):
        took, answer = milliseconds(lambda zone=zone: plan(graph, [zone]), times=1)
        cold = cold or took
        if not isinstance(answer, NoPlan) and answer.effort:
            took, _ = milliseconds(lambda zone=zone: plan(graph, [zone]))
            planned.append((zone, took, answer.effort))
        if len(planned) == zones:
            break
    ours = statistics.median(took for _, took, _ in planned)
    worst = max(took for _, took, _ in planned)
    print(f"{make.__name__:7}{count:8}  plan {ours:8.3f} (worst {worst:8.3f})", end="")
    for name, flow, most in (("scipy", scipy_flow, count), ("networkx", networkx_flow, NETWORKX_UP_TO)):
        if count > most:
            continue
        floors = []
        for zone, _, effort in planned[: zones if name == "scipy" else 3]:
            took, found = milliseconds(flow(graph, zone), times=1)
            assert found == effort, (zone, found, effort)
            floors.append(took)
        floor = statistics.median(floors)
        print(f"   {name} {floor:9.2f}, ratio {ours / floor:8.4f}", end="")
    print()
    zone, point = planned[0][0], next(id for id, node in graph.nodes.items() if node.kind is Kind.ISOLATOR)
    shown, _ = milliseconds(lambda: witness(graph, zone))
    freed, reached = milliseconds(lambda: downstream(graph, [point]))
    print(
        f"{'':17}cold: invented {build:.0f}, graph built {rebuild:.0f}, first plan {cold:.3f};"
        f" exposure {shown:.3f}, freeing one point {freed:.3f} ({len(reached)} nodes)"  # type: ignore[arg-type]
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])  # type: ignore[union-attr]
    parser.add_argument("--nodes", type=int, nargs="+", default=[1_000, 10_000, 100_000])
    parser.add_argument("--zones", type=int, default=15)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    for make in (boards, tangle):
        for count in asked.nodes:
            compare(make, count, asked.zones, asked.seed)


if __name__ == "__main__":
    main()
