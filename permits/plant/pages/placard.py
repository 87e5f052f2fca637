"""A machine's placard: what stands on it, from its approved procedure; or why there is none."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from permits.ledger.models import Entry
from permits.people.models import Site
from permits.plant.models import Machine, Procedure, Tag
from permits.plant.pages.procedures import TITLES
from permits.plant.pages.words import energy_of, tag_in_words
from permits.plant.picture import Form, picture
from permits.plant.picture.standing import ancestors
from permits.plant.prints.placard import TAG, Placard, PointStep, Proof, Source
from permits.plant.queries import approved_procedure
from permits.plant.rules.codes import shown, tag_url
from permits.plant.rules.conductors import CONDUCTORS, pairs
from permits.plant.rules.energy import Graph, Kind, Node
from permits.plant.rules.facts import Fact
from permits.plant.rules.procedures import in_words, stored_flaw
from permits.plant.rules.rows import plain
from permits.plant.rules.stores.hazard import Lines
from permits.plant.rules.stores.numbers import numbers_of, wait_needed
from permits.plant.rules.stores.wording import duration, joules
from permits.plant.store import graph_of

_MOST_PARTS = 40
"""A placard's picture is seen from a step away: what is far from the work is folded sooner than on a page."""


class NoPlacard(Exception):
    """There is nothing that may hang at the machine. `reasons`: what, who can mend it, and a path by name."""

    def __init__(self, reasons: list[dict[str, object]]) -> None:
        super().__init__(reasons)
        self.reasons = reasons


def placard_of(site: Site, machine: Machine, *, public_url: str, address_of: Callable[[int], str]) -> Placard:
    """What stands on the machine's placard. `address_of`: where a revision is read, from the root.

    Raises NoPlacard where no procedure is approved or the approved one no longer holds, and CodeError where
    the site's public address cannot stand in a code.
    """
    procedure = approved_procedure(machine)
    if procedure is None:
        what = f"{machine.name} has no approved procedure."
        raise NoPlacard([{"what": what, "who": "A safety officer writes one, another approves it."}])
    graph = graph_of(site)
    if not procedure.holds:
        raise NoPlacard([_flaw(graph, flaw) for flaw in procedure.flaws])
    assert procedure.approver is not None  # approved: the tables see to it
    assert procedure.approved_at is not None
    zones = list(procedure.zones)
    points = {*procedure.lock, *procedure.release}
    tags = _tags(site, points)
    return Placard(
        site=site.name,
        machine=machine.name,
        designation=machine.designation,
        place=machine.place,
        hazards=machine.hazards,
        revision=procedure.revision,
        approved_by=procedure.approver.name,
        approved_at=procedure.approved_at.astimezone(site.zone),
        zones=tuple(map(graph.name, zones)),
        stays_live=tuple(map(graph.name, procedure.keep_live)),
        sources=tuple(_sources(graph, zones)),
        steps=tuple(
            _step(graph, step, tags.get(step["point"]), public_url)
            for step in procedure.order
            if step["do"] in ("lock", "release")
        ),
        proofs=tuple(_proof(graph[step["point"]]) for step in procedure.order if step["do"] == "verify"),
        texts=tuple(
            (title, getattr(procedure, field)) for field, title in TITLES.items() if field != "local_rules"
        ),
        local_rules=procedure.local_rules,
        picture=picture(
            graph,
            zones=zones,
            planned=points,
            form=Form.PAGE,
            title=f"Energy picture of {procedure}",
            most=_MOST_PARTS,
        ),
        leads_to=public_url + address_of(procedure.revision),
        entry=_entry(site, procedure),
    )


def _flaw(graph: Graph, flaw: Mapping[str, Any]) -> dict[str, object]:
    there = stored_flaw(flaw)
    if not all(id in graph.nodes for id in there.path):
        there = replace(there, path=())
    return {
        "what": in_words(there, graph),
        "who": "A safety officer writes a new revision; another approves it.",
        "path": tuple(map(graph.name, there.path)),
    }


def _tags(site: Site, points: set[str]) -> dict[str, Tag]:
    found = Tag.objects.filter(site=site, withdrawn_at=None, node__code__in=points).select_related("node")
    return {tag.node.code: tag for tag in found if tag.node.removed_at is None}


def _sources(graph: Graph, zones: list[str]) -> list[Source]:
    """Every supply and store whose energy can reach the zones, supplies first."""
    near = ancestors(graph, zones)
    found = [n for n in graph.nodes.values() if n.id in near and n.kind in (Kind.SUPPLY, Kind.STORE)]
    return [_source(node) for node in sorted(found, key=lambda node: node.kind is Kind.STORE)]


def _source(node: Node) -> Source:
    figures = numbers_of(node)  # what it holds: by no line
    holds = f"holds up to {joules(figures.energy_j)}" if figures and figures.energy_j else ""
    return Source(
        medium=(node.medium.value if node.medium else node.kind.value).capitalize(),
        magnitude=node.magnitude,
        name=node.name,
        designation=node.designation,
        place=node.place,
        note=holds,
    )


def _step(graph: Graph, step: Mapping[str, str], tag: Tag | None, public_url: str) -> PointStep:
    node = graph[step["point"]]
    besides = tag_in_words(node) if node.kind is Kind.ISOLATOR else ""
    return PointStep(
        does=TAG if besides else step["do"].capitalize(),
        name=node.name,
        designation=node.designation,
        place=node.place,
        energy=energy_of(node),
        how=_release(node, graph.lines) if node.kind is Kind.STORE else node.device,
        url=tag_url(public_url, tag.token) if tag else "",
        short_code=shown(tag.short_code) if tag else "",
        besides=besides,
    )


def _release(node: Node, lines: Lines) -> str:
    """The method, the wait by which the permit counts, and what to watch for."""
    words = [" ".join(node.release.method.split())] if node.release else []
    if wait := wait_needed(node, lines):
        words.append(f"Wait {duration(wait)} before the test.")
    if node.release and node.release.undoable:
        words.append("Lock it: someone could undo it.")
    if node.release and node.release.recheck_min:
        words.append(f"It can come back: test again every {node.release.recheck_min} min.")
    return " ".join(words)


def _proof(node: Node) -> Proof:
    if (test := node.test) is None:
        words = "As written under Verification."
    else:
        words = f"{test.quantity}: at most {plain(test.limit)} {test.unit}{_where(test.combinations)}"
    return Proof(node.name, node.designation, words[0].upper() + words[1:])


def _where(combinations: tuple[str, ...]) -> str:
    """The pairs that are measured; "between every two of" their conductors where they are all."""
    if not combinations:
        return ""
    found = [
        c for c in CONDUCTORS if any(pair in combinations for other in CONDUCTORS for pair in _both(c, other))
    ]
    if len(found) > 2 and set(pairs(found)) == set(combinations):
        return f", between every two of {', '.join(found)}"
    return f", at {', '.join(combinations)}"


def _both(one: str, other: str) -> tuple[str, str]:
    return f"{one}-{other}", f"{other}-{one}"


def _entry(site: Site, procedure: Procedure) -> str:
    """The ledger entry by which the revision was approved."""
    entries = Entry.objects.filter(head=site.head_id, kind=Fact.PROCEDURE_APPROVED, about=procedure.about)
    number = entries.order_by("-number").values_list("number", flat=True).first()
    return f"Approved by entry {number}" if number else ""
