"""The plant's validation report in names: what was found under each concern, and where to look."""

from __future__ import annotations

from dataclasses import dataclass

from permits.people.models import Site
from permits.plant.pages.words import tag_in_words
from permits.plant.queries import machine_codes
from permits.plant.rules.energy import Graph
from permits.plant.rules.validation import Concern, Finding, findings
from permits.plant.store import graph_of


@dataclass(frozen=True, slots=True)
class FindingLine:
    """`code`: the node whose page to look at; `to`: the other end of a link, or nothing."""

    code: str
    name: str
    to_code: str
    to_name: str
    note: str
    path: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """One concern with what was found."""

    slug: str
    title: str
    meaning: str
    lines: list[FindingLine]


@dataclass(frozen=True, slots=True)
class Report:
    """Every concern; those without a finding are what was looked for in vain."""

    found: list[Section]
    clean: list[str]
    nodes: int
    links: int


def report(site: Site) -> Report:
    """The report on the plant as it is now."""
    graph = graph_of(site)
    names = dict(machine_codes(site))
    lines: dict[Concern, list[FindingLine]] = {concern: [] for concern in Concern}
    for finding in findings(graph):
        lines[finding.concern].append(_line(graph, names, finding))
    return Report(
        found=[
            Section(concern.name.lower().replace("_", "-"), _capital(concern.value), concern.meaning, found)
            for concern, found in lines.items()
            if found
        ],
        clean=[concern.value for concern, found in lines.items() if not found],
        nodes=len(graph.nodes),
        links=len(graph.links),
    )


def _line(graph: Graph, names: dict[str, str], finding: Finding) -> FindingLine:
    node = graph[finding.id]
    if finding.machines:
        note = ", ".join(names.get(code, code) for code in finding.machines)
    else:
        machine = names.get(node.machine, node.machine) if node.machine else "shared"
        besides = tag_in_words(node) if finding.concern is Concern.TAG_IN_A_PLAN else ""
        note = ". ".join(filter(None, (", ".join(filter(None, (machine, node.designation))), besides)))
    return FindingLine(
        code=node.id,
        name=node.name,
        to_code=finding.other,
        to_name=graph.name(finding.other) if finding.other else "",
        note=note,
        path=tuple(map(graph.name, finding.path)),
    )


def _capital(words: str) -> str:
    return words[0].upper() + words[1:]
