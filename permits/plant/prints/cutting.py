"""A reportlab font whose glyphs are cut, as text needs them, from a face of any kind.

reportlab embeds TrueType outlines only, draws one character as one glyph, and takes no weight from a variable
font. Here the text is shaped first (`shaping.py`); each shaped cluster becomes one glyph made of its parts,
gets a character of its own (from the private planes where it is not simply its letter), and the file for the
PDF is made of just the glyphs that a document used. The PDF maps each glyph back to the text it stands for,
so that a reader can search and copy names.
"""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from threading import Lock
from typing import Any
from weakref import WeakKeyDictionary

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.cu2quPen import Cu2QuPen
from fontTools.pens.transformPen import TransformPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import newTable
from fontTools.ttLib.tables._c_m_a_p import CmapSubtable
from reportlab.lib.fonts import addMapping
from reportlab.pdfbase import pdfdoc, pdfmetrics
from reportlab.pdfbase.ttfonts import FF_SYMBOLIC, SUBSETN, TTEncoding, TTFont

from permits.plant.prints.faces import BOLD, Face

PER_EM = 1000
FIRST_PRIVATE = 0xF0000
LAST_PRIVATE = 0x10FFFD

Part = tuple[int, int, int]
"""One glyph of a cluster: its number in the face, and its offset in the face's units."""


class CutFace:
    """What reportlab asks of a typeface, answered from the clusters cut so far. Units: 1/1000 em."""

    def __init__(self, name: str, face: Face) -> None:
        extents = face.hb.get_font_extents("ltr")
        self.name = name.encode("ascii")
        self.subfontNameX = b""
        self.filename = name
        self.source = face
        self.ascent = round(extents.ascender * PER_EM / face.per_em)
        self.descent = round(extents.descender * PER_EM / face.per_em)
        self.defaultWidth = 0
        space = face.hb.get_nominal_glyph(32)
        space_width = face.hb.get_glyph_h_advance(space) if space else face.per_em // 4
        self.charWidths: dict[int, int] = dict.fromkeys((32, 160), round(space_width * PER_EM / face.per_em))
        self.charToGlyph: dict[int, int] = {0: 0, 32: 0}
        self.parts: dict[int, tuple[Part, ...]] = {0: (), 32: ()}
        self.text: dict[int, str] = {0: "\ufffd", 32: " "}
        self._codes: dict[tuple[str, int, tuple[Part, ...]], int] = {}
        self._lock = Lock()

    def getCharWidth(self, code: int) -> int:
        return self.charWidths.get(code, self.defaultWidth)

    def code(self, text: str, advance: int, parts: tuple[Part, ...]) -> int:
        """The character that draws this cluster; a new one where it is met for the first time."""
        key = (text, advance, parts)
        with self._lock:
            if key not in self._codes:
                code = ord(text) if self._is_plain(text, advance, parts) else FIRST_PRIVATE + len(self._codes)
                if code > LAST_PRIVATE:
                    raise RuntimeError(
                        f"More different clusters in {self.name.decode()} than there are codes."
                    )
                self.parts[code] = parts
                self.text[code] = text
                self.charWidths[code] = round(advance * PER_EM / self.source.per_em)
                self.charToGlyph[code] = len(self.charToGlyph)
                self._codes[key] = code
            return self._codes[key]

    def _is_plain(self, text: str, advance: int, parts: tuple[Part, ...]) -> bool:
        if len(text) != 1 or len(parts) != 1 or ord(text) in self.parts:
            return False
        glyph = self.source.hb.get_nominal_glyph(ord(text))
        return parts == ((glyph, 0, 0),) and advance == self.source.hb.get_glyph_h_advance(glyph)

    def glyph(self, code: int) -> Any:
        """The outline of a cluster, its parts in their places, as quadratic curves."""
        pen = TTGlyphPen(None)
        quadratic = Cu2QuPen(pen, max_err=1.0)
        scale = PER_EM / self.source.per_em
        for number, right, up in self.parts[code]:
            placed = TransformPen(quadratic, (scale, 0, 0, scale, right * scale, up * scale))
            self.source.hb.draw_glyph_with_pen(number, placed)
        return pen.glyph()

    def addSubsetObjects(self, doc: Any, fontname: str, subset: Sequence[int]) -> Any:
        """Put the file with this document's glyphs into it. Returns a reference to its descriptor."""
        content, box = self._file(subset)
        stream = pdfdoc.PDFStream()
        stream.content = content
        stream.dictionary["Length1"] = len(content)
        if doc.compression:
            stream.filters = [pdfdoc.PDFZCompress]
        descriptor = pdfdoc.PDFDictionary(
            {
                "Type": "/FontDescriptor",
                "Ascent": self.ascent,
                "CapHeight": self.ascent,
                "Descent": self.descent,
                "Flags": FF_SYMBOLIC,
                "FontBBox": pdfdoc.PDFArray(box),
                "FontName": pdfdoc.PDFName(fontname),
                "ItalicAngle": 0,
                "StemV": 120 if self.source.weight >= BOLD else 80,
                "FontFile2": doc.Reference(stream, f"fontFile:{self.filename}({fontname})"),
                "MissingWidth": 0,
            }
        )
        return doc.Reference(descriptor, "fontDescriptor:" + fontname)

    def _file(self, subset: Sequence[int]) -> tuple[bytes, list[int]]:
        names = [".notdef"] + [f"g{place}" for place in range(1, len(subset))]
        glyphs = {name: self.glyph(code) for name, code in zip(names, subset, strict=True)}
        builder = FontBuilder(PER_EM, isTTF=True)
        builder.setupGlyphOrder(names)
        builder.setupGlyf(glyphs)
        made = builder.font["glyf"]
        widths = {
            name: (self.getCharWidth(code), getattr(made[name], "xMin", 0) or 0)
            for name, code in zip(names, subset, strict=True)
        }
        builder.setupHorizontalMetrics(widths)
        builder.setupHorizontalHeader(ascent=self.ascent, descent=self.descent)
        # A simple PDF font marked symbolic finds its glyph by the one-byte code in this table.
        table = CmapSubtable.newSubtable(6)
        table.platformID, table.platEncID, table.language = 1, 0, 0
        table.cmap = dict(enumerate(names))
        builder.font["cmap"] = newTable("cmap")
        builder.font["cmap"].tableVersion = 0
        builder.font["cmap"].tables = [table]
        builder.font["head"].created = builder.font["head"].modified = 0
        builder.font.recalcTimestamp = False
        file = BytesIO()
        builder.save(file)
        head = builder.font["head"]
        return file.getvalue(), [head.xMin, head.yMin, head.xMax, head.yMax]


class CutFont(TTFont):  # type: ignore[misc]
    """A dynamic font over a CutFace: reportlab asks it for widths, subsets and objects as of any other."""

    def __init__(self, name: str, face: Face) -> None:
        self.fontName = name
        self.face = CutFace(name, face)
        self.encoding = TTEncoding()
        self.state: WeakKeyDictionary[Any, Any] = WeakKeyDictionary()
        self._asciiReadable = False
        self.shapable = False

    def addObjects(self, doc: Any) -> None:
        state = self.state[doc]
        state.frozen = 1
        for number, subset in enumerate(state.subsets):
            internal = self.getSubsetInternalName(number, doc)[1:]
            base = (SUBSETN(number) + b"+" + self.face.name).decode("ascii")
            font = pdfdoc.PDFTrueTypeFont()
            font.Name = internal
            font.BaseFont = base
            font.FirstChar = 0
            font.LastChar = len(subset) - 1
            font.Widths = pdfdoc.PDFArray([self.face.getCharWidth(code) for code in subset])
            stream = pdfdoc.PDFStream()
            stream.content = _to_unicode(base, [self.face.text[code] for code in subset])
            if doc.compression:
                stream.filters = [pdfdoc.PDFZCompress]
            font.ToUnicode = doc.Reference(stream, "toUnicodeCMap:" + base)
            font.FontDescriptor = self.face.addSubsetObjects(doc, base, subset)
            doc.Reference(font, internal)
            doc.idToObject["BasicFonts"].dict[internal] = font
        del self.state[doc]


def _to_unicode(name: str, texts: Sequence[str]) -> str:
    """The PDF's map from a one-byte code to the text that its glyph stands for (PDF 32000-1, 9.10.3)."""
    lines = [f"<{code:02X}> <{text.encode('utf-16-be').hex().upper()}>" for code, text in enumerate(texts)]
    blocks = [lines[start : start + 100] for start in range(0, len(lines), 100)]
    return "\n".join(
        [
            "/CIDInit /ProcSet findresource begin 12 dict begin begincmap",
            f"/CIDSystemInfo << /Registry ({name}) /Ordering ({name}) /Supplement 0 >> def",
            f"/CMapName /{name} def /CMapType 2 def",
            f"1 begincodespacerange <00> <{len(texts) - 1:02X}> endcodespacerange",
            *(f"{len(block)} beginbfchar\n" + "\n".join(block) + "\nendbfchar" for block in blocks),
            "endcmap CMapName currentdict /CMap defineresource pop end end",
        ]
    )


_FONTS: dict[Face, CutFont] = {}
_FONTS_LOCK = Lock()


def cut_font(face: Face) -> CutFont:
    """The one font for a face, registered with reportlab under its name ("NotoSansThaiCut-Bold")."""
    with _FONTS_LOCK:
        if face not in _FONTS:
            font = CutFont(f"{face.name}Cut" + ("-Bold" if face.weight >= BOLD else ""), face)
            pdfmetrics.registerFont(font)
            # A paragraph's <b> asks for a font's bold by name; its characters exist in this one only.
            for bold, italic in ((1, 1), (1, 0), (0, 1), (0, 0)):
                addMapping(font.fontName, bold, italic, font.fontName)
            _FONTS[face] = font
        return _FONTS[face]
