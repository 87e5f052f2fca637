"""The frame of every printed page: whose it is, what it is, where it leads back to, and the caution."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from io import BytesIO
from typing import Any

from reportlab.lib.pagesizes import A4, LETTER, landscape
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate, Paragraph

from permits.plant.prints import fonts, qr

CAUTION = (
    "Paper and software do not make a machine safe: locks, tests and people do. The employer's own "
    "energy-control procedure, local codes and licensed practice come first. Test before you touch."
)

MARGIN = 16 * mm
_HEADER = 11 * mm
_FOOTER = 21 * mm
_CODE = 21 * mm


class Paper(StrEnum):
    A4 = "A4"
    LETTER = "Letter"

    @property
    def points(self) -> tuple[float, float]:
        """Width and height upright, in points."""
        return (float(A4[0]), float(A4[1])) if self is Paper.A4 else (float(LETTER[0]), float(LETTER[1]))


@dataclass(frozen=True, slots=True)
class PageFrame:
    """What stands on every page of one print.

    `leads_to` is the full address of the record, printed as a code and in letters; `entries` names the ledger
    entries it rests on ("Entries 12 to 96"); `printed_at` is aware, in the site's own time.
    """

    site: str
    title: str
    leads_to: str
    printed_at: datetime
    entries: str = ""
    paper: Paper = Paper.A4
    wide: bool = False
    caution: str = CAUTION

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the page in points."""
        width, height = landscape(self.paper.points) if self.wide else self.paper.points
        return width, height

    @property
    def room(self) -> tuple[float, float]:
        """Width and height left for the story, in points."""
        width, height = self.size
        return width - 2 * MARGIN, height - 2 * MARGIN - _HEADER - _FOOTER + 8 * mm


def bind(frame: PageFrame, story: Sequence[Flowable]) -> bytes:
    """The story as a PDF, framed on each page. The same story gives the same bytes."""
    fonts.register()
    width, height = frame.size
    room_width, room_height = frame.room
    file = BytesIO()
    document = BaseDocTemplate(
        file,
        pagesize=(width, height),
        title=f"{frame.title} · {frame.site}",
        author=frame.site,
        creator="Permits",
        lang="en",
        invariant=1,
        initialFontName=fonts.MAIN,
    )
    inside = Frame(
        MARGIN, MARGIN + _FOOTER - 8 * mm, room_width, room_height,
        leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0,
    )  # fmt: skip
    document.addPageTemplates(PageTemplate(frames=[inside]))
    with fonts.PRESS:
        document.build(list(story), canvasmaker=_framed(frame))
    return file.getvalue()


def stamp(at: datetime) -> str:
    """A time as prints show it, with its distance from UTC: "25 Nov 2026, 08:40 (UTC+01:00)"."""
    offset = at.strftime("%z")
    zone = f"UTC{offset[:3]}:{offset[3:5]}" if offset and offset.strip("+-0") else "UTC"
    return f"{at.day} {at:%b %Y, %H:%M} ({zone})"


def draw_frame(canvas: Canvas, frame: PageFrame, page: int, pages: int) -> None:
    """Header and footer on the canvas's current page."""
    width, height = frame.size
    right = width - MARGIN
    canvas.saveState()
    canvas.setFillGray(0)
    canvas.setStrokeGray(0)
    base = height - MARGIN - 3.2 * mm
    room = (right - MARGIN) * 0.48
    fonts.draw(canvas, MARGIN, base, _shortened(frame.title, 10, room, bold=True), 10, bold=True)
    fonts.draw(canvas, right, base, _shortened(frame.site, 9, room), 9, anchor="end")
    canvas.setLineWidth(1.2)
    canvas.line(MARGIN, base - 2.4 * mm, right, base - 2.4 * mm)

    canvas.setLineWidth(0.5)
    top = MARGIN + _FOOTER - 11 * mm
    text_right = right - _CODE - 3 * mm
    canvas.line(MARGIN, top, text_right, top)
    qr.draw(canvas, right - _CODE, top - _CODE + 3 * mm, _CODE, qr.matrix(frame.leads_to))
    line = top - 3.6 * mm
    facts = " · ".join(
        filter(None, (f"Page {page} of {pages}", frame.entries, f"Printed {stamp(frame.printed_at)}"))
    )
    room = text_right - MARGIN
    for text, size, bold in ((facts, 7.5, True), (frame.leads_to, 7, False), (frame.caution, 7, False)):
        for words in fonts.wrap(text, size, room, bold=bold):
            fonts.draw(canvas, MARGIN, line, words, size, bold=bold)
            line -= size * 1.3
    canvas.restoreState()


def styles() -> dict[str, ParagraphStyle]:
    """Paragraph styles in embedded fonts: title, heading, body, small, cell, bold, mono."""
    fonts.register()
    strong = fonts.MAIN + "-Bold"
    body = ParagraphStyle("body", fontName=fonts.MAIN, fontSize=9, leading=12.5)
    return {
        "title": ParagraphStyle("title", body, fontName=strong, fontSize=17, leading=21, spaceAfter=6),
        "heading": ParagraphStyle(
            "heading", body, fontName=strong, fontSize=11.5, leading=15, spaceBefore=10, spaceAfter=4,
            keepWithNext=1,
        ),
        "body": body,
        "small": ParagraphStyle("small", body, fontSize=7.5, leading=10),
        "cell": ParagraphStyle("cell", body, fontSize=8, leading=10.5),
        "bold": ParagraphStyle("bold", body, fontName=strong),
        "mono": ParagraphStyle("mono", body, fontName=fonts.MONO, fontSize=7, leading=9.5),
    }  # fmt: skip


def paragraph(text: str, style: ParagraphStyle) -> Paragraph:
    """A paragraph of plain text in any script: nothing in it is read as markup."""
    return Paragraph(fonts.marked_up(text, bold=style.fontName.endswith("-Bold")), style)


def _shortened(text: str, size: float, room: float, *, bold: bool = False) -> str:
    lines = fonts.wrap(text, size, room, bold=bold) or [""]
    return lines[0] if len(lines) == 1 else fonts.wrap(text, size, room - size, bold=bold)[0] + "…"


def _framed(frame: PageFrame) -> type[Canvas]:
    class Framed(Canvas):  # type: ignore[misc]
        """Holds each page back until their number is known, then frames them all."""

        def __init__(self, *args: Any, **kwargs: Any) -> None:
            super().__init__(*args, **kwargs)
            self._held: list[dict[str, Any]] = []

        def showPage(self) -> None:
            self._held.append(dict(self.__dict__))
            self._startPage()

        def save(self) -> None:
            held = self._held
            for number, page in enumerate(held, 1):
                self.__dict__.update(page)
                draw_frame(self, frame, number, len(held))
                super().showPage()
            super().save()

    return Framed
