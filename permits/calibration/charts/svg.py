"""A chart as inline SVG: safe to embed, no style in it; calibration.css says how each class looks."""

from __future__ import annotations

from hashlib import sha256
from html import escape

from permits.calibration.charts.layout import WIDE
from permits.calibration.charts.marks import Dot, Line, Mark, Picture, Words


def render(picture: Picture) -> str:
    """The `<svg>` element. Text is escaped and stays text; classes are `ch-` and the ink's name."""
    name = "ch-" + sha256(repr(picture).encode()).hexdigest()[:10]
    form = "ch-wide" if picture.width >= WIDE else "ch-narrow"
    size = (
        f'viewBox="0 0 {n(picture.width)} {n(picture.height)}" width="{n(picture.width)}" '
        f'height="{n(picture.height)}"'
    )
    return "".join(
        [
            f'<svg class="ch {form}" xmlns="http://www.w3.org/2000/svg" {size} role="img"'
            f' aria-labelledby="{name}-t {name}-d">',
            f'<title id="{name}-t">{escape(picture.title)}</title>',
            f'<desc id="{name}-d">{escape(picture.description)}</desc>',
            *map(drawn, picture.marks),
            "</svg>",
        ]
    )


def drawn(mark: Mark) -> str:
    ink = f'class="ch-{mark.ink}"'
    match mark:
        case Line():
            return f'<polyline {ink} points="{" ".join(f"{n(x)},{n(y)}" for x, y in mark.places)}"/>'
        case Dot():
            return f'<circle {ink} cx="{n(mark.x)}" cy="{n(mark.y)}" r="{n(mark.radius)}"/>'
        case Words():
            place = f'x="{n(mark.x)}" y="{n(mark.y)}" font-size="{n(mark.size)}" text-anchor="{mark.anchor}"'
            return f"<text {ink} {place}>{escape(mark.text)}</text>"


def n(value: float) -> str:
    """One decimal is a tenth of a pixel: finer than anyone sees."""
    return f"{value:.1f}".removesuffix(".0")
