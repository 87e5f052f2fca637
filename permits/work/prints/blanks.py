"""What a form for handwriting is made of: lines of labelled blanks and ticks, point heads, section heads.

A blank is at least 8 mm high, so that a hand in a glove can write in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, Spacer, Table

from permits.plant.prints import fonts
from permits.plant.prints.placard_rows import BOX_PAD, text

LINE = 10 * mm
SMALL = 7.5
BODY = 9.0
_LABEL = 6.5
_FILLED = 9.0
_TICK = 5 * mm
_PAD = 1.2 * mm
_LABEL_LEADING = _LABEL * 1.2
_FILLED_LEADING = _FILLED * 1.2


@dataclass(frozen=True, slots=True)
class Blank:
    """A box to write in. `share` of the line's width; `filled`: what is known at the time of printing.

    `tick`: a square to tick with the words beside it instead.
    """

    label: str
    share: float = 1
    filled: str = ""
    tick: bool = False


class Line(Flowable):  # type: ignore[misc]
    """Blanks side by side; higher where what is filled in needs more room."""

    def __init__(self, width: float, blanks: Sequence[Blank], height: float = LINE) -> None:
        super().__init__()
        total = sum(blank.share for blank in blanks)
        self.cells = [(blank, width * blank.share / total) for blank in blanks]
        self.width, self.least = width, height
        self.height = max([height, *(self._needs(blank, room) for blank, room in self.cells)])

    def wrap(self, _width: float, _height: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        x = 0.0
        self.canv.saveState()
        self.canv.setStrokeGray(0)
        self.canv.setFillGray(0)
        self.canv.setLineWidth(0.6)
        for blank, room in self.cells:
            self.canv.rect(x, 0, room, self.height)
            (self._tick if blank.tick else self._box)(self.canv, x, blank, room)
            x += room
        self.canv.restoreState()

    def _needs(self, blank: Blank, room: float) -> float:
        if blank.tick:
            words = _wrapped(blank.label, SMALL, room - _TICK - 3 * _PAD)
            return float(len(words) * SMALL * 1.2 + 2 * _PAD)
        inside = room - 2 * _PAD
        labels = len(_wrapped(blank.label, _LABEL, inside)) * _LABEL_LEADING
        filled = len(_wrapped(blank.filled, _FILLED, inside, bold=True)) * _FILLED_LEADING
        return float(labels + filled + 2 * _PAD if blank.filled else labels + _PAD)

    def _box(self, canvas: Any, x: float, blank: Blank, room: float) -> None:
        y = self.height - _LABEL - 0.6 * _PAD
        for words in _wrapped(blank.label, _LABEL, room - 2 * _PAD):
            fonts.draw(canvas, x + _PAD, y, words, _LABEL)
            y -= _LABEL_LEADING
        y -= _FILLED - _LABEL + 1
        for words in _wrapped(blank.filled, _FILLED, room - 2 * _PAD, bold=True):
            fonts.draw(canvas, x + _PAD, y, words, _FILLED, bold=True)
            y -= _FILLED_LEADING

    def _tick(self, canvas: Any, x: float, blank: Blank, room: float) -> None:
        canvas.rect(x + _PAD, (self.height - _TICK) / 2, _TICK, _TICK)
        lines = _wrapped(blank.label, SMALL, room - _TICK - 3 * _PAD)
        y = (self.height + len(lines) * SMALL * 1.2) / 2 - SMALL
        for words in lines:
            fonts.draw(canvas, x + _TICK + 2 * _PAD, y, words, SMALL)
            y -= SMALL * 1.2


def _wrapped(words: str, size: float, room: float, *, bold: bool = False) -> list[str]:
    return fonts.wrap(words, size, room, bold=bold) if words else []


def lines(width: float, rows: Iterable[Sequence[Blank]], *, height: float = LINE) -> list[Flowable]:
    return [Line(width, row, height) for row in rows]


def section(number: int, title: str, entering: str, width: float, *, room: float = 45 * mm) -> list[Flowable]:
    """A section's head with a thick line; `entering`: what of it the server takes late."""
    left = width * 0.44
    made = Table(
        [[text(f"{number}  {title}", left, size=12.5, bold=True),
          text(entering, width - left - 1 * mm, size=SMALL)]],
        colWidths=[left, width - left],
    )  # fmt: skip
    made.setStyle([
        ("FONTNAME", (0, 0), (-1, -1), fonts.MAIN),  # a table names its font before it draws its cells
        ("LINEABOVE", (0, 0), (-1, 0), 1.8, "black"),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 4), ("BOTTOMPADDING", (0, 0), (-1, -1), 4),
    ])  # fmt: skip
    return [CondPageBreak(room), Spacer(1, 4 * mm), made]


def point_head(
    width: float, number: int, does: str, words: Sequence[tuple[str, bool]], plate: str
) -> Flowable:
    """A point's number, what is done there, its (words, bold) one below the other, and its plate's code."""
    widths = [9 * mm, 22 * mm, width - 66 * mm, 35 * mm]
    room = widths[3] - 2 * _PAD
    cells = [
        text(str(number), widths[0], size=14, bold=True),
        text(does.upper(), widths[1], size=10.5, bold=True),
        [
            text(said, widths[2] - 2 * _PAD, size=BODY if bold else SMALL, bold=bold)
            for said, bold in words
            if said
        ],
        [
            text("Plate", room, size=_LABEL),
            text(plate or "none issued", room, size=11 if plate else SMALL, bold=bool(plate)),
        ],
    ]
    made = Table([cells], colWidths=widths)
    made.setStyle([
        ("FONTNAME", (0, 0), (-1, -1), fonts.MAIN),
        ("BOX", (0, 0), (-1, -1), 1.2, "black"),
        ("LINEBEFORE", (3, 0), (3, 0), 0.6, "black"),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("LEFTPADDING", (0, 0), (-1, -1), _PAD), ("RIGHTPADDING", (0, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 2), ("BOTTOMPADDING", (0, 0), (-1, -1), 3.5),
    ])  # fmt: skip
    return made


def together(parts: Sequence[Flowable]) -> Flowable:
    """On one page where they fit on one, with a little room below."""
    return KeepTogether([*parts, Spacer(1, 2.5 * mm)])


def loud(words: Sequence[tuple[str, float, bool]], width: float) -> Flowable:
    """(words, size, bold), one below the other, in a heavy frame."""
    inside = width - 2 * BOX_PAD
    parts = [text(said, inside, size=size, bold=bold, after=1) for said, size, bold in words]
    made = Table([[parts]], colWidths=[width])
    made.setStyle([
        ("FONTNAME", (0, 0), (-1, -1), fonts.MAIN),
        ("BOX", (0, 0), (-1, -1), 2.4, "black"),
        ("LEFTPADDING", (0, 0), (-1, -1), BOX_PAD), ("RIGHTPADDING", (0, 0), (-1, -1), BOX_PAD),
        ("TOPPADDING", (0, 0), (-1, -1), 5), ("BOTTOMPADDING", (0, 0), (-1, -1), 7),
    ])  # fmt: skip
    return made


def facts(width: float, pairs: Iterable[tuple[str, str]], *, share: float = 0.2) -> list[Flowable]:
    """Labels and values, one a row; a long one goes on over pages. `share`: of the width, for the labels."""
    label = width * share
    rows = [
        [text(name, label - _PAD, size=8.5, bold=True), text(value, width - label - _PAD, size=8.5)]
        for name, value in pairs
    ]
    if not rows:
        return []
    made = Table(rows, colWidths=[label, width - label], splitInRow=1, hAlign="LEFT")
    made.setStyle([
        ("FONTNAME", (0, 0), (-1, -1), fonts.MAIN),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (-1, -1), _PAD),
        ("TOPPADDING", (0, 0), (-1, -1), 1.6), ("BOTTOMPADDING", (0, 0), (-1, -1), 2.6),
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, "black"),
    ])  # fmt: skip
    return [made]
