"""Embedded fonts for prints: text in any script measured, wrapped, drawn, and marked up for paragraphs."""

from __future__ import annotations

import re
from functools import lru_cache
from threading import RLock
from typing import Any
from xml.sax.saxutils import escape

from reportlab import rl_config
from reportlab.lib.fonts import addMapping
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from permits.plant.prints.faces import dejavu
from permits.plant.prints.shaping import MAIN, clusters, main_font, visual_runs

__all__ = ["MAIN", "MONO", "PRESS", "draw", "marked_up", "register", "runs", "width", "wrap"]

PRESS = RLock()
"""reportlab keeps a font's position in its file as it cuts a subset: one document is saved at a time."""

MONO = "Mono"

_ALONE = "\u3040-\u30ff\u3400-\u9fff\U00020000-\U0003ffff"
"""Kana and Han: a line may break beside each of them."""

_WORD = re.compile(f"[{_ALONE}] ?|[^ /{_ALONE}-]*[ /-]+|[^ /{_ALONE}-]+")

_BEFORE_A_UNIT = re.compile(
    r"(?<=\d) (?=(?:[kMmµn]?(?:V|A|VA|W|J|Pa|F|m|g|s|Hz|N|l)|kWh|bar|°C|min|h|rpm|%)(?![^\s,;.:)]))"
)
"""The space between a number and its unit."""
_BOUND = "\u00a0"


def register() -> str:
    """Make the main fonts known to reportlab; returns the text font's name, for `initialFontName`.

    MAIN and its bold write text, MONO writes digests and codes.
    """
    with PRESS:
        if MAIN not in pdfmetrics.getRegisteredFontNames():
            rl_config.useA85 = 0  # its text form of binary data takes a third more room and time
            files = {
                MAIN: dejavu(),
                main_font(True): dejavu(bold=True),
                MONO: dejavu().with_name("DejaVuSansMono.ttf"),
            }
            for name, file in files.items():
                pdfmetrics.registerFont(TTFont(name, str(file), shapable=False))
            for bold, italic in ((1, 1), (1, 0), (0, 1), (0, 0)):
                addMapping(MAIN, bold, italic, main_font(bool(bold)))
                addMapping(MONO, bold, italic, MONO)
    return MAIN


@lru_cache(maxsize=16384)
def runs(text: str, *, bold: bool = False) -> tuple[tuple[str, str], ...]:
    """`text` as (font, characters), to be drawn one after the other from left to right on one line.

    Every font is embedded. Where none has a character, its code point stands in brackets: "[U+1F9FF]". The
    characters are for these fonts alone: they are not the text where a script joins or turns its letters.
    """
    register()
    return tuple(visual_runs(text, bold))


def width(text: str, size: float, *, bold: bool = False) -> float:
    """How wide `text` is on one line, in the unit of `size`."""
    return float(sum(pdfmetrics.stringWidth(drawn, font, size) for font, drawn in runs(text, bold=bold)))


def wrap(text: str, size: float, room: float, *, bold: bool = False) -> list[str]:
    """`text` in lines no wider than `room`, in reading order; a word that is wider is broken, never cut.

    A number stays with its unit.
    """
    em = room / size
    lines: list[str] = []
    line, used = "", 0.0
    for word in _words(text):
        for piece in [word] if _ems(word.rstrip(), bold) <= em else _broken(word, em, bold):
            if line and used + _ems(piece.rstrip(), bold) > em:
                lines.append(line)
                line, used = "", 0.0
            line += piece
            used += _ems(piece, bold)
    return [text for line in (*lines, line) if (text := line.replace(_BOUND, " ").strip())]


def draw(
    canvas: Any, x: float, y: float, text: str, size: float, *, bold: bool = False, anchor: str = "start"
) -> None:
    """Draw one line on a reportlab canvas; `anchor` says what stands at `x`: its start, middle or end."""
    if anchor != "start":
        x -= width(text, size, bold=bold) * (1.0 if anchor == "end" else 0.5)
    for font, drawn in runs(text, bold=bold):
        canvas.setFont(font, size)
        canvas.drawString(x, y, drawn)
        x += pdfmetrics.stringWidth(drawn, font, size)


def marked_up(text: str, *, bold: bool = False) -> str:
    """`text` for a reportlab Paragraph: escaped, line breaks kept, each font named.

    A few right-to-left words are bound together, so that a line break cannot put them in the wrong order.
    Long texts in such scripts are better wrapped by `wrap` first and given line by line.
    """
    return "<br/>".join(_line_marked_up(line, bold) for line in text.splitlines() or [""])


def _line_marked_up(line: str, bold: bool) -> str:
    return "".join(
        escape(drawn) if font == MAIN else f'<font name="{font}">{escape(drawn)}</font>'
        for font, drawn in runs(line, bold=bold)
    )


@lru_cache(maxsize=65536)
def _ems(word: str, bold: bool) -> float:
    """How wide a word is where the text's size is 1."""
    return width(word, 1.0, bold=bold)


@lru_cache(maxsize=4096)
def _words(text: str) -> tuple[str, ...]:
    """Words with the space after them; a character of a script without spaces is a word."""
    return tuple(_WORD.findall(_BEFORE_A_UNIT.sub(_BOUND, " ".join(text.split()))))


def _broken(word: str, em: float, bold: bool) -> list[str]:
    """A word that is too wide, in pieces that are not; letters stay with their marks."""
    pieces = [""]
    for cluster in clusters(word):
        if pieces[-1] and _ems((pieces[-1] + cluster).rstrip(), bold) > em:
            pieces.append("")
        pieces[-1] += cluster
    return pieces
