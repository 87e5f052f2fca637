"""The energy picture: the line and the gap, drawn from a graph and the facts of now; the same in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set
from enum import StrEnum

from permits.plant.picture import ladder, layers
from permits.plant.picture.astext import as_text, summary
from permits.plant.picture.drawing import Drawing
from permits.plant.picture.folding import without_chains, without_the_far
from permits.plant.picture.look import Look
from permits.plant.picture.scene import scene
from permits.plant.picture.standing import Facts, PadlockLabel
from permits.plant.rules.energy import Graph

__all__ = ["Facts", "Form", "PadlockLabel", "as_text", "picture"]

MOST = 60
"""More parts than this and what is far from the work is folded together."""

_CHAINS_FROM = 12
"""A lying picture of so many parts folds its chains of carriers; an upright one always does."""


class Form(StrEnum):
    """WIDE runs from left to right, for desks; TALL downwards, for phones; PAGE too, in two columns."""

    WIDE = "wide"
    TALL = "tall"
    PAGE = "page"


def picture(
    graph: Graph,
    *,
    zones: Iterable[str],
    locks: Mapping[str, tuple[PadlockLabel, ...]] | None = None,
    proven: Set[str] = frozenset(),
    released: Set[str] = frozenset(),
    planned: Set[str] = frozenset(),
    path: tuple[str, ...] | None = None,
    only: Iterable[str] | None = None,
    form: Form = Form.WIDE,
    title: str = "",
    urls: Mapping[str, str] | None = None,
    most: int = MOST,
) -> Drawing:
    """The picture of what leads to the zones, as it stands now.

    `locks` are the padlocks on points, `released` the stores made harmless, `proven` the points whose
    verification is good, `planned` the points that a plan wants locked or released, `path` a witness path to
    draw in full; `only` narrows the picture to these nodes, `urls` says where a press on a node leads, and
    above `most` parts what is far from the zones is folded. What is live follows from locks and releases.
    Raises KeyError for an id that the graph lacks.
    """
    zones = tuple(dict.fromkeys(zones))
    facts = Facts(locks or {}, released, proven, planned, path)
    whole = scene(graph, zones, facts, only)
    if form is not Form.WIDE or len(whole.parts) > _CHAINS_FROM:
        whole = without_chains(whole)
    whole = without_the_far(whole, zones, most)
    named = title or "Energy to " + ", ".join(graph.name(zone) for zone in zones)
    described = summary(graph, zones, facts)
    match form:
        case Form.WIDE:
            return layers.draw(whole, Look(named, described, 14.0, 13.0, in_boxes=True, urls=urls or {}))
        case Form.TALL:
            return ladder.draw(whole, Look(named, described, 18.0, 15.0, urls=urls or {}))
        case Form.PAGE:
            return ladder.draw(whole, Look(named, described, 14.0, 13.0, urls=urls or {}), ladder.PAGE)
