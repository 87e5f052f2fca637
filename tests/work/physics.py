"""What a plant would really do, kept apart from the rules: who is reached, by a general graph library.

Nothing here uses the rules' own reachability: networkx finds the paths, and a store's charge is simulated
from the locks that hang. Only the raw locks and releases of a state are read.
"""

from __future__ import annotations

from datetime import datetime

import networkx as nx

from permits.plant.rules.energy import Graph, Kind
from permits.work.rules.state import Permit, Site


def network(graph: Graph, locked: set[str]) -> nx.DiGraph:
    """The links that energy can take past these locks; only a lockable isolator stops it."""
    stopped = {id for id in locked if graph[id].kind is Kind.ISOLATOR and graph[id].lockable}
    net = nx.DiGraph()
    net.add_nodes_from(graph.nodes)
    for link in graph.links:
        net.add_edge(link.source, link.target)
        if link.both:
            net.add_edge(link.target, link.source)
    net.remove_nodes_from(stopped)
    return net


def reached(graph: Graph, zone: str, locked: set[str], live: set[str]) -> bool:
    net = network(graph, locked)
    return any(source in net and nx.has_path(net, source, zone) for source in live)


def sources(graph: Graph, empty: set[str]) -> set[str]:
    """Supplies, and stores that are not empty."""
    stores = {n.id for n in graph.nodes.values() if n.kind is Kind.STORE and n.id not in empty}
    return stores | {n.id for n in graph.nodes.values() if n.kind is Kind.SUPPLY}


def own_locks(permit: Permit) -> set[str]:
    return {lock.where for lock in permit.locks if lock.removed_at is None and lock.where != "box"}


def own_releases(permit: Permit) -> set[str]:
    return {r.point for r in permit.releases if r.undone_at is None}


def people_reached(site: Site) -> set[tuple[str, str, str]]:
    """(permit, person, zone) of everyone signed on whom energy reaches past their own permit's protection."""
    found = set()
    for permit in site.permits.values():
        inside = [on.person for on in permit.crew if on.off_at is None]
        if not inside:
            continue
        live = sources(site.graph, own_releases(permit))
        for zone in permit.zones:
            if reached(site.graph, zone, own_locks(permit), live):
                found |= {(permit.id, person, zone) for person in inside}
    return found


def fed_past(site: Site, point: str) -> bool:
    """Does energy stand at the point's upstream side, past every lock and release at the site?"""
    locked = set().union(*(own_locks(p) for p in site.permits.values())) - {point}
    empty = set().union(*(own_releases(p) for p in site.permits.values()))
    return reached(site.graph, point, locked, sources(site.graph, empty) - {point})


def locked_since(permit: Permit, point: str, moment: datetime) -> bool:
    """Has the point carried a lock of the permit at that moment, and ever since?"""
    locks = [lock for lock in permit.locks if lock.where == point]
    gaps = [lock.removed_at for lock in locks if lock.removed_at is not None and lock.removed_at > moment]
    return all(
        any(k.applied_at <= when and (k.removed_at is None or k.removed_at > when) for k in locks)
        for when in (moment, *gaps)
    )


class Stores:
    """The charge of each store, as a careless world would have it: whatever is not locked open is closed."""

    def __init__(self, graph: Graph) -> None:
        self.empty: set[str] = set()
        self.held: set[tuple[str, str]] = set()
        self.graph = graph

    def copy(self) -> Stores:
        other = Stores(self.graph)
        other.empty, other.held = set(self.empty), set(self.held)
        return other

    def release(self, permit: str, store: str) -> None:
        node = self.graph[store]
        if node.release is not None and node.release.undoable:
            self.held.add((permit, store))
        else:
            self.empty.add(store)

    def undo(self, permit: str, store: str) -> None:
        self.held.discard((permit, store))

    def settle(self, site: Site) -> None:
        """Fill every store that energy reaches, until nothing fills any more."""
        self.graph = site.graph
        locked = set().union(*(own_locks(p) for p in site.permits.values()))
        net = network(site.graph, locked)
        while True:
            live = sources(site.graph, self.harmless)
            filled = {
                store
                for store in self.empty
                if any(near in net and near != store and nx.has_path(net, near, store) for near in live)
            }
            if not filled:
                return
            self.empty -= filled

    @property
    def harmless(self) -> set[str]:
        return self.empty | {store for _, store in self.held}

    def people_hurt(self, site: Site) -> set[tuple[str, str, str]]:
        """(permit, person, zone) of everyone signed on whom energy really reaches, past the site's locks."""
        locked = set().union(*(own_locks(p) for p in site.permits.values()))
        live = sources(site.graph, self.harmless)
        return {
            (permit.id, on.person, zone)
            for permit in site.permits.values()
            for on in permit.crew
            if on.off_at is None
            for zone in permit.zones
            if reached(site.graph, zone, locked, live)
        }
