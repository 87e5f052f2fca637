"""The picture in sentences, for those who cannot see it, and for a list beside it. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set

from permits.plant.picture.standing import Facts, PadlockLabel, State, ancestors, states_of, words_of
from permits.plant.rules.energy import Graph, Kind, Node
from permits.plant.rules.exposure import witness


def as_text(
    graph: Graph,
    *,
    zones: Iterable[str],
    locks: Mapping[str, tuple[PadlockLabel, ...]] | None = None,
    proven: Set[str] = frozenset(),
    released: Set[str] = frozenset(),
    planned: Set[str] = frozenset(),
    only: Iterable[str] | None = None,
) -> list[str]:
    """One sentence for each zone, with the path where energy reaches it, then one for each supply and point.

    The arguments are those of `picture`. Raises KeyError for an id that the graph lacks.
    """
    zones = tuple(dict.fromkeys(zones))
    facts = Facts(locks or {}, released, proven, planned)
    shown = ancestors(graph, zones) | set(only or ())
    standing = states_of(graph, shown, facts)
    sentences = [_zone(graph, graph[zone], facts, standing[zone].state) for zone in zones]
    for node in graph.nodes.values():
        if node.id in shown and (node.is_point or node.kind is Kind.SUPPLY):
            sentences.append(_point(node, facts, standing[node.id].state))
    return sentences


def summary(graph: Graph, zones: Iterable[str], facts: Facts) -> str:
    """The zones' sentences in one: the description of the picture."""
    standing = states_of(graph, zones, facts)
    return " ".join(_zone(graph, graph[zone], facts, one.state) for zone, one in standing.items())


def _zone(graph: Graph, zone: Node, facts: Facts, state: State) -> str:
    if state is State.EXPOSED:
        path = witness(graph, zone.id, locked=facts.locked(graph), released=facts.released) or ()
        return f"Energy reaches {zone.name}: {' → '.join(map(graph.name, path))}."
    if witness(graph, zone.id) is None:
        return f"No supply and no stored energy leads to {zone.name}."
    if state is State.PROVEN:
        return f"No energy reaches {zone.name}: cut off, and every point that cuts it off is proven."
    sure, harmless = facts.locked(graph) & facts.proven, facts.released & facts.proven
    path = witness(graph, zone.id, locked=sure, released=harmless) or ()
    doubtful = [id for id in path if id not in facts.proven and (facts.locks.get(id) or id in facts.released)]
    names = ", ".join(map(graph.name, doubtful))
    return f"{zone.name} is cut off, but not proven yet: still to be tested on the nearest way in: {names}."


def _point(node: Node, facts: Facts, state: State) -> str:
    what = node.name + (f" ({node.designation})" if node.designation else "")
    energy = ", ".join(filter(None, (node.medium and node.medium.value, node.magnitude)))
    locks = "; ".join(
        f"lock {lock.number}" + (f" of {lock.owner}" if lock.owner else "")
        for lock in facts.locks.get(node.id, ())
    )
    return f"{what}: " + "; ".join(filter(None, (words_of(node, facts, state), locks, energy))) + "."
