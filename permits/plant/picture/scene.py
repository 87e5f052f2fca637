"""What an energy picture shows before it is laid out: parts, their states, and the lines between. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass
from enum import StrEnum

from permits.plant.picture.standing import Facts, Standing, State, ancestors, plate, states_of, words_of
from permits.plant.rules.energy import Graph, Kind, Node


class Flow(StrEnum):
    """A line: no energy in it, energy in it, or the path that reaches a zone."""

    DEAD = "dead"
    LIVE = "live"
    PATH = "path"


@dataclass(frozen=True, slots=True)
class Part:
    """One shape of the picture: a node, or several nodes folded into one (then `kind` may be None)."""

    ids: tuple[str, ...]
    kind: Kind | None
    state: State
    name: str
    designation: str = ""
    note: str = ""
    plate: str = ""
    owners: str = ""
    live: bool = False
    on_path: bool = False

    @property
    def id(self) -> str:
        return self.ids[0]


@dataclass(frozen=True, slots=True)
class Wire:
    """A line from one part to another, by their ids; `both` where energy can pass either way."""

    source: str
    target: str
    flow: Flow
    both: bool = False


@dataclass(frozen=True, slots=True)
class Scene:
    """Parts in a fixed order, sources before what they feed as far as loops allow, and their wires."""

    parts: tuple[Part, ...]
    wires: tuple[Wire, ...]

    def part(self, id: str) -> Part:
        return next(part for part in self.parts if part.id == id)


def scene(graph: Graph, zones: Iterable[str], facts: Facts, only: Iterable[str] | None = None) -> Scene:
    """The picture's parts and wires: the zones and what leads to them, or the nodes in `only`.

    Raises KeyError for a zone, or an id in `only`, that the graph lacks.
    """
    zones = tuple(dict.fromkeys(zones))
    shown = ancestors(graph, zones) if only is None else frozenset(only)
    if facts.path:
        shown |= set(facts.path)
    order = _feeders_first(graph, shown, zones)
    states = states_of(graph, shown, facts)
    row = {id: place for place, id in enumerate(order)}
    live = {id for id in shown if states[id].live}
    return Scene(
        tuple(_part(graph[id], facts, states[id]) for id in order),
        tuple(_wires(graph, row, facts, live)),
    )


def _part(node: Node, facts: Facts, standing: Standing) -> Part:
    locks = facts.locks.get(node.id, ())
    return Part(
        ids=(node.id,),
        kind=node.kind,
        state=standing.state,
        name=node.name,
        designation=node.designation,
        note=words_of(node, facts, standing.state),
        plate=plate(locks),
        owners=", ".join(dict.fromkeys(lock.owner for lock in locks if lock.owner)),
        live=standing.live,
        on_path=bool(facts.path and node.id in facts.path),
    )


def _wires(graph: Graph, row: Mapping[str, int], facts: Facts, live: Set[str]) -> list[Wire]:
    steps = set(zip(facts.path, facts.path[1:], strict=False)) if facts.path else set()
    wires: list[Wire] = []
    for source in row:
        for target in graph.feeds[source]:
            both = target in row and source in graph.feeds[target]
            if target not in row or source == target or (both and row[source] > row[target]):
                continue
            if (source, target) in steps or (both and (target, source) in steps):
                flow = Flow.PATH
            else:
                flow = Flow.LIVE if source in live or (both and target in live) else Flow.DEAD
            wires.append(Wire(source, target, flow, both))
    return sorted(wires, key=lambda wire: (row[wire.source], row[wire.target]))


def _feeders_first(graph: Graph, shown: Set[str], zones: tuple[str, ...]) -> list[str]:
    """Depth first from the zones against the flow, so that each chain stays together.

    The feeder with the longest way behind it comes first: fewer lines are then open side by side.
    """
    depth = _depths(graph, shown)
    ends = [zone for zone in zones if zone in shown]
    ends += sorted((id for id in shown if id not in zones), key=lambda id: (-depth[id], id))
    order: dict[str, None] = {}
    begun: set[str] = set()
    for end in ends:
        waiting = [(end, False)]
        while waiting:
            id, fed = waiting.pop()
            if fed:
                order.setdefault(id)
            elif id not in begun:
                begun.add(id)
                waiting.append((id, True))
                feeders = [near for near in graph.fed_by[id] if near in shown and near not in begun]
                waiting += ((near, False) for near in sorted(feeders, key=lambda id: (depth[id], id)))
    return list(order)


def _depths(graph: Graph, shown: Set[str]) -> dict[str, int]:
    """How many links lie between each node and the nearest source, with the farthest first in a tie."""
    depth = {id: 0 for id in shown if not any(near in shown for near in graph.fed_by[id])}
    layer = list(depth)
    while layer:
        following: dict[str, None] = {}
        for id in layer:
            for near in graph.feeds[id]:
                if near in shown and near not in depth:
                    depth[near] = depth[id] + 1
                    following[near] = None
        layer = list(following)
    return {id: depth.get(id, 0) for id in shown}
