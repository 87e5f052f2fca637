"""What a placard is made of: the head, energies, the rows of points with their codes, and running text.

Type sizes: capitals of a two-hundredth of the distance can be read (common practice for signs). At 20 points
capitals are 5 mm high, so the points' names are read from a metre.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, Paragraph, Table

from permits.plant.prints import fonts, qr

NAME = 20.0
PLACE = 14.0
NOTE = 11.5
HEADING = 17.0
TEXT = 12.0
_VERB = 12.0
_SIGN = 30.0
_LEFT = 25 * mm
_CODE = 26 * mm
_SHORT = 5 * mm
_GAP = 3 * mm
_PAD = 2.2 * mm
BOX_PAD = 3 * mm


@dataclass(frozen=True, slots=True)
class Words:
    """A text that is wrapped to its room and set in one size."""

    text: str
    size: float
    bold: bool = False
    above: float = 0.0

    @property
    def leading(self) -> float:
        return self.size * 1.22

    def lines(self, room: float) -> list[str]:
        return [
            line
            for part in self.text.splitlines()
            for line in fonts.wrap(part, self.size, room, bold=self.bold) or [""]
        ]

    def height(self, room: float) -> float:
        return len(self.lines(room)) * self.leading + (self.above if self.text else 0)


def height_of(column: list[Words], room: float) -> float:
    return sum(words.height(room) for words in column)


def draw_column(canvas: Any, x: float, top: float, column: list[Words], room: float) -> None:
    """The texts below each other from `top` down."""
    for words in column:
        if not words.text:
            continue
        top -= words.above
        for line in words.lines(room):
            top -= words.leading
            fonts.draw(canvas, x, top + words.size * 0.27, line, words.size, bold=words.bold)


class Head(Flowable):  # type: ignore[misc]
    """The machine's name, larger than anything else, and beside it which revision this is and who says so."""

    def __init__(self, name: str, facts: list[Words], revision: str, approval: list[Words]) -> None:
        super().__init__()
        self.left = [Words(name, 32, bold=True), *facts]
        self.right = [Words(revision, 17, bold=True), *approval]

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        self.width, self.aside = room, 54 * mm
        self.main = room - self.aside - _GAP
        inside = height_of(self.right, self.aside - 2 * _PAD) + 2 * _PAD
        self.height = max(height_of(self.left, self.main), inside) + _PAD
        return self.width, self.height

    def draw(self) -> None:
        canvas = self.canv
        draw_column(canvas, 0, self.height, self.left, self.main)
        inside = self.aside - 2 * _PAD
        tall = height_of(self.right, inside) + 2 * _PAD
        left = self.width - self.aside
        canvas.setLineWidth(2)
        canvas.rect(left, self.height - tall, self.aside, tall)
        draw_column(canvas, left + _PAD, self.height - _PAD, self.right, inside)


@dataclass(frozen=True, slots=True)
class Plate:
    """A point's plate: the address in its code, and its short code as printed. Empty: none is issued yet."""

    url: str = ""
    short: str = ""


class Mark(StrEnum):
    """The sign beside a step, as the energy picture has it: the gap of a lock, the dot of a store."""

    NONE = ""
    GAP = "gap"
    STORE = "store"


class Row(Flowable):  # type: ignore[misc]
    """One step: its number and what is done, where, and the plate of the point where it is done."""

    def __init__(
        self,
        number: int,
        does: str,
        column: list[Words],
        plate: Plate | None = None,
        mark: Mark = Mark.NONE,
        size: float = 30,
    ) -> None:
        super().__init__()
        self.number, self.does, self.column = number, does.upper(), column
        self.plate, self.mark, self.size = plate, mark, size

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        self.width = room
        self.main = room - _LEFT - (_CODE + _GAP if self.plate else 0)
        side = self.size * 0.8 + _VERB * 1.5 + (_SIGN if self.mark else 0)
        least = max(side, _CODE + _SHORT if self.plate else 0)
        self.height = max(height_of(self.column, self.main), least) + 2 * _PAD
        return self.width, self.height

    def draw(self) -> None:
        canvas = self.canv
        canvas.setLineWidth(1)
        canvas.line(0, self.height, self.width, self.height)
        middle, y = _LEFT / 2 - 1.4 * mm, self.height - _PAD - self.size * 0.8
        fonts.draw(canvas, middle, y, str(self.number), self.size, bold=True, anchor="middle")
        y -= _VERB * 1.4
        fonts.draw(canvas, middle, y, self.does, _VERB, bold=True, anchor="middle")
        if self.mark:
            _draw_mark(canvas, middle, y - _SIGN * 0.62, self.mark)
        draw_column(canvas, _LEFT, self.height - _PAD, self.column, self.main)
        if self.plate:
            _draw_plate(canvas, self.width - _CODE, self.height - _PAD, self.plate)


def _draw_mark(canvas: Any, x: float, y: float, mark: Mark) -> None:
    canvas.saveState()
    if mark is Mark.GAP:
        canvas.setLineWidth(4)
        canvas.line(x - 24, y, x - 11, y)
        canvas.line(x + 11, y, x + 24, y)
        canvas.setLineWidth(2.6)
        for at in (x - 11, x + 11):
            canvas.line(at, y - 9, at, y + 9)
        canvas.setLineWidth(1.4)
        canvas.setDash(2, 2)
        canvas.rect(x - 7, y - 6, 14, 12)
    else:
        canvas.setLineWidth(2.4)
        canvas.roundRect(x - 19, y - 9, 38, 18, 9)
        canvas.circle(x, y, 4.5, stroke=0, fill=1)
    canvas.restoreState()


def _draw_plate(canvas: Any, left: float, top: float, plate: Plate) -> None:
    """The code with the short code below it, as on the plate itself."""
    bottom = top - _CODE
    if plate.url:
        qr.draw(canvas, left, bottom, _CODE, qr.matrix(plate.url))
        size = min(12.0, 12.0 * _CODE / fonts.width(plate.short, 12.0, bold=True))
        fonts.draw(
            canvas, left + _CODE / 2, bottom - size * 0.6, plate.short, size, bold=True, anchor="middle"
        )
        return
    canvas.saveState()
    canvas.setLineWidth(1)
    canvas.setDash(3, 3)
    canvas.rect(left + 2 * mm, bottom + 2 * mm, _CODE - 4 * mm, _CODE - 4 * mm)
    canvas.restoreState()
    for at, line in enumerate(("no plate", "issued yet")):
        fonts.draw(canvas, left + _CODE / 2, bottom + _CODE / 2 - at * 11, line, 9, anchor="middle")


class Rule(Flowable):  # type: ignore[misc]
    """The line below the last row, and the room after it."""

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        self.width, self.height = room, _GAP
        return room, _GAP

    def draw(self) -> None:
        self.canv.setLineWidth(1)
        self.canv.line(0, self.height, self.width, self.height)


class Energy(Flowable):  # type: ignore[misc]
    """One energy: its kind and magnitude, and beside it where it comes from."""

    def __init__(self, what: str, source: str, note: str = "") -> None:
        super().__init__()
        self.left = [Words(what, TEXT, bold=True)]
        self.right = [Words(" · ".join(filter(None, (source, note))), NOTE - 1)]

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        self.width, self.share = room, room * 0.39
        columns = ((self.left, self.share - _GAP), (self.right, room - self.share))
        self.height = max(height_of(column, wide) for column, wide in columns) + 1.6 * mm
        return self.width, self.height

    def draw(self) -> None:
        self.canv.setLineWidth(0.4)
        self.canv.line(0, self.height, self.width, self.height)
        top = self.height - 0.6 * mm
        draw_column(self.canv, 0, top, self.left, self.share - _GAP)
        draw_column(self.canv, self.share, top, self.right, self.width - self.share)


def heading(words: str, width: float, *, room: float = 45 * mm) -> list[Flowable]:
    """A heading that keeps some room below it on its page."""
    return [CondPageBreak(room), text(words, width, size=HEADING, bold=True, before=4 * mm, after=1.2 * mm)]


def text(
    words: str, width: float, *, size: float = TEXT, bold: bool = False, before: float = 0, after: float = 0
) -> Paragraph:
    """Plain text in any script, wrapped here so that nothing is cut; it goes on over pages."""
    font = fonts.MAIN + ("-Bold" if bold else "")
    style = ParagraphStyle(
        f"placard {size} {bold}", fontName=font, fontSize=size, leading=size * 1.28, spaceBefore=before,
        spaceAfter=after,
    )  # fmt: skip
    lines = Words(words, size, bold).lines(width - 0.6)
    return Paragraph("<br/>".join(fonts.marked_up(line, bold=bold) for line in lines), style)


def boxed(parts: list[Flowable], width: float) -> Flowable:
    """Flowables in a heavy frame, which goes on over pages."""
    made = Table([[part] for part in parts], colWidths=[width], splitInRow=1, hAlign="LEFT")
    made.setStyle(
        [
            ("FONTNAME", (0, 0), (-1, -1), fonts.MAIN),  # a table names its font before it draws its cells
            ("BOX", (0, 0), (-1, -1), 2.4, "black"),
            ("LEFTPADDING", (0, 0), (-1, -1), BOX_PAD),
            ("RIGHTPADDING", (0, 0), (-1, -1), BOX_PAD),
            ("TOPPADDING", (0, 0), (-1, -1), 2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
            ("TOPPADDING", (0, 0), (-1, 0), 5),
            ("BOTTOMPADDING", (0, -1), (-1, -1), 8),
        ]
    )
    return made
