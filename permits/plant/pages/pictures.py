"""The energy picture on a page: each node leads to its own page, and the same stands beside it in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe

from permits.plant.picture import Facts, Form, as_text, picture, svg
from permits.plant.picture.standing import ancestors
from permits.plant.rules.energy import Graph

_MOST_ADDRESSES = 500  # nodes of a picture that lead somewhere; more are folded together anyway


@dataclass(frozen=True, slots=True)
class Pictured:
    """The picture, wide and tall in one figure, and the same in sentences."""

    figure: SafeString
    lines: list[str]


def pictured(
    graph: Graph,
    zones: Iterable[str],
    facts: Facts,
    planned: Iterable[str] = (),
    *,
    title: str,
    path: tuple[str, ...] | None = None,
) -> Pictured | None:
    """The picture of what leads to the zones, each node leading to its page; None where there is no zone."""
    zones = [zone for zone in zones if zone in graph.nodes]
    if not zones:
        return None
    facts = replace(facts, planned=frozenset(planned) & graph.nodes.keys(), path=path)
    shown = ancestors(graph, zones)
    urls = {id: reverse("plant:node", args=[id]) for id in shown} if len(shown) <= _MOST_ADDRESSES else {}
    drawn = [
        picture(
            graph,
            zones=zones,
            locks=facts.locks,
            released=facts.released,
            proven=facts.proven,
            planned=facts.planned,
            path=facts.path,
            form=form,
            title=title,
            urls=urls,
        )
        for form in (Form.WIDE, Form.TALL)
    ]
    lines = as_text(
        graph,
        zones=zones,
        locks=facts.locks,
        released=facts.released,
        proven=facts.proven,
        planned=facts.planned,
    )
    return Pictured(mark_safe(svg.figure(*drawn)), lines)  # escaped where it is drawn


def here(graph: Graph, facts: Facts) -> Facts:
    """Only what is in this graph: the plant may have changed between two queries."""
    return Facts(
        locks={id: locks for id, locks in facts.locks.items() if id in graph.nodes},
        released=facts.released & graph.nodes.keys(),
        proven=facts.proven & graph.nodes.keys(),
    )
