"""A drawing as inline SVG: safe to embed, no style in it; picture.css says how each class looks."""

from __future__ import annotations

from hashlib import sha256
from html import escape

from permits.plant.picture.drawing import Box, Dot, Drawing, Group, Line, Mark, Place, Shape, Words
from permits.plant.picture.layers import COLUMN

SMALLEST = 0.8
"""A picture wider than its column shrinks to no less than this, and is then scrolled in its own box."""


def figure(wide: Drawing, tall: Drawing) -> str:
    """Both forms in one `<figure class="ep-figure">`: picture.css shows the one that the screen has room for.

    The wide one is first, in a box of its own that scrolls, with its legend above. The upright one may be
    much longer than a phone: its legend is folded away and stays at the top of the screen, to be opened
    anywhere.
    """
    box = f'<div class="ep-scroll" role="region" tabindex="0" aria-label="{escape(wide.title)}">'
    return (
        '<figure class="ep-figure">'
        f"{_legend(wide)}{box}{render(wide)}</div>"
        f"{_legend(tall)}{render(tall)}"
        "</figure>"
    )


def _legend(drawing: Drawing) -> str:
    legend = drawing.legend
    if legend is None:
        return ""
    said = escape(f"{legend.title}: {legend.description}")
    size = f'viewBox="0 0 {_n(legend.width)} {_n(legend.height)}"'
    size += f' width="{_n(legend.width)}" height="{_n(legend.height)}"'
    form = "ep-tall" if drawing.tall else "ep-wide"
    opening = f'<svg class="ep {form}" xmlns="http://www.w3.org/2000/svg" {size}'
    inside = f'{opening} role="img" aria-label="{said}">{"".join(map(_group, legend.groups))}</svg>'
    if drawing.tall:
        summary = f"<summary>{escape(legend.title)}</summary>"
        return f'<details class="ep-legend ep-tall">{summary}{inside}</details>'
    return f'<div class="ep-legend ep-wide">{inside}</div>'


def render(drawing: Drawing) -> str:
    """The `<svg>` element. Text is escaped; classes are `ep-` and the ink's name."""
    name = "ep-" + sha256(repr(drawing).encode()).hexdigest()[:10]
    shown = drawing.width if drawing.width <= COLUMN else max(COLUMN, drawing.width * SMALLEST)
    form = "ep-tall" if drawing.tall else "ep-wide ep-over" if shown > COLUMN else "ep-wide"
    height = drawing.height * shown / drawing.width
    size = f'viewBox="0 0 {_n(drawing.width)} {_n(drawing.height)}" width="{_n(shown)}" height="{_n(height)}"'
    parts = [
        f'<svg class="ep {form}" xmlns="http://www.w3.org/2000/svg" {size}'
        f' role="img" aria-labelledby="{name}-t {name}-d">',
        f'<title id="{name}-t">{escape(drawing.title)}</title>',
        f'<desc id="{name}-d">{escape(drawing.description)}</desc>',
        *map(_mark, drawing.lines),
        *map(_group, drawing.groups),
        "</svg>",
    ]
    return "".join(parts)


def _group(group: Group) -> str:
    inside = f"<title>{escape(group.title)}</title>" + "".join(map(_mark, group.marks))
    if group.url.startswith(("/", "#")):
        return f'<a href="{escape(group.url)}" class="ep-part">{inside}</a>'
    return f'<g class="ep-part">{inside}</g>'


def _mark(mark: Mark) -> str:
    ink = f'class="ep-{mark.ink}"'
    match mark:
        case Line():
            return f'<polyline {ink} points="{_places(mark.places)}"/>'
        case Shape():
            return f'<polygon {ink} points="{_places(mark.places)}"/>'
        case Box():
            corner = f' rx="{_n(mark.corner)}"' if mark.corner else ""
            size = f'width="{_n(mark.width)}" height="{_n(mark.height)}"'
            return f'<rect {ink} x="{_n(mark.x)}" y="{_n(mark.y)}" {size}{corner}/>'
        case Dot():
            return f'<circle {ink} cx="{_n(mark.x)}" cy="{_n(mark.y)}" r="{_n(mark.radius)}"/>'
        case Words():
            anchor = ' text-anchor="middle"' if mark.centred else ""
            size = f'font-size="{_n(mark.size)}"'
            return f'<text {ink} x="{_n(mark.x)}" y="{_n(mark.y)}" {size}{anchor}>{escape(mark.text)}</text>'


def _places(places: tuple[Place, ...]) -> str:
    return " ".join(f"{_n(x)},{_n(y)}" for x, y in places)


def _n(value: float) -> str:
    """One decimal is a tenth of a pixel: finer than anyone sees."""
    return f"{value:.1f}".removesuffix(".0")
