"""Small plants for the planner's tests, random ones above all: invented nodes and links only."""

from __future__ import annotations

from itertools import pairwise
from string import ascii_uppercase

from hypothesis import strategies as st

from permits.plant.rules.energy import Graph, Kind, Link, Node

SUPPLY, ISOLATOR, STORE, CARRIER, ZONE = Kind

mostly = st.sampled_from([True, True, True, True, False])
small_efforts = st.integers(1, 3)
any_efforts = st.one_of(small_efforts, st.integers(1, 10**12), st.sampled_from([2**31 - 1, 2**53 - 1]))


@st.composite
def plants(draw, most_nodes=8, most_zones=2, efforts=small_efforts, most_links=2):
    """A graph of up to `most_nodes` nodes beside its zones, about `most_links` links from each.

    Ids are single letters in an order of their own, so that nothing works by the order of the file.
    """
    count = draw(st.integers(1, most_nodes))
    ids = draw(st.permutations(ascii_uppercase[: most_nodes + 2]))[:count]
    kinds = st.sampled_from([SUPPLY, STORE, CARRIER, CARRIER, ISOLATOR, ISOLATOR, ISOLATOR, ISOLATOR])
    nodes = [
        Node(
            id,
            draw(kinds) if at else SUPPLY,
            effort=draw(efforts),
            lockable=draw(mostly),
            releasable=draw(mostly),
            sequence=draw(st.integers(0, 2)),
        )
        for at, id in enumerate(ids)
    ]
    zones = [Node(f"z{at}", ZONE) for at in range(draw(st.integers(1, most_zones)))]
    pairs = st.tuples(st.sampled_from(ids), st.sampled_from(ids), st.booleans())
    links = [
        Link(source, target, both and draw(st.booleans()))
        for source, target, both in draw(st.lists(pairs, max_size=most_links * count))
    ]
    for zone in zones:
        feeders = draw(st.lists(st.sampled_from(ids), min_size=1, max_size=2, unique=True))
        links += (Link(feeder, zone.id) for feeder in feeders)
    return Graph.of([*nodes, *zones], links)


@st.composite
def layered_plants(draw, layers=3, width=2, efforts=small_efforts):
    """Two supplies, layers of isolators each with a carrier behind it, then zones: many ways to isolate.

    Each isolator is fed from one or two carriers of the layer before; some links carry both ways.
    """
    nodes, links = [Node("feed", SUPPLY), Node("feed2", SUPPLY)], []
    before = ["feed", "feed2"]
    names = iter(draw(st.permutations(ascii_uppercase)))
    for _ in range(draw(st.integers(2, layers))):
        behind = []
        for _ in range(draw(st.integers(1, width))):
            isolator, carrier = next(names), next(names).lower()
            nodes.append(Node(isolator, ISOLATOR, effort=draw(efforts), sequence=draw(st.integers(0, 1))))
            kind = STORE if draw(st.integers(0, 5)) == 0 else CARRIER
            nodes.append(Node(carrier, kind, effort=draw(efforts)))
            links.append(Link(isolator, carrier, draw(st.booleans())))
            feeders = draw(st.lists(st.sampled_from(before), min_size=1, max_size=2, unique=True))
            links += (Link(feeder, isolator) for feeder in feeders)
            behind.append(carrier)
        before = behind + draw(st.lists(st.sampled_from(before), max_size=1))
    for at in range(draw(st.integers(1, 2))):
        last = Node(f"last{at}", ISOLATOR, effort=draw(efforts), lockable=draw(mostly))
        nodes += [last, Node(f"z{at}", ZONE)]
        links.append(Link(f"last{at}", f"z{at}"))
        feeders = draw(st.lists(st.sampled_from(before), min_size=1, max_size=2, unique=True))
        links += (Link(feeder, f"last{at}") for feeder in feeders)
    return Graph.of(nodes, links)


@st.composite
def staged_plants(draw, stages=3, width=2, last=3, fewest=2):
    """A supply and then stages on the way to the node "kept", each past one of up to `width` isolators.

    A spare supply feeds some of them as well. Past each isolator energy also goes to some of the shared last
    isolators before the zones, so that keeping "kept" live costs more or less by the way that is left open.
    At most stages * width + last points, and a few stores.
    """
    names = draw(st.permutations(ascii_uppercase))
    gates = [f"{name}{name}" for name in names[:last]]
    nodes = [Node("main", SUPPLY), Node("spare", SUPPLY), Node("kept", CARRIER)]
    nodes += [Node("z0", ZONE), Node("z1", ZONE)]
    nodes += [Node(gate, ISOLATOR, effort=draw(small_efforts)) for gate in gates]
    links = [Link(gate, draw(st.sampled_from(["z0", "z0", "z1"]))) for gate in gates]
    before, names = "main", iter(names)
    for stage in range(draw(st.integers(fewest, stages))):
        nodes.append(Node(f"after {stage}", CARRIER))
        for _ in range(draw(st.sampled_from([1, *[width] * 4]))):
            isolator = next(names)
            behind = isolator.lower()
            nodes.append(Node(isolator, ISOLATOR, effort=draw(small_efforts)))
            kind = STORE if draw(st.integers(0, 7)) == 7 else CARRIER
            nodes.append(Node(behind, kind, effort=draw(small_efforts)))
            feeder = draw(st.sampled_from([*[before] * 6, "spare"]))
            links += [Link(feeder, isolator), Link(isolator, behind, draw(st.booleans()))]
            links.append(Link(behind, f"after {stage}", draw(st.booleans())))
            opened = draw(st.lists(st.sampled_from(gates), max_size=2, unique=True))
            links += (Link(behind, gate) for gate in opened)
        before = f"after {stage}"
    return Graph.of(nodes, [*links, Link(before, "kept")])


def chain(*nodes: Node) -> Graph:
    """Nodes in a row, energy passing from the first to the last."""
    return Graph.of(nodes, [Link(a.id, b.id) for a, b in pairwise(nodes)])


def zones_of(graph: Graph) -> list[str]:
    return [id for id, node in graph.nodes.items() if node.kind is ZONE]


def others_of(graph: Graph) -> list[str]:
    return [id for id, node in graph.nodes.items() if node.kind is not ZONE]


def subsets(ids: list[str]) -> st.SearchStrategy[frozenset[str]]:
    return st.frozensets(st.sampled_from(ids)) if ids else st.just(frozenset())


@st.composite
def demands(draw, plants_from):
    """A plant and up to three of its nodes to be kept live; in a staged plant "kept" first."""
    graph = draw(plants_from)
    nodes = others_of(graph) if draw(st.integers(0, 9)) else list(graph.nodes)
    most = draw(st.sampled_from([1, 1, 2, 3]))
    keep = draw(st.lists(st.sampled_from(nodes), min_size=1, max_size=most, unique=True))
    return graph, ["kept", *(id for id in keep[1:] if id != "kept")] if "kept" in graph.nodes else keep
