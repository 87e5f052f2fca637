"""The charge of the stores, and who is reached, in a careless world that closes whatever is not locked open.

The same as tests/work/physics.py, as a value that can be told apart, and with each path found once: networkx
finds it, never the rules' own functions.
"""

from __future__ import annotations

from dataclasses import dataclass

import networkx as nx

from permits.plant.rules.energy import Graph
from permits.work.rules.state import Permit, Site
from tests.work.physics import network, own_locks, own_releases, sources

Reached = set[tuple[str, str, str]]
_known: dict[tuple[int, frozenset[str], str], frozenset[str]] = {}


def flow(graph: Graph, locked: frozenset[str], source: str) -> frozenset[str]:
    """Every node that energy from this source gets to past these locks, itself included; none if it is
    locked.

    The graphs of places.py live as long as the program, so that one stands for itself by its identity.
    """
    asked = (id(graph), locked, source)
    if asked not in _known:
        net = network(graph, set(locked))
        _known[asked] = frozenset(nx.descendants(net, source) | {source}) if source in net else frozenset()
    return _known[asked]


def all_locks(site: Site) -> frozenset[str]:
    return frozenset().union(*(own_locks(p) for p in site.permits.values()))


def energised(graph: Graph, locked: frozenset[str], empty: set[str]) -> frozenset[str]:
    return frozenset().union(*(flow(graph, locked, source) for source in sources(graph, empty)))


def inside(p: Permit) -> list[str]:
    return [on.person for on in p.crew if on.off_at is None]


def reached_past_own(site: Site) -> Reached:
    """(permit, person, zone) of everyone inside whom energy reaches past their own permit's protection."""
    found = set()
    for p in site.permits.values():
        if people := inside(p):
            live = energised(site.graph, frozenset(own_locks(p)), own_releases(p))
            found |= {(p.id, person, zone) for zone in p.zones if zone in live for person in people}
    return found


@dataclass(frozen=True, slots=True)
class Charge:
    """`empty`: stores let down and not filled since; `held`: (permit, store) of props and pins."""

    empty: frozenset[str] = frozenset()
    held: frozenset[tuple[str, str]] = frozenset()

    @property
    def harmless(self) -> set[str]:
        return {*self.empty, *(store for _, store in self.held)}

    def release(self, site: Site, permit: str, store: str) -> Charge:
        how = site.graph[store].release
        if how is not None and how.undoable:
            return Charge(self.empty, self.held | {(permit, store)})
        return Charge(self.empty | {store}, self.held)

    def undo(self, permit: str, store: str) -> Charge:
        return Charge(self.empty, self.held - {(permit, store)})

    def settle(self, site: Site) -> Charge:
        """Fill every store that energy reaches, until nothing fills any more."""
        empty, locked = self.empty, all_locks(site)
        while empty:
            live = sources(site.graph, Charge(empty, self.held).harmless)
            filled = {s for s in empty for near in live if near != s and s in flow(site.graph, locked, near)}
            if not filled:
                break
            empty -= filled
        return Charge(empty, self.held)

    def reached(self, site: Site) -> Reached:
        """(permit, person, zone) of everyone inside whom energy really reaches, past the site's locks."""
        if not any(inside(p) for p in site.permits.values()):
            return set()
        live = energised(site.graph, all_locks(site), self.harmless)
        return {
            (p.id, who, z) for p in site.permits.values() for who in inside(p) for z in p.zones if z in live
        }


FULL = Charge()
