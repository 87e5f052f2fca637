"""How each node stands now: locked, released, proven, live; and the words for it. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass, field
from enum import StrEnum

from permits.plant.rules.energy import Graph, Kind, Link, Node
from permits.plant.rules.exposure import live as reached

Path = tuple[str, ...]


class State(StrEnum):
    """How a part stands. Each state is drawn as a shape of its own, and always stands beside its words."""

    LIVE = "live"
    UNFED = "unfed"
    LOCKED = "locked"
    PROVEN = "proven"
    PLANNED = "planned"
    EXPOSED = "exposed"


@dataclass(frozen=True, slots=True)
class PadlockLabel:
    """A padlock as the picture names it: the number on it, and whose it is where that may be shown."""

    number: str
    owner: str = ""


@dataclass(frozen=True, slots=True)
class Facts:
    """What is so now. `locks`: the padlocks on each point, isolators and releases alike; `released`: stores
    made harmless; `proven`: points whose verification is good; `planned`: points a plan wants locked or
    released; `path`: a witness path to be drawn in full, source first. `service`: by machine, why it is not
    in service, each reason a sentence without its full stop.
    """

    locks: Mapping[str, tuple[PadlockLabel, ...]] = field(default_factory=dict)
    released: Set[str] = frozenset()
    proven: Set[str] = frozenset()
    planned: Set[str] = frozenset()
    path: Path | None = None
    service: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def locked(self, graph: Graph) -> frozenset[str]:
        """The isolators with a padlock on."""
        return frozenset(id for id, on in self.locks.items() if on and graph[id].kind is Kind.ISOLATOR)


def ancestors(graph: Graph, zones: Iterable[str]) -> frozenset[str]:
    """The zones and every node that leads to them."""
    found = dict.fromkeys(zones)
    waiting = list(found)
    while waiting:
        for near in graph.fed_by[waiting.pop()]:
            if near not in found:
                found[near] = None
                waiting.append(near)
    return frozenset(found)


@dataclass(frozen=True, slots=True)
class Standing:
    """How a node stands, and whether energy reaches it."""

    state: State
    live: bool


def states_of(graph: Graph, ids: Iterable[str], facts: Facts) -> dict[str, Standing]:
    """How each of these nodes stands. Looks only at what leads to them.

    A zone is PROVEN only where it would stay cut off if each point not yet proven were live again, and UNFED
    where no energy would reach it with nothing locked either: then nothing was proven by anyone.
    """
    ids = tuple(ids)
    near = _part_of(graph, ancestors(graph, ids))
    locked = facts.locked(graph)
    live = reached(near, locked=locked, released=facts.released)
    doubtful = reached(near, locked=locked & facts.proven, released=facts.released & facts.proven)
    fed = reached(near)
    unfed_zones = {id for id in ids if graph[id].kind is Kind.ZONE and id not in fed}
    return {
        id: Standing(
            State.UNFED if id in unfed_zones else _state(graph[id], facts, id in live, id in doubtful),
            id in live,
        )
        for id in ids
    }


def _part_of(graph: Graph, ids: Set[str]) -> Graph:
    links = (Link(id, near) for id in ids for near in graph.feeds[id] if near in ids)
    return Graph.of((graph[id] for id in ids), links)


def _state(node: Node, facts: Facts, live: bool, doubtful: bool) -> State:
    match node.kind:
        case Kind.ZONE:
            if live:
                return State.EXPOSED
            return State.LOCKED if doubtful else State.PROVEN
        case Kind.ISOLATOR if facts.locks.get(node.id):
            return State.PROVEN if node.id in facts.proven else State.LOCKED
        case Kind.STORE if node.id in facts.released and not live:
            return State.PROVEN if node.id in facts.proven else State.LOCKED
        case Kind.ISOLATOR | Kind.STORE if node.id in facts.planned and node.id not in facts.released:
            return State.PLANNED
        case _:
            return State.LIVE if live else State.UNFED


def words_of(node: Node, facts: Facts, state: State) -> str:
    """The state in words, as they stand beside the shape."""
    match node.kind, state:
        case Kind.SUPPLY, _:
            return "supply"
        case Kind.ZONE, State.EXPOSED:
            return "ENERGY REACHES IT"
        case Kind.ZONE, State.UNFED:
            return "nothing leads to it"
        case Kind.ZONE, State.PROVEN:
            return "cut off, proven"
        case Kind.ZONE, _:
            return "cut off, not proven yet"
        case Kind.ISOLATOR, State.PROVEN:
            return "locked, proven"
        case Kind.ISOLATOR, State.LOCKED:
            return "locked, not proven yet"
        case Kind.ISOLATOR, State.PLANNED:
            return "to be locked"
        case Kind.ISOLATOR, _:
            return "not locked"
        case Kind.STORE, State.PROVEN:
            return "released, proven"
        case Kind.STORE, State.LOCKED:
            return "released, not proven yet"
        case Kind.STORE, State.PLANNED:
            return "to be released"
        case Kind.STORE, _:
            return "released, but fed again" if node.id in facts.released else "holds energy"
        case _, State.UNFED:
            return "no energy reaches it"
        case _:
            return ""


def plate(locks: tuple[PadlockLabel, ...]) -> str:
    """What stands in the gap: the first lock's number, and how many more there are."""
    return "" if not locks else locks[0].number + (f" +{len(locks) - 1}" if len(locks) > 1 else "")
