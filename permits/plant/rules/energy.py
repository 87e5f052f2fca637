"""Nodes, links and the energy graph as values. Pure; a graph never changes once made."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from functools import cached_property
from types import MappingProxyType

from permits.plant.rules.stores.hazard import PUBLISHED, Lines
from permits.plant.rules.stores.kinds import Physics


class Kind(StrEnum):
    SUPPLY = "supply"
    ISOLATOR = "isolator"
    STORE = "store"
    CARRIER = "carrier"
    ZONE = "zone"


class Medium(StrEnum):
    ELECTRICAL = "electrical"
    PNEUMATIC = "pneumatic"
    HYDRAULIC = "hydraulic"
    GRAVITY = "gravity"
    ROTATING = "rotating"
    SPRING = "spring"
    THERMAL = "thermal"
    CHEMICAL = "chemical"


class Grade(StrEnum):
    """How surely an isolator isolates. Process-industry practice, as in HSE's HSG253 (from memory).

    Positive: parted so that nothing can pass (a blank, a visible gap, a spool taken out). Proved: shut, and
    its holding can be tested (double block and bleed). Non-proved: shut, and taken on trust.
    """

    POSITIVE = "positive"
    PROVED = "proved"
    NON_PROVED = "non-proved"


@dataclass(frozen=True, slots=True)
class TagOnly:
    """An isolator that takes no lock but may carry a tag, and what is done besides to make up for it."""

    measure: str


@dataclass(frozen=True, slots=True)
class Test:
    """How zero energy is proven at a point: what is read, in which unit, and the highest passing value.

    `combinations` names every pair of conductors to be measured at an electrical point ("L1-L2", …);
    empty means one reading. `limit` is inclusive and compared with the reading's absolute value.
    """

    quantity: str
    unit: str
    limit: Decimal
    combinations: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Release:
    """How a store is made harmless, how long to wait before the test, and whether it can come back.

    `wait_s`: seconds after the release before a reading counts. `undoable`: a prop, pin, open bleed or
    earth that someone could take away, so it carries a lock of its own. `recheck_min`: minutes after
    which a store that can recharge must be verified again; None where it cannot recharge.
    """

    method: str
    wait_s: int = 0
    undoable: bool = False
    recheck_min: int | None = None


@dataclass(frozen=True, slots=True)
class Node:
    """One node of the energy graph; what a person reads on it stands beside what the planner needs.

    `effort` is a positive integer, `lockable` matters for isolators, `releasable` for stores. `physics` is
    what a store holds, where it is described. `grade`, `out_of_service` and `tag_only` are an isolator's, and
    `demands.py` says what follows from them; a point that is tag-only is not lockable. A zone with
    `danger_area` set is one that must be confirmed clear of people before energy returns; `outfeed` marks the
    one that parts are thrown from.
    """

    id: str
    kind: Kind
    label: str = ""
    effort: int = 1
    lockable: bool = True
    releasable: bool = True
    sequence: int = 0
    machine: str | None = None
    designation: str = ""
    place: str = ""
    medium: Medium | None = None
    magnitude: str = ""
    device: str = ""
    test: Test | None = None
    release: Release | None = None
    danger_area: bool = False
    outfeed: bool = False
    physics: Physics | None = None
    grade: Grade | None = None
    out_of_service: bool = False
    tag_only: TagOnly | None = None

    @property
    def name(self) -> str:
        """What a person calls it: its label, or its id where it has none."""
        return self.label or self.id

    @property
    def is_point(self) -> bool:
        """An isolator or a store, as a person meets it: it carries a tag."""
        return self.kind in (Kind.ISOLATOR, Kind.STORE)


@dataclass(frozen=True, slots=True)
class Link:
    """Energy passes from `source` to `target`, and the other way as well where `both` is set."""

    source: str
    target: str
    both: bool = False


@dataclass(frozen=True)
class Graph:
    """A site's energy graph: nodes by id, links, and who feeds whom (each neighbour once, in link order).

    `lines`: where stored energy starts to hurt at the site; the waits and verdicts of its stores go by them.
    Trusts its input: `plantfile.py` and `store.py` refuse a link to nowhere, a zone with a way out and a
    duplicate id before a graph is made.
    """

    nodes: Mapping[str, Node]
    links: tuple[Link, ...]
    lines: Lines = PUBLISHED
    feeds: Mapping[str, tuple[str, ...]] = field(init=False, repr=False, compare=False)
    fed_by: Mapping[str, tuple[str, ...]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        forward: dict[str, dict[str, None]] = {id: {} for id in self.nodes}
        backward: dict[str, dict[str, None]] = {id: {} for id in self.nodes}
        for link in self.links:
            forward[link.source][link.target] = None
            backward[link.target][link.source] = None
            if link.both:
                forward[link.target][link.source] = None
                backward[link.source][link.target] = None
        object.__setattr__(self, "nodes", MappingProxyType(dict(self.nodes)))
        object.__setattr__(self, "feeds", {id: tuple(near) for id, near in forward.items()})
        object.__setattr__(self, "fed_by", {id: tuple(near) for id, near in backward.items()})

    @classmethod
    def of(cls, nodes: Iterable[Node], links: Iterable[Link]) -> Graph:
        return cls({node.id: node for node in nodes}, tuple(links))

    # A graph that differs in a few nodes or links shares the rest: nothing is compiled again.

    def with_nodes(self, nodes: Iterable[Node]) -> Graph:
        """The graph with these nodes in the place of those with their ids. Raises KeyError for a new id."""
        changed = {node.id: node for node in nodes}
        if unknown := changed.keys() - self.nodes.keys():
            raise KeyError(min(unknown))
        return self._but(nodes=MappingProxyType({**self.nodes, **changed}))

    def without_links_of(self, ids: Iterable[str]) -> Graph:
        """The graph in which these nodes are linked to nothing. Raises KeyError for an id that it lacks."""
        alone = frozenset(ids)
        feeds, fed_by = dict(self.feeds), dict(self.fed_by)
        for id in alone:
            for near in feeds[id]:
                fed_by[near] = tuple(other for other in fed_by[near] if other != id)
            for near in fed_by[id]:
                feeds[near] = tuple(other for other in feeds[near] if other != id)
            feeds[id] = fed_by[id] = ()
        links = tuple(link for link in self.links if not alone & {link.source, link.target})
        return self._but(links=links, feeds=feeds, fed_by=fed_by)

    def _but(self, **changed: object) -> Graph:
        twin = object.__new__(Graph)
        for name in self.__dataclass_fields__:
            object.__setattr__(twin, name, changed.get(name, getattr(self, name)))
        return twin

    def __getitem__(self, id: str) -> Node:
        return self.nodes[id]

    def name(self, id: str) -> str:
        return self.nodes[id].name

    # A graph never changes, so what is asked of all of it is looked for once.

    @cached_property
    def zones(self) -> tuple[Node, ...]:
        """Every zone, in the graph's order."""
        return tuple(node for node in self.nodes.values() if node.kind is Kind.ZONE)

    @cached_property
    def danger_areas(self) -> tuple[Node, ...]:
        """The zones that must be confirmed clear of people before energy returns, in the graph's order."""
        return tuple(zone for zone in self.zones if zone.danger_area or zone.outfeed)

    @cached_property
    def place(self) -> Mapping[str, int]:
        """Where each node stands in the graph's order, from 0."""
        return {id: at for at, id in enumerate(self.nodes)}

    def zones_of(self, machine: str) -> tuple[Node, ...]:
        """The zones that belong to a machine, in the graph's order."""
        return tuple(zone for zone in self.zones if zone.machine == machine)
