"""The lying layout for desks: energy runs from left to right. graphlay says where the boxes and lines go."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import graphlay

from permits.plant.picture import symbols
from permits.plant.picture.drawing import Drawing, Group, Mark, Place, Words
from permits.plant.picture.legend import beside
from permits.plant.picture.look import Look, TextLine
from permits.plant.picture.scene import Flow, Part, Scene
from permits.plant.prints import fonts
from permits.plant.rules.energy import Kind

COLUMN = 1136.0
"""The width that a desk page has for a picture, in CSS pixels."""

BOX_WIDTH = 138.0
WIDEST = 200.0
"""A box grows for a long word; a longer one is broken."""
PAD = 9.0
STRIP = 30.0
EDGE = 12.0

_BESIDE: dict[Kind | None, float] = {Kind.ZONE: 30.0, Kind.SUPPLY: symbols.NOSE / 2, Kind.STORE: 20.0}
"""Room that a shape takes beside its words."""

_SPACING = {"layer_gap": 36.0, "node_gap": 22.0, "dummy_gap": 16.0, "port_gap": 14.0, "stub": 15.0}


@dataclass(frozen=True, slots=True)
class _Sized:
    """A part with its words, and the size that they need."""

    part: Part
    above: list[TextLine]
    below: list[TextLine]
    strip: float
    width: float
    height: float


def draw(scene: Scene, look: Look) -> Drawing:
    """The whole picture from left to right, as wide as it needs to be."""
    sized = {part.id: _sized(part, look) for part in scene.parts}
    corners, routes = _laid_out(scene, sized)
    lines: list[Mark] = []
    for flow in (Flow.DEAD, Flow.LIVE, Flow.PATH):
        for number, wire in enumerate(scene.wires):
            if wire.flow is flow:
                lines += symbols.wire(routes[number], flow, both=wire.both)
    groups = [_group(sized[id], *corners[id], look) for id in sized]
    right = max((corners[id][0] + sized[id].width for id in sized), default=0.0) + EDGE
    bottom = max((corners[id][1] + sized[id].height for id in sized), default=0.0)
    bottom = max([bottom, *(y for route in routes for _, y in route)])
    right = max([right, *(x + EDGE for route in routes for x, _ in route)])
    return Drawing(
        right,
        bottom + EDGE,
        look.title,
        look.description,
        tuple(lines),
        tuple(groups),
        legend=beside(scene, COLUMN, look),
    )


def _sized(part: Part, look: Look) -> _Sized:
    isolator = part.kind is Kind.ISOLATOR
    beside = 2 * PAD + _BESIDE.get(part.kind, 0.0)
    words = [(word, look.name_size) for word in part.name.split()]
    words.append((part.designation if part.kind is not Kind.CARRIER else "", look.note_size))
    longest = max(fonts.width(word, size, bold=True) for word, size in words)
    width = min(max(BOX_WIDTH, longest + beside + 1), WIDEST)
    lines = look.lines(part, width - beside)
    named = len(look.lines(replace(part, note="", owners=""), width - beside))
    above, below = (lines[:named], lines[named:]) if isolator else (lines, [])
    top = PAD - 2 + sum(line.leading for line in above)
    height = top + (STRIP if isolator or part.plate else 0) + sum(line.leading for line in below) + PAD
    return _Sized(part, above, below, top + STRIP / 2, width, max(height, 40.0))


def _group(sized: _Sized, x: float, y: float, look: Look) -> Group:
    part = sized.part
    marks: list[Mark] = symbols.lying(part, x, y, sized.width, sized.height, y + sized.strip)
    left = {Kind.ZONE: 38.0, Kind.STORE: PAD + 4}.get(part.kind, PAD) if part.kind else PAD
    baseline = y + PAD - 2
    for line in sized.above:
        marks.append(Words(x + left, baseline + line.leading * 0.76, line.text, line.size, line.ink))
        baseline += line.leading
    baseline += STRIP if sized.below or part.kind is Kind.ISOLATOR else 0
    for line in sized.below:
        marks.append(Words(x + left, baseline + line.leading * 0.76, line.text, line.size, line.ink))
        baseline += line.leading
    return Group(look.spoken(part), tuple(marks), look.url(part))


def _laid_out(scene: Scene, sized: dict[str, _Sized]) -> tuple[dict[str, Place], list[list[Place]]]:
    """The upper left corner of each part, and the places of each wire, in the scene's order."""
    graph = graphlay.Graph()
    for id, one in sized.items():
        graph.node(id, width=one.width, height=one.height)
    for wire in scene.wires:
        graph.edge(wire.source, wire.target)
    options: dict[str, Any] = {"direction": "leftright", "spacing": _SPACING}
    found = graphlay.layout(graph, preset="layered", options=options)
    left = min((node["center"]["x"] - node["size"]["width"] / 2 for node in found.nodes), default=0.0)
    top = min((node["center"]["y"] - node["size"]["height"] / 2 for node in found.nodes), default=0.0)
    for edge in found.edges:
        left = min([left, *(point["x"] for point in edge["points"])])
        top = min([top, *(point["y"] for point in edge["points"])])
    corners = {
        id: (
            node["center"]["x"] - node["size"]["width"] / 2 - left + EDGE,
            node["center"]["y"] - node["size"]["height"] / 2 - top + EDGE,
        )
        for id, node in zip(sized, found.nodes, strict=True)
    }
    routes = [[(p["x"] - left + EDGE, p["y"] - top + EDGE) for p in edge["points"]] for edge in found.edges]
    return corners, routes
