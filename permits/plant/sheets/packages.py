"""Opens a packed file (a workbook, or CSV files in a zip) only as far as it is safe to unpack."""

from __future__ import annotations

from io import BytesIO
from xml.parsers import expat
from zipfile import BadZipFile, ZipFile

from permits.plant.sheets.tables import MEGABYTE, Limits, SheetErrors

_MOST_PARTS = 2000
_PIECE = 64 * 1024


def opened(data: bytes, limits: Limits) -> ZipFile:
    """The package, which unpacks to no more than the limits say. Raises SheetErrors for any other.

    What a part claims to unpack to bounds what can be read of it, so it is enough to add the claims up.
    """
    try:
        package = ZipFile(BytesIO(data))
        parts = package.infolist()
    except (BadZipFile, ValueError, EOFError, NotImplementedError):
        right = "the file, saved or sent again"
        raise SheetErrors.of_file("is damaged: it cannot be unpacked", right) from None
    if any(part.flag_bits & 1 for part in parts):
        raise SheetErrors.of_file("is locked with a password", "the file without one")
    unpacked = sum(part.file_size for part in parts)
    if len(parts) > _MOST_PARTS or unpacked > limits.unpacked:
        raise SheetErrors.of_file(
            f"unpacks to {unpacked / MEGABYTE:.0f} MB in {len(parts)} parts",
            f"at most {limits.unpacked // MEGABYTE} MB in {_MOST_PARTS}, with nothing but the plant in it",
        )
    return package


class _Seen(Exception):
    """Enough of a part was seen."""


def refuse_definitions(package: ZipFile) -> None:
    """No part of a workbook defines a document type; one that does means to be expanded without end.

    Raises SheetErrors. Looks at each part only as far as its first element.
    """
    for part in package.infolist():
        if part.filename.lower().endswith((".xml", ".rels")) and _defines(package, part.filename):
            raise SheetErrors.of_file(
                f"has a document type definition in {part.filename[:80]}, which no workbook has",
                "the file as a spreadsheet program saves it",
            )


def _defines(package: ZipFile, name: str) -> bool:
    found = False

    def definition(*_: object) -> None:
        nonlocal found
        found = True
        raise _Seen

    def element(*_: object) -> None:
        raise _Seen

    parser = expat.ParserCreate()
    parser.StartDoctypeDeclHandler = definition
    parser.StartElementHandler = element
    with package.open(name) as part:
        try:
            while piece := part.read(_PIECE):
                parser.Parse(piece, False)
        except (_Seen, expat.ExpatError):
            pass  # what is no XML at all is for the reader to say
    return found
