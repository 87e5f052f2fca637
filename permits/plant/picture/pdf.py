"""A drawing on paper: black on white, so that it survives a copier; states differ in line, dash and words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from reportlab.platypus import Flowable

from permits.plant.picture.drawing import Box, Dot, Drawing, Ink, Line, Mark, Place, Shape, Words
from permits.plant.prints import fonts

UNIT = 0.75
"""Points in a CSS pixel: a picture is never drawn larger than on screen."""


@dataclass(frozen=True, slots=True)
class _Stroke:
    """Widths and dashes in the drawing's own unit; greys from 0 (black) to 1 (paper)."""

    width: float = 0.0
    dash: tuple[float, ...] = ()
    fill: float | None = None


_STROKES = {
    Ink.DEAD: _Stroke(1.0),
    Ink.LIVE: _Stroke(4.5),
    Ink.PATH: _Stroke(9.0),
    Ink.BOX: _Stroke(1.6, fill=1.0),
    Ink.BOX_LIVE: _Stroke(2.6, fill=1.0),
    Ink.BOX_UNFED: _Stroke(0.8, fill=1.0),
    Ink.SUPPLY: _Stroke(fill=0.0),
    Ink.BAR: _Stroke(2.8),
    Ink.BAR_LOCKED: _Stroke(2.8),
    Ink.BAR_PROVEN: _Stroke(2.8),
    Ink.PLATE_LOCKED: _Stroke(2.0, (5, 3), 1.0),
    Ink.PLATE_PROVEN: _Stroke(2.0, fill=1.0),
    Ink.PLATE_PLANNED: _Stroke(1.6, (2, 2)),
    Ink.ZONE_EXPOSED: _Stroke(6.0, fill=1.0),
    Ink.ZONE_LOCKED: _Stroke(2.4, (7, 4), 1.0),
    Ink.ZONE_PROVEN: _Stroke(2.4, fill=1.0),
    Ink.ZONE_UNFED: _Stroke(0.8, (2, 3), 1.0),
}
_FILLED = _Stroke(fill=0.0)
"""Arrow heads and dots."""


def render(drawing: Drawing, width: float, *, window: tuple[float, float] | None = None) -> Picture:
    """The drawing as a flowable at most `width` points wide; an upright one goes on on the next page.

    `window` is the part of it to draw, from and to a height in the drawing's unit.
    """
    return Picture(drawing, width, window or (0.0, drawing.height))


class Picture(Flowable):  # type: ignore[misc]
    """A drawing, or the part of it between two heights, in a reportlab story."""

    def __init__(self, drawing: Drawing, width: float, window: tuple[float, float]) -> None:
        super().__init__()
        fonts.register()
        self.drawing = drawing
        self.room = width
        self.window = window
        self.scale = min(UNIT, width / drawing.width)
        self.width = drawing.width * self.scale
        self.height = (window[1] - window[0]) * self.scale

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        return self.width, self.height

    def split(self, room: float, height: float) -> list[Picture]:
        """Two pictures, cut between rows, where this one is higher than what is left of the page."""
        start, end = self.window
        cut = max(
            (at for at in self.drawing.breaks if start < at <= start + height / self.scale), default=None
        )
        if cut is None or cut >= end:
            return []
        return [render(self.drawing, self.room, window=window) for window in ((start, cut), (cut, end))]

    def draw(self) -> None:
        canvas = self.canv
        start, end = self.window
        canvas.saveState()
        edge = canvas.beginPath()
        edge.rect(-4, -1, self.width + 8, self.height + 2)
        canvas.clipPath(edge, stroke=0)
        canvas.transform(self.scale, 0, 0, self.scale, 0, end * self.scale)
        canvas.setLineJoin(1)
        for mark in (*self.drawing.lines, *(mark for group in self.drawing.groups for mark in group.marks)):
            if _reaches(mark, start, end):
                _draw(canvas, mark)
        canvas.restoreState()


def _reaches(mark: Mark, start: float, end: float) -> bool:
    match mark:
        case Line() | Shape():
            ys = [y for _, y in mark.places]
            return max(ys) >= start and min(ys) <= end
        case Box():
            return mark.y + mark.height >= start and mark.y <= end
        case _:
            return start - 20 <= mark.y <= end + 20


def _draw(canvas: Any, mark: Mark) -> None:
    """One mark, its y turned over: paper counts upwards."""
    if isinstance(mark, Words):
        canvas.setFillGray(1.0 if mark.ink in (Ink.ON_SUPPLY, Ink.ON_SUPPLY_NOTE) else 0.0)
        anchor = "middle" if mark.centred else "start"
        fonts.draw(canvas, mark.x, -mark.y, mark.text, mark.size, bold=mark.bold, anchor=anchor)
        return
    stroke = _STROKES.get(mark.ink, _FILLED)
    canvas.setStrokeGray(0.0)
    canvas.setLineWidth(stroke.width)
    canvas.setDash(list(stroke.dash))
    if stroke.fill is not None:
        canvas.setFillGray(stroke.fill)
    does = {"stroke": int(stroke.width > 0), "fill": int(stroke.fill is not None)}
    match mark:
        case Line():
            canvas.drawPath(_path(canvas, mark.places, closed=False), stroke=1, fill=0)
        case Shape():
            canvas.drawPath(_path(canvas, mark.places, closed=True), **does)
        case Box():
            canvas.roundRect(mark.x, -mark.y - mark.height, mark.width, mark.height, mark.corner, **does)
        case Dot():
            canvas.circle(mark.x, -mark.y, mark.radius, **does)


def _path(canvas: Any, places: tuple[Place, ...], *, closed: bool) -> Any:
    path = canvas.beginPath()
    path.moveTo(places[0][0], -places[0][1])
    for x, y in places[1:]:
        path.lineTo(x, -y)
    if closed:
        path.close()
    return path
