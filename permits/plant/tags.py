"""The printed tags of points: QR code, short code and the point's name, several to a sheet with cut marks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO
from typing import Any

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from permits.plant.prints import fonts, qr
from permits.plant.prints.page import CAUTION, Paper, stamp
from permits.plant.rules.codes import shown

LEGEND = "Point plate: names this point. Not a lock, not a danger tag."

SMALLEST_MODULE = 0.4 * mm
"""Below this a code is not printed: 300 dots per inch give 4.7 dots to a module, and readers want 4."""

_SMALLEST_TEXT = 4.5
_MARGIN = 10 * mm
_GUTTER = 4 * mm
_FOOT = 12 * mm


class TagError(ValueError):
    """Tags that cannot be printed as asked; the message says why and what would be right."""


@dataclass(frozen=True, slots=True)
class TagFace:
    """What stands on one tag. `short_code` is canonical ("ABCDEF7"); `energy` is medium and magnitude in
    words; `reissue` counts how often the point's code was made anew: 0 for the first.
    """

    url: str
    short_code: str
    designation: str
    machine: str
    point_name: str
    energy: str
    site: str
    reissue: int = 0
    legend: str = LEGEND


@dataclass(frozen=True, slots=True)
class TagSize:
    """A tag's width and height and the room of its code, in points; sizes of the name and the short code."""

    width: float
    height: float
    code: float
    name: float
    short: float
    pad: float


SIZES = {
    "small": TagSize(60 * mm, 30 * mm, 26 * mm, 8.5, 13, 1.5 * mm),
    "medium": TagSize(92 * mm, 48 * mm, 42 * mm, 12, 19, 2.5 * mm),
    "large": TagSize(188 * mm, 80 * mm, 72 * mm, 24, 40, 4 * mm),
}
"""Small fits beside a breaker; medium is read at arm's length; large from a step away."""


@dataclass(frozen=True, slots=True)
class _Line:
    text: str
    size: float
    bold: bool


def tag_sheet(tags: Sequence[TagFace], *, paper: str, size: str, at: datetime) -> bytes:
    """The tags as a PDF, in the order given. `paper` is "A4" or "Letter", `size` a key of SIZES, `at` aware.

    Text shrinks and wraps to its tag. What would be unreadably small is shortened with an ellipsis and stands
    in full on the last page, beside its code. Raises TagError where there is nothing to print, a size or
    paper is unknown, or an address is too long for a code of this size to be read.
    """
    wanted = _size(size)
    width, height = _paper(paper).points
    if not tags:
        raise TagError("There is no tag to print: choose at least one point.")
    columns = int((width - 2 * _MARGIN + _GUTTER) // (wanted.width + _GUTTER))
    rows = int((height - 2 * _MARGIN - _FOOT + _GUTTER) // (wanted.height + _GUTTER))
    sheets = [tags[start : start + columns * rows] for start in range(0, len(tags), columns * rows)]
    left = (width - columns * wanted.width - (columns - 1) * _GUTTER) / 2
    shortened: list[tuple[TagFace, str]] = []

    file = BytesIO()
    canvas = Canvas(file, pagesize=(width, height), invariant=1, initialFontName=fonts.register(), lang="en")
    canvas.setTitle(f"Tags · {tags[0].site}")
    canvas.setAuthor(tags[0].site)
    canvas.setCreator("Permits")
    with fonts.PRESS:
        foot = _Foot(tags[0].site, at, width, len(sheets))
        drawn = [_fitted(tag, wanted) for tag in tags]
        for tag, (_, cut) in zip(tags, drawn, strict=True):
            shortened += ((tag, text) for text in cut)
        foot.pages += len(list(_list_pages(shortened, height)))
        for number, sheet in enumerate(sheets):
            for place, tag in enumerate(sheet):
                row, column = divmod(place, columns)
                x = left + column * (wanted.width + _GUTTER)
                y = height - _MARGIN - (row + 1) * wanted.height - row * _GUTTER
                _cut_marks(canvas, x, y, wanted)
                _draw(canvas, x, y, wanted, tag, drawn[number * columns * rows + place][0])
            foot.draw(canvas)
        for page in _list_pages(shortened, height):
            _draw_list(canvas, page, height)
            foot.draw(canvas)
        canvas.save()
    return file.getvalue()


def _size(size: str) -> TagSize:
    if size not in SIZES:
        raise TagError(f"There is no tag size {size!r}. Right would be one of: {', '.join(SIZES)}.")
    return SIZES[size]


def _paper(paper: str) -> Paper:
    try:
        return Paper(paper)
    except ValueError:
        raise TagError(f"There is no paper {paper!r}. Right would be one of: {', '.join(Paper)}.") from None


def _fitted(tag: TagFace, size: TagSize) -> tuple[list[_Line], list[str]]:
    """The lines beside the code, as large as they fit, and in full each text that had to be shortened."""
    room = size.width - size.code - 3 * size.pad
    height = size.height - 2 * size.pad - size.short * 1.3 - size.name * 0.55
    pieces = [
        (tag.point_name, 1.0, True),
        (tag.designation, 0.9, True),
        (tag.energy, 0.75, False),
        (tag.machine, 0.75, False),
        (tag.legend, 0.62, False),
    ]
    pieces = [(text, scale, bold) for text, scale, bold in pieces if text.strip()]
    name = size.name
    while True:
        lines = [
            _Line(line, max(name * scale, _SMALLEST_TEXT), bold)
            for text, scale, bold in pieces
            for line in fonts.wrap(text, max(name * scale, _SMALLEST_TEXT), room, bold=bold)
        ]
        if sum(line.size * 1.2 for line in lines) <= height:
            return lines, []
        if name <= _SMALLEST_TEXT:
            break
        name = max(name * 0.93, _SMALLEST_TEXT)
    return _shortened(pieces, room, int(height // (_SMALLEST_TEXT * 1.2)))


def _shortened(
    pieces: list[tuple[str, float, bool]], room: float, all_lines: int
) -> tuple[list[_Line], list[str]]:
    """The pieces in at most `all_lines` lines: the longest give way first."""
    texts = [fonts.wrap(text, _SMALLEST_TEXT, room, bold=bold) for text, _, bold in pieces]
    given = [len(wrapped) for wrapped in texts]
    while sum(given) > all_lines and max(given) > 1:
        given[given.index(max(given))] -= 1
    lines: list[_Line] = []
    cut: list[str] = []
    for (text, _, bold), wrapped, most in zip(pieces, texts, given, strict=True):
        if len(wrapped) > most:
            cut.append(text)
            last = fonts.wrap(wrapped[most - 1], _SMALLEST_TEXT, room - _SMALLEST_TEXT, bold=bold)[0]
            wrapped = [*wrapped[: most - 1], last + "…"]
        lines += (_Line(line, _SMALLEST_TEXT, bold) for line in wrapped)
    return lines, cut


def _draw(canvas: Canvas, x: float, y: float, size: TagSize, tag: TagFace, lines: list[_Line]) -> None:
    modules = qr.matrix(tag.url)
    if qr.module_size(modules, size.code) < SMALLEST_MODULE:
        raise TagError(
            f"The address {tag.url} is too long for a tag of this size: its code would be too fine to read. "
            "Print a larger tag, or give the site a shorter public address."
        )
    qr.draw(canvas, x + size.pad, y + (size.height - size.code) / 2, size.code, modules)
    left = x + size.code + 2 * size.pad
    room = size.width - size.code - 3 * size.pad
    top = y + size.height - size.pad
    for line in lines:
        top -= line.size * 1.2
        fonts.draw(canvas, left, top + line.size * 0.25, line.text, line.size, bold=line.bold)

    base = y + size.pad
    small = size.name * 0.5
    again = f"Reissue {tag.reissue}" if tag.reissue else "First issue"
    fonts.draw(canvas, left, base + 1, _one_line(f"{again} · {tag.site}", small, room), small)
    base += small * 1.3
    code = shown(tag.short_code)
    short = min(size.short, size.short * room / fonts.width(code, size.short, bold=True))
    fonts.draw(canvas, left, base + short * 0.18, code, short, bold=True)
    canvas.setLineWidth(0.8)
    canvas.line(left, base + short * 1.08, left + room, base + short * 1.08)


def _one_line(text: str, size: float, room: float) -> str:
    lines = fonts.wrap(text, size, room)
    return text if len(lines) == 1 else fonts.wrap(text, size, room - size)[0] + "…"


def _cut_marks(canvas: Canvas, x: float, y: float, size: TagSize) -> None:
    """Hairlines in the gutters, off the corners: they are cut away with the waste."""
    canvas.setLineWidth(0.25)
    near, far = 0.4 * mm, _GUTTER / 2
    for corner_x, out_x in ((x, -1), (x + size.width, 1)):
        for corner_y, out_y in ((y, -1), (y + size.height, 1)):
            canvas.line(corner_x + out_x * near, corner_y, corner_x + out_x * far, corner_y)
            canvas.line(corner_x, corner_y + out_y * near, corner_x, corner_y + out_y * far)


@dataclass(slots=True)
class _Foot:
    """The foot of every sheet; drawing it ends the page."""

    site: str
    at: datetime
    width: float
    pages: int
    page: int = 0

    def draw(self, canvas: Any) -> None:
        self.page += 1
        y = _MARGIN + 6 * mm
        canvas.setLineWidth(0.5)
        canvas.line(_MARGIN, y + 3.5 * mm, self.width - _MARGIN, y + 3.5 * mm)
        number = f"Page {self.page} of {self.pages}"
        fonts.draw(canvas, self.width - _MARGIN, y, number, 7.5, bold=True, anchor="end")
        room = self.width - 2 * _MARGIN - fonts.width(number, 7.5, bold=True) - 12
        facts = _one_line(f"Tags · {self.site} · printed {stamp(self.at)}", 7.5, room)
        fonts.draw(canvas, _MARGIN, y, facts, 7.5, bold=False)
        for line in fonts.wrap(f"{LEGEND} {CAUTION}", 6.5, self.width - 2 * _MARGIN):
            y -= 8.5
            fonts.draw(canvas, _MARGIN, y, line, 6.5)
        canvas.showPage()


def _list_pages(shortened: list[tuple[TagFace, str]], height: float) -> Iterator[list[tuple[str, str]]]:
    """The texts that were shortened, in full, as lines of (code, text), page by page."""
    lines: list[tuple[str, str]] = []
    most = int((height - 2 * _MARGIN - _FOOT - 30) // 11)
    for tag, text in shortened:
        wrapped = fonts.wrap(text, 8, 150 * mm)
        lines += [(shown(tag.short_code) if number == 0 else "", line) for number, line in enumerate(wrapped)]
    for start in range(0, len(lines), most):
        yield lines[start : start + most]


def _draw_list(canvas: Canvas, lines: list[tuple[str, str]], height: float) -> None:
    y = height - _MARGIN - 12
    fonts.draw(canvas, _MARGIN, y, "Shortened on the tags, in full here", 10, bold=True)
    y -= 8
    for code, text in lines:
        y -= 11
        fonts.draw(canvas, _MARGIN, y, code, 8, bold=True)
        fonts.draw(canvas, _MARGIN + 28 * mm, y, text, 8)
