"""A chart on paper: black on white, so that it survives a copier; lines differ in width and dash."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from reportlab.platypus import Flowable

from permits.calibration.charts import marks
from permits.calibration.charts.marks import Dot, Ink, Line, Mark, Words
from permits.plant.prints import fonts


@dataclass(frozen=True, slots=True)
class _Stroke:
    """Widths and dashes in the chart's own unit; `fill`: grey from 0 (black) to 1 (paper)."""

    width: float = 1.0
    dash: tuple[float, ...] = ()
    fill: float | None = None


_STROKES = {
    Ink.FRAME: _Stroke(1.2),
    Ink.TICK: _Stroke(0.5),
    Ink.MEAN: _Stroke(1.0),
    Ink.LIMIT: _Stroke(1.2, (5, 4)),
    Ink.TOLERANCE: _Stroke(2.0, (12, 4)),
    Ink.VALUES: _Stroke(1.0),
    Ink.DOT: _Stroke(1.0, fill=0.0),
    Ink.HOLLOW: _Stroke(1.4, fill=1.0),
    Ink.RING: _Stroke(1.6),
}


class Picture(Flowable):  # type: ignore[misc]
    """A chart in a reportlab story, `width` points wide."""

    def __init__(self, picture: marks.Picture, width: float) -> None:
        super().__init__()
        fonts.register()
        self.picture = picture
        self.scale = width / picture.width
        self.width, self.height = width, picture.height * self.scale

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        canvas = self.canv
        canvas.saveState()
        canvas.transform(self.scale, 0, 0, self.scale, 0, self.height)
        for mark in self.picture.marks:
            _draw(canvas, mark)
        canvas.restoreState()


def _draw(canvas: Any, mark: Mark) -> None:
    """One mark, its y turned over: paper counts upwards."""
    if isinstance(mark, Words):
        canvas.setFillGray(0.0)
        bold = mark.ink is Ink.HEAD
        fonts.draw(canvas, mark.x, -mark.y, mark.text, mark.size, bold=bold, anchor=mark.anchor)
        return
    stroke = _STROKES[mark.ink]
    canvas.setStrokeGray(0.0)
    canvas.setLineWidth(stroke.width)
    canvas.setDash(list(stroke.dash))
    match mark:
        case Line():
            path = canvas.beginPath()
            path.moveTo(mark.places[0][0], -mark.places[0][1])
            for x, y in mark.places[1:]:
                path.lineTo(x, -y)
            canvas.drawPath(path, stroke=1, fill=0)
        case Dot():
            if stroke.fill is not None:
                canvas.setFillGray(stroke.fill)
            canvas.circle(mark.x, -mark.y, mark.radius, stroke=1, fill=int(stroke.fill is not None))
