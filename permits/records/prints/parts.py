"""What a printed record is made of: cells in any script, tables that go on over pages, boxes, facts."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from xml.sax.saxutils import escape

from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, Paragraph, Spacer, Table

from permits.plant.prints import fonts, page
from permits.records.listings import Column

PAD = 1.2 * mm
_SLACK = 0.6
"""What a line is kept shorter than its cell, so that what was wrapped here is not wrapped again there."""

_FORWARD = "\u200e"
"""A mark (UAX #9, LRM): a sentence that begins with a name in Hebrew still reads from left to right."""
_EMBEDDED = ("FONTNAME", (0, 0), (-1, -1), fonts.MAIN)
"""A table names its own font before it draws its cells, even where all of them are paragraphs."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """How wide the story is, and its styles."""

    width: float
    styles: dict[str, ParagraphStyle] = field(default_factory=page.styles)


def text(words: str, style: ParagraphStyle, width: float) -> Paragraph:
    """A paragraph of plain text in any script; a word wider than `width` is broken, never cut."""
    bold = style.fontName.endswith("-Bold")
    if style.fontName == fonts.MONO:  # digests and kinds: ASCII of the ledger's own
        return Paragraph("<br/>".join(escape(line) for line in words.splitlines()), style)
    lines = []
    for line in words.splitlines() or [""]:
        lines += fonts.wrap(line, style.fontSize, width - _SLACK, bold=bold) or [""]
    first = _FORWARD if any(unicodedata.bidirectional(letter) == "L" for letter in words) else ""
    return Paragraph("<br/>".join(fonts.marked_up(first + line, bold=bold) for line in lines), style)


def heading(sheet: Sheet, words: str, *, room: float = 32 * mm) -> list[Flowable]:
    """A heading that keeps some room below it on its page."""
    return [CondPageBreak(room), text(words, sheet.styles["heading"], sheet.width)]


def said(sheet: Sheet, words: str, style: str = "body") -> list[Flowable]:
    return [text(words, sheet.styles[style], sheet.width)]


def gap(height: float = 2 * mm) -> Flowable:
    return Spacer(1, height)


def table(sheet: Sheet, columns: Sequence[Column], rows: Iterable[Sequence[str]]) -> list[Flowable]:
    """Rows under a head that stands again on each page; a row too high for a page goes on over pages."""
    total = sum(column.share for column in columns)
    widths = [sheet.width * column.share / total for column in columns]
    head = [
        text(column.head, sheet.styles["head"], width - PAD)
        for column, width in zip(columns, widths, strict=True)
    ]
    body = [
        [
            text(cell, sheet.styles[column.style], width - PAD)
            for cell, column, width in zip(row, columns, widths, strict=True)
        ]
        for row in rows
    ]
    made = Table([head, *body], colWidths=widths, repeatRows=1, splitInRow=1, hAlign="LEFT")
    made.setStyle(
        [
            _EMBEDDED,
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), PAD),
            ("TOPPADDING", (0, 0), (-1, -1), 1.8),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2.6),
            ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
            ("LINEABOVE", (0, 0), (-1, 0), 1.0, "black"),
            ("LINEBELOW", (0, 0), (-1, 0), 1.0, "black"),
            ("LINEBELOW", (0, 1), (-1, -1), 0.3, "black"),
        ]
    )
    return [made, gap()]


def facts(sheet: Sheet, pairs: Iterable[tuple[str, str]]) -> list[Flowable]:
    """Labels and values, one a row."""
    label = sheet.width * 0.19
    rows = [
        [
            text(name, sheet.styles["strong"], label - PAD),
            text(value or "–", sheet.styles["cell"], sheet.width - label - PAD),
        ]
        for name, value in pairs
    ]
    if not rows:
        return []
    made = Table(rows, colWidths=[label, sheet.width - label], splitInRow=1, hAlign="LEFT")
    made.setStyle(
        [
            _EMBEDDED,
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), PAD),
            ("TOPPADDING", (0, 0), (-1, -1), 1.6),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2.2),
            ("LINEABOVE", (0, 0), (-1, 0), 1.0, "black"),
            ("LINEBELOW", (0, 0), (-1, -1), 0.3, "black"),
        ]
    )
    return [made, gap()]


def box(sheet: Sheet, groups: Sequence[Sequence[tuple[str, str]]], *, heavy: bool) -> list[Flowable]:
    """Groups of paragraphs (style, words) in a frame; a heavy one cannot be overlooked.

    It goes on over pages, and parts a group only where it is higher than a page.
    """
    inset = 3 * mm
    room = sheet.width - 2 * inset
    rows = [[[text(words, sheet.styles[style], room) for style, words in group]] for group in groups]
    made = Table(rows, colWidths=[sheet.width], splitInRow=1, hAlign="LEFT")
    made.setStyle(
        [
            _EMBEDDED,
            ("BOX", (0, 0), (-1, -1), 2.4 if heavy else 0.8, "black"),
            ("LEFTPADDING", (0, 0), (-1, -1), inset),
            ("RIGHTPADDING", (0, 0), (-1, -1), inset),
            ("TOPPADDING", (0, 0), (-1, -1), 1.5),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
            ("TOPPADDING", (0, 0), (-1, 0), 5),
            ("BOTTOMPADDING", (0, -1), (-1, -1), 6),
        ]
    )
    return [made, gap(3 * mm)]


def styles() -> dict[str, ParagraphStyle]:
    """The page's styles and those of a record's tables."""
    known = page.styles()
    cell = ParagraphStyle("record cell", known["cell"], fontSize=7.5, leading=9.8)
    strong = ParagraphStyle("record strong", cell, fontName=fonts.MAIN + "-Bold")
    return known | {
        "cell": cell,
        "strong": strong,
        "head": ParagraphStyle("record head", strong, fontSize=7, leading=9),
        "heading": ParagraphStyle("record heading", known["heading"], keepWithNext=0),
        "loud": ParagraphStyle("record loud", known["bold"], fontSize=15, leading=19),
        "mono": ParagraphStyle("record mono", known["mono"], fontSize=6.4, leading=9.8),
    }
