"""The planner beside general-purpose libraries' bare maximum flow on the same whole graph, in the same run.

    python tests/benchmarks/bench_planner.py [--nodes 1000 10000 100000] [--zones 15] [--permits 50]

Two invented plants of each size, with one and a half links to a node. *boards*: feeders, boards and machines,
where little reaches one zone. *tangle*: links at random, where up to half of the plant reaches it, the worst
case. Printed, warm (the graph is built once) unless it says cold, in milliseconds:

- a plan for one zone, median and worst over the zones;
- exposure of every open permit, each counting only its own locks and releases, as each command asks it;
- freeing one point, for which everyone is asked who is signed on: whom it exposes, and the danger areas that
  its energy reaches. Once a point of a permit, once the isolator with most behind it;
- what else such a plan stops, and the next-cheapest plans;
- cold: building the graph from its nodes and links, and the first plan;
- memory: bytes a node of the whole graph, and of what is compiled of it (who feeds whom), by tracemalloc.

A ratio is to scipy's compiled `maximum_flow`, which gets the network of the whole plant ready made and need
only fill it for one zone: below 1 is quicker. Up to 10,000 nodes networkx's pure-Python flow stands beside.
Nothing is asserted about time. That all find the same effort is, and that what freeing a point reaches is
what scipy's own breadth-first search reaches.
"""

from __future__ import annotations

import argparse
import gc
import random
import statistics
import sys
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import networkx as nx
import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import breadth_first_order, maximum_flow

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from permits.plant.rules.alternatives import alternatives
from permits.plant.rules.energy import Graph, Kind
from permits.plant.rules.exposure import witness
from permits.plant.rules.plan import NoPlan, plan
from permits.plant.rules.stopping import stopped_by
from permits.work.rules.reaching import reached_crew, reached_zones
from permits.work.rules.state import Site
from tests.benchmarks.invented import at_work, boards, tangle

NO_LIMIT = 10**9
NETWORKX_UP_TO = 10_000


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


def scipy_reached(graph: Graph, start: str, locked: frozenset[str]) -> set[str]:
    """All that scipy reaches from a node without the other locked isolators: the check, not a time."""
    ids = list(graph.nodes)
    place = {id: at for at, id in enumerate(ids)}
    arcs = [
        (place[id], place[near])
        for id in ids
        for near in graph.feeds[id]
        if near == start or near not in locked
    ]
    tails, heads = np.array(arcs).T
    network = csr_array((np.ones(len(arcs), np.int8), (tails, heads)), shape=(len(ids), len(ids)))
    order = breadth_first_order(network, place[start], return_predecessors=False)
    return {ids[at] for at in order}


def milliseconds(call: Callable[[], object], times: int = 3) -> tuple[float, object]:
    """The quickest of a few calls, and what it answered."""
    best, answer = float("inf"), None
    for _ in range(times):
        begin = time.perf_counter()
        answer = call()
        best = min(best, (time.perf_counter() - begin) * 1000)
    return best, answer


def compare(make: Callable[[int, int], Graph], asked: argparse.Namespace, count: int) -> None:
    graph = make(count, asked.seed)
    rebuilt, _ = milliseconds(lambda: Graph(graph.nodes, graph.links), times=1)
    planned, cold = plans(graph, asked.zones, asked.seed)
    print(f"{make.__name__}, {count} nodes, {len(graph.links)} links")
    ours = [took for _, took, _ in planned]
    floors = []
    for zone, _, effort in planned:
        took, found = milliseconds(scipy_flow(graph, zone), times=1)
        assert found == effort, (zone, found, effort)
        floors.append(took)
    floor = statistics.median(floors)

    def say(what: str, took: float, more: str = "") -> None:
        print(f"  {what:42}{took:9.3f}   ratio {took / floor:8.4f}   {more}")

    say("scipy's maximum flow, one zone", floor)
    if count <= NETWORKX_UP_TO:
        slow = []
        for zone, _, effort in planned[:3]:
            took, found = milliseconds(networkx_flow(graph, zone), times=1)
            assert found == effort, (zone, found, effort)
            slow.append(took)
        say("networkx's maximum flow, one zone", statistics.median(slow))
    say("plan for one zone", statistics.median(ours), f"worst {max(ours):.3f}")
    witnessed, _ = milliseconds(lambda: [witness(graph, zone) for zone, _, _ in planned])
    say("exposure of one zone, nothing locked", witnessed / len(planned))
    permits_at_work(graph, asked, say)
    beside(graph, [zone for zone, _, _ in planned], say)
    say("cold: graph built", rebuilt)
    say("cold: first plan", cold)
    whole, compiled = memory(make, count, asked.seed)
    print(f"  memory, bytes a node: {whole / count:.0f}, of which compiled {compiled / count:.0f}\n")


def plans(graph: Graph, zones: int, seed: int) -> tuple[list[tuple[str, float, int]], float]:
    """Zones with the time and the effort of their plan, warm, and the time of the very first plan."""
    chance = random.Random(seed)
    planned: list[tuple[str, float, int]] = []
    cold = None
    for zone in chance.sample(graph.zones, len(graph.zones)):
        took, answer = milliseconds(lambda zone=zone: plan(graph, [zone.id]), times=1)
        cold = cold or took
        if not isinstance(answer, NoPlan) and answer.effort:
            took, _ = milliseconds(lambda zone=zone: plan(graph, [zone.id]))
            planned.append((zone.id, took, answer.effort))
        if len(planned) == zones:
            break
    return planned, cold or 0.0


def permits_at_work(graph: Graph, asked: argparse.Namespace, say: Callable[..., None]) -> None:
    site = at_work(graph, asked.permits, asked.seed)
    took, exposed = milliseconds(lambda: [reached_zones(site, permit) for permit in site.open])
    assert not any(exposed)  # each is isolated by its own plan
    say(f"exposure of all {len(site.open)} open permits", took)
    alone, found = milliseconds(
        lambda: [reached_zones(site, permit, frozenset(permit.points)) for permit in site.open]
    )
    assert all(found)
    say("  the same with nothing locked", alone)
    own = site.open[0].plan_lock[0] if site.open[0].plan_lock else site.open[0].points[0]
    say_freed(site, own, "freeing a point of a permit", say)
    isolators = [id for id, node in graph.nodes.items() if node.kind is Kind.ISOLATOR]
    some = random.Random(asked.seed).sample(isolators, min(300, len(isolators)))
    widest = max(some, key=lambda id: len(site.danger_areas(frozenset([id]), locked=frozenset())))
    say_freed(site, widest, "freeing the one with most behind it", say)


def say_freed(site: Site, point: str, what: str, say: Callable[..., None]) -> None:
    """Who becomes exposed under any permit, and which danger areas the point's energy reaches."""
    freed = frozenset([point])

    def ask() -> tuple[list[object], tuple[str, ...]]:
        unmet = [one for permit in site.open for one in reached_crew(site, permit, freed)]
        return unmet, site.danger_areas(freed, locked=site.locked - freed)

    took, answer = milliseconds(ask)
    unmet, areas = answer  # type: ignore[misc]
    every_zone = {zone.id for zone in site.graph.zones}
    assert set(areas) == scipy_reached(site.graph, point, site.locked - freed) & every_zone
    say(what, took, f"{len(unmet)} people exposed, {len(areas)} zones reached")


def beside(graph: Graph, zones: list[str], say: Callable[..., None]) -> None:
    """What an officer who tries a plan waits for besides."""
    found = [plan(graph, [zone]) for zone in zones]
    took = [milliseconds(lambda one=one: stopped_by(graph, one.lock, one.release))[0] for one in found]  # type: ignore[union-attr]
    say("what a plan stops elsewhere", statistics.median(took), f"worst {max(took):.3f}")
    supplies = [id for id, node in graph.nodes.items() if node.kind is Kind.SUPPLY]
    mains = {near for id in supplies for near in graph.feeds[id] if graph[near].kind is Kind.ISOLATOR}
    all_off, stopped = milliseconds(lambda: stopped_by(graph, mains, ()))
    say("what every main switch off stops", all_off, f"{len(stopped.zones)} zones")  # type: ignore[attr-defined]
    took = [milliseconds(lambda zone=zone: alternatives(graph, [zone]), times=1)[0] for zone in zones[:5]]
    say("five cheapest plans of a zone", statistics.median(took), f"worst {max(took):.3f}")


def memory(make: Callable[[int, int], Graph], count: int, seed: int) -> tuple[int, int]:
    """Bytes of a graph with its nodes and links, and of what is compiled of it alone."""
    gc.collect()  # what Python keeps for reuse would not be counted
    tracemalloc.start()
    graph = make(count, seed)
    gc.collect()
    whole, _ = tracemalloc.get_traced_memory()
    again = Graph(graph.nodes, graph.links)
    both, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert len(again.feeds) == count
    return whole, both - whole


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])  # type: ignore[union-attr]
    parser.add_argument("--nodes", type=int, nargs="+", default=[1_000, 10_000, 100_000])
    parser.add_argument("--zones", type=int, default=15)
    parser.add_argument("--permits", type=int, default=50)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    for make in (boards, tangle):
        for count in asked.nodes:
            compare(make, asked, count)


if __name__ == "__main__":
    main()
