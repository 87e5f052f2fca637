"""What happened to the plant and its procedures since a page was shown, as far as one permit's plan shows it.

A page that shows the plan shows the plant: points, how they are tested, what feeds them, and at issue the
procedures that the permit will hold to. Pure: the entries are read in permits/work/plant_news.py.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from permits.plant.rules.energy import Graph

from . import commands as c
from .state import Permit, Site

SHOWS_THE_PLANT: tuple[type[c.Ask], ...] = (
    c.IssuePermit, c.AcceptPermit, c.AcceptHandover, c.GiveSanction, c.AmendPlan,
)  # fmt: skip

NAMED_AT_MOST = 4


@dataclass(frozen=True, slots=True)
class PlantNews:
    """One change of the plant or of a procedure. `by`: a person's reference, or "" where it was no person."""

    by: str
    at: datetime
    what: str


@dataclass(frozen=True, slots=True)
class PlantChange:
    """What one entry changed. `machines`, `nodes`, `links`: rows put or gone, by id, links by both ends.

    `whole`: something that every plan goes by, such as whether tags may stand for locks.
    """

    machines: tuple[str, ...]
    nodes: tuple[str, ...]
    links: tuple[tuple[str, str], ...]
    whole: bool


def what_changed(site: Site, p: Permit, change: PlantChange) -> str | None:
    """The change in words, named by what the permit's plan shows of it; None where it shows none of it."""
    shown = shown_nodes(site, p)
    nodes = [node for node in change.nodes if node in shown]
    nodes += [end for link in change.links if shown.intersection(link) for end in link]
    machines = [m for m in change.machines if m in site.machines_of(p.zones)]
    named = [*machines, *names_of(site.graph, nodes)]
    if not (named or change.whole):
        return None
    left = len(named) - NAMED_AT_MOST
    more = [f"{left} more"] if left > 0 else []
    said = ", ".join([*named[:NAMED_AT_MOST], *more])
    return f"the plant was changed ({said})" if said else "the plant was changed"


def names_of(graph: Graph, nodes: Sequence[str]) -> tuple[str, ...]:
    """By name, each once; by id where it is gone."""
    return tuple(dict.fromkeys(graph.name(node) if node in graph.nodes else node for node in nodes))


def shown_nodes(site: Site, p: Permit) -> frozenset[str]:
    """The permit's points and zones, all of its machines, and everything upstream that can feed its zones."""
    machines = set(site.machines_of(p.zones))
    own = {node.id for node in site.graph.nodes.values() if node.machine in machines}
    return frozenset({*p.points, *own, *upstream(site.graph, p.zones)})


def upstream(graph: Graph, zones: Iterable[str]) -> frozenset[str]:
    """The zones and every node from which energy can come to them, locked or not."""
    found = {zone for zone in zones if zone in graph.nodes}
    front = set(found)
    while front:
        front = {near for node in front for near in graph.fed_by[node]} - found
        found |= front
    return frozenset(found)


def in_words(site: Site, news: PlantNews) -> str:
    """What happened, by whom and when: "the plant was changed (Main switch) by Maud Issuer at 14:05 on …"."""
    who = f" by {site.name(news.by)}" if news.by in site.people or news.by in site.former else ""
    return f"{news.what}{who} at {site.clock(news.at)}"
