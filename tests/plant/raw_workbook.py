"""Workbooks written part by part as XML, as other programs write them: shared strings, formats, hidden rows.

The parts and their names are those of ECMA-376 part 1 (from memory); no library writes them here.
"""

from __future__ import annotations

from io import BytesIO
from xml.sax.saxutils import escape
from zipfile import ZIP_DEFLATED, ZipFile

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_TYPES = "application/vnd.openxmlformats-officedocument.spreadsheetml"
_HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'

FORMATS = ("General", "0000", "0.00E+00", "0.00", "0%", "yyyy-mm-dd", "#,##0", "@")


def workbook(
    sheets: dict[str, str],
    *,
    strings: list[str] | None = None,
    hidden: frozenset[str] = frozenset(),
    extra: dict[str, str] | None = None,
) -> bytes:
    """A workbook whose sheets have this XML within `worksheet`. `extra`: parts that take another's place."""
    names = list(sheets)
    parts = {
        "[Content_Types].xml": f'<Types xmlns="{_PACKAGE}/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{_TYPES}.sheet.main+xml"/>'
        f'<Override PartName="/xl/styles.xml" ContentType="{_TYPES}.styles+xml"/>'
        f'<Override PartName="/xl/sharedStrings.xml" ContentType="{_TYPES}.sharedStrings+xml"/>'
        + "".join(
            f'<Override PartName="/xl/worksheets/sheet{at}.xml" ContentType="{_TYPES}.worksheet+xml"/>'
            for at in range(len(names))
        )
        + "</Types>",
        "_rels/.rels": f'<Relationships xmlns="{_PACKAGE}/relationships">'
        f'<Relationship Id="r" Type="{_OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{MAIN}" xmlns:r="{_OFFICE}"><sheets>'
        + "".join(
            f'<sheet name="{escape(name)}" sheetId="{at + 1}" r:id="s{at}"'
            + (' state="hidden"/>' if name in hidden else "/>")
            for at, name in enumerate(names)
        )
        + "</sheets></workbook>",
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{_PACKAGE}/relationships">'
        + "".join(
            f'<Relationship Id="s{at}" Type="{_OFFICE}/worksheet" Target="worksheets/sheet{at}.xml"/>'
            for at in range(len(names))
        )
        + f'<Relationship Id="t" Type="{_OFFICE}/styles" Target="styles.xml"/>'
        f'<Relationship Id="u" Type="{_OFFICE}/sharedStrings" Target="sharedStrings.xml"/></Relationships>',
        "xl/styles.xml": _styles(),
        "xl/sharedStrings.xml": f'<sst xmlns="{MAIN}">'
        + "".join(f'<si><t xml:space="preserve">{escape(text)}</t></si>' for text in strings or [])
        + "</sst>",
    }
    for at, name in enumerate(names):
        parts[f"xl/worksheets/sheet{at}.xml"] = f'<worksheet xmlns="{MAIN}">{sheets[name]}</worksheet>'
    file = BytesIO()
    with ZipFile(file, "w", ZIP_DEFLATED) as package:
        for name, xml in (parts | (extra or {})).items():
            package.writestr(name, xml if name in (extra or {}) else _HEAD + xml)
    return file.getvalue()


def text(place: str, words: str) -> str:
    """A cell with a text in its place."""
    return f'<c r="{place}" t="inlineStr"><is><t xml:space="preserve">{escape(words)}</t></is></c>'


def number(place: str, value: str, format: str = "General") -> str:
    return f'<c r="{place}" s="{FORMATS.index(format)}"><v>{value}</v></c>'


def row(at: int, *cells: str, more: str = "") -> str:
    return f'<row r="{at}"{more}>{"".join(cells)}</row>'


def data(*rows: str) -> str:
    return f"<sheetData>{''.join(rows)}</sheetData>"


def _styles() -> str:
    formats = "".join(
        f'<numFmt numFmtId="{164 + at}" formatCode="{escape(code)}"/>' for at, code in enumerate(FORMATS)
    )
    cells = "".join(f'<xf numFmtId="{164 + at}" applyNumberFormat="1"/>' for at in range(len(FORMATS)))
    return (
        f'<styleSheet xmlns="{MAIN}"><numFmts count="{len(FORMATS)}">{formats}</numFmts>'
        "<fonts><font/></fonts><fills><fill><patternFill/></fill></fills><borders><border/></borders>"
        f"<cellStyleXfs><xf/></cellStyleXfs><cellXfs>{cells}</cellXfs>"
        '<cellStyles><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>'
    )
