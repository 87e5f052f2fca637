"""A permit's energy picture: its plan, its locks and what is proven, for pages and prints."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from permits.plant.picture import Form, PadlockLabel, as_text, picture, svg
from permits.plant.picture.drawing import Drawing
from permits.work.queries import Look
from permits.work.rules.reaching import is_proven


@dataclass(frozen=True, slots=True)
class Pictured:
    """The picture, wide and tall in one figure, and the same facts in words."""

    figure: SafeString
    lines: list[str]


def facts_of(seen: Look) -> dict[str, Any]:
    """What the picture draws, as its arguments: this permit's own locks and releases, as rules count them."""
    p, graph = seen.permit, seen.site.graph
    locks: dict[str, tuple[PadlockLabel, ...]] = {}
    for lock in p.hanging:
        if lock.where in graph.nodes:
            label = PadlockLabel(lock.padlock, seen.name(lock.owner))
            locks[lock.where] = (*locks.get(lock.where, ()), label)
    planned = frozenset(point for point in p.points if point in graph.nodes)
    return {
        "zones": [zone for zone in p.zones if zone in graph.nodes],
        "locks": locks,
        "released": frozenset(p.released & planned),
        "proven": frozenset(point for point in planned if is_proven(seen.site, p, point, seen.at)),
        "planned": planned,
    }


def drawing_of(seen: Look, form: Form, *, title: str = "") -> Drawing:
    """The permit's picture in one form; its title names the permit where no other is given."""
    title = title or f"Energy picture of {seen.permit.id}"
    return picture(seen.site.graph, **facts_of(seen), form=form, title=title)


def of_permit(seen: Look, *, title: str = "") -> Pictured:
    """The permit's picture for a page, and the same in words."""
    drawn = svg.figure(drawing_of(seen, Form.WIDE, title=title), drawing_of(seen, Form.TALL, title=title))
    return Pictured(
        figure=mark_safe(drawn),  # escaped where it is drawn
        lines=list(as_text(seen.site.graph, **facts_of(seen))),
    )
