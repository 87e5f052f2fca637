"""One node: what it is, what feeds it, what it feeds, which zones it reaches, and a point's tags."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from datetime import datetime

from permits.people.models import Site
from permits.plant.models import Node as NodeRow
from permits.plant.models import Tag
from permits.plant.pages.pictures import here
from permits.plant.pages.words import UNFED, Badge, badge_of, energy_of
from permits.plant.picture import Facts
from permits.plant.picture.standing import states_of
from permits.plant.queries import tags_of
from permits.plant.rules.codes import shown
from permits.plant.rules.demands import against
from permits.plant.rules.energy import Graph, Kind, Node, Release, Test
from permits.plant.rules.exposure import witness
from permits.plant.rules.rows import plain
from permits.plant.rules.stores.hazard import Lines
from permits.plant.rules.stores.numbers import numbers_of
from permits.plant.rules.stores.wording import joules
from permits.plant.standing import standing_of
from permits.plant.store import demands_of, graph_of, node_of, tag_out_of


@dataclass(frozen=True, slots=True)
class LinkLine:
    """A link as seen from one of its ends: the other end, and the link's own ends in its own direction."""

    code: str
    name: str
    kind: str
    machine: str
    both: bool
    source: str
    target: str


@dataclass(frozen=True, slots=True)
class TagLine:
    """A tag that the point has or had."""

    code: str
    token: str
    reissue: int
    issued_at: datetime
    withdrawn_at: datetime | None
    why: str


@dataclass(frozen=True, slots=True)
class Stored:
    """What a store holds, where its physics is described: labels and values, and what they rest on."""

    facts: list[tuple[str, object]]
    assumptions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NodePage:
    """Everything that a node's page shows. `unusable`: why no plan locks it; it follows the node's name.
    `tag_out`: whether the site lets a tag with its measure stand for a lock."""

    node: Node
    machine_name: str
    facts: list[tuple[str, object]]
    unusable: str
    tag_out: bool
    badge: Badge
    locks: tuple[tuple[str, str], ...]
    fed_by: list[LinkLine]
    feeds: list[LinkLine]
    zones: list[tuple[str, str]]
    stored: Stored | None
    tag: TagLine | None
    withdrawn: list[TagLine]


def node_page(site: Site, row: NodeRow, *, at: datetime) -> NodePage | None:
    """A node as it stands at a time; None where it went from the plant between two queries."""
    graph = graph_of(site)
    node = graph.nodes.get(row.code)
    if node is None:
        return None
    facts = here(graph, standing_of(site, at))
    tags = [_tag(tag) for tag in tags_of(row)] if node.is_point else []
    fed_by, feeds = _links(graph, node.id)
    return NodePage(
        node=node,
        machine_name=row.machine.name if row.machine else "",
        facts=facts_of(node_of(row)),
        unusable=against(node, demands_of(site)),
        tag_out=tag_out_of(site),
        badge=_badge(graph, node, facts),
        locks=tuple((lock.number, lock.owner) for lock in facts.locks.get(node.id, ())),
        fed_by=fed_by,
        feeds=feeds,
        zones=[(zone, graph.name(zone)) for zone in _zones_beyond(graph, node.id)],
        stored=stored_in(node, graph.lines),
        tag=next((tag for tag in tags if tag.withdrawn_at is None), None),
        withdrawn=[tag for tag in tags if tag.withdrawn_at is not None],
    )


def facts_of(node: Node) -> list[tuple[str, object]]:
    """Labels and values of what a person reads about a node, as its row has it."""
    facts: list[tuple[str, object]] = [
        ("Code", node.id),
        ("Designation", node.designation),
        ("Place", node.place),
        ("Energy", energy_of(node)),
        ("Device", node.device),
    ]
    match node.kind:
        case Kind.ISOLATOR:
            facts += [("Can be locked", "yes" if node.lockable else "no")]
            if node.tag_only:
                facts.append(("Besides the tag", node.tag_only.measure))
            if node.out_of_service:
                facts.append(("In service", "no"))
            facts += [("Grade", node.grade.value if node.grade else "not stated"), *_planning(node)]
            facts.append(("Test", in_words(node.test)))
        case Kind.STORE:
            facts += [("Can be released", "yes" if node.releasable else "no"), *_planning(node)]
            facts += [("Release", release_in_words(node.release)), ("Test", in_words(node.test))]
        case Kind.ZONE:
            facts = [("Code", node.id), ("Designation", node.designation), ("Place", node.place)]
            danger = node.danger_area or node.outfeed
            facts.append(("Confirmed clear before start", "yes" if danger else "no"))
            facts.append(("Outfeed", "yes" if node.outfeed else "no"))
    return facts


def stored_in(node: Node, lines: Lines) -> Stored | None:
    """The figures of a store by the site's lines; None where its physics is not described."""
    found = numbers_of(node, lines)
    if found is None:
        return None
    line = found.hazard_threshold
    if found.hazard_published:
        line = f"{line}: site line, tighter than the published {found.hazard_published}"
    facts: list[tuple[str, object]] = [
        ("It holds", joules(found.energy_j) if found.energy_j is not None else "not described"),
        ("Can it hurt", f"{'Yes' if found.hazardous else 'Below the line'}: {found.hazard_why}."),
        ("The line", f"{line}. {found.hazard_source}."),
        ("Wait", found.wait_basis),
        ("Can come back", found.comes_back),
    ]
    if found.stays_j:
        facts.append(("Stays after the release", joules(found.stays_j)))
    return Stored([fact for fact in facts if fact[1]], found.assumptions)


def in_words(test: Test | None) -> str:
    """ "voltage, at most 50 V, L1-L2, L1-PE"."""
    if test is None:
        return ""
    limit = f"{test.quantity}, at most {plain(test.limit)} {test.unit}"
    return ", ".join((limit, *test.combinations))


def release_in_words(release: Release | None) -> str:
    """The method, the wait, whether it can be undone and how often it is tested again."""
    if release is None:
        return ""
    words = [release.method]
    if release.wait_s:
        words.append(f"Wait {_duration(release.wait_s)} before the test.")
    if release.undoable:
        words.append("It could be undone, so it carries a lock of its own.")
    if release.recheck_min:
        words.append(f"Tested again every {release.recheck_min} min.")
    return " ".join(words)


def _badge(graph: Graph, node: Node, facts: Facts) -> Badge:
    if node.kind is Kind.ZONE and witness(graph, node.id) is None:
        return UNFED
    return badge_of(node, states_of(graph, [node.id], facts)[node.id], facts)


def _duration(seconds: int) -> str:
    if seconds < 120:
        return f"{seconds} s"
    minutes, rest = divmod(seconds, 60)
    return f"{minutes} min" + (f" {rest} s" if rest else "")


def _planning(node: Node) -> list[tuple[str, object]]:
    return [("Effort", node.effort), ("Place in the order", node.sequence)]


def _links(graph: Graph, id: str) -> tuple[list[LinkLine], list[LinkLine]]:
    """What feeds the node and what it feeds; a link that carries both ways stands once, as it was drawn."""
    fed_by, feeds = [], []
    for link in graph.links:
        if id == link.target:
            fed_by.append(_link(graph[link.source], link.both, link.source, link.target))
        elif id == link.source:
            feeds.append(_link(graph[link.target], link.both, link.source, link.target))
    return fed_by, feeds


def _link(other: Node, both: bool, source: str, target: str) -> LinkLine:
    return LinkLine(other.id, other.name, other.kind.value, other.machine or "", both, source, target)


def _zones_beyond(graph: Graph, id: str) -> list[str]:
    """The zones that energy from or through the node can reach, nearest first."""
    reached, queue = {id}, deque([id])
    zones = []
    while queue:
        for near in graph.feeds[queue.popleft()]:
            if near not in reached:
                reached.add(near)
                queue.append(near)
                if graph[near].kind is Kind.ZONE:
                    zones.append(near)
    return zones


def _tag(tag: Tag) -> TagLine:
    return TagLine(
        shown(tag.short_code), tag.token, tag.reissue, tag.issued_at, tag.withdrawn_at, tag.withdrawn_why
    )
