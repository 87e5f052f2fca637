"""CSV files as tables: one list alone, or several in a zip. A row's number is the one a spreadsheet shows."""

from __future__ import annotations

import csv
import re
import zlib
from io import StringIO
from pathlib import PurePosixPath
from zipfile import BadZipFile

from permits.plant.sheets.columns import COLUMNS, NAMES, same
from permits.plant.sheets.packages import opened
from permits.plant.sheets.tables import (
    MOST_COLUMNS,
    Cell,
    Limits,
    Line,
    SheetErrors,
    Table,
    is_empty,
    letters,
)
from permits.plant.sheets.texts import plain_again

_DELIMITERS = ",;\t"
_HEADINGS = {name: {same(column.heading) for column in columns} for name, columns in COLUMNS.items()}
_COPY = re.compile(r"\s*\(\d+\)$")
"""What a browser adds to the name of a file that it has already: "nodes (1)"."""


def tables_of_zip(data: bytes, limits: Limits) -> list[Table]:
    """A table for each CSV file in the package. Raises SheetErrors where it cannot be read."""
    package = opened(data, limits)
    tables = []
    for part in package.infolist():
        path = PurePosixPath(part.filename)
        if part.is_dir() or path.name.startswith(".") or "__MACOSX" in path.parts:
            continue
        if path.suffix.lower() == ".txt":
            continue  # the explanation
        name = _name_of(path.stem)
        if path.suffix.lower() != ".csv" or name is None:
            right = "only " + ", ".join(f"{name}.csv" for name in NAMES)
            raise SheetErrors.of_file(f"has {path.name[:80]!r} in it", right)
        try:
            content = package.read(part)
        except (BadZipFile, NotImplementedError, EOFError, zlib.error):
            right = "the file, packed or sent again"
            raise SheetErrors.of_file(f"is damaged: {path.name} cannot be unpacked", right) from None
        tables.append(_table(name, content, limits))
    return tables


def table_alone(data: bytes, file_name: str, limits: Limits) -> Table:
    """The one list that a CSV file holds: by the file's name, or else by its headings."""
    name = _name_of(PurePosixPath(file_name.replace("\\", "/")).stem)
    table = _table(name or "", data, limits)
    if name is None and table.lines:
        table.name = _name_by(table.lines[0])
    return table


def _name_of(stem: str) -> str | None:
    """ "QUILLFEN-nodes (1)" is nodes."""
    words = re.split(r"[-_. ]", _COPY.sub("", stem).casefold())
    return words[-1] if words[-1] in NAMES else None


def _name_by(head: Line) -> str:
    """The list that has these headings. Raises SheetErrors where none has most of them."""
    given = {same(cell) for cell in head.cells.values() if isinstance(cell, str)}
    name, known = max(_HEADINGS.items(), key=lambda item: len(item[1] & given))
    if 2 * len(known & given) <= len(given):
        raise SheetErrors.of_file(
            "has headings of no list of the plant",
            f"a file named after its list, {', '.join(f'{one}.csv' for one in NAMES)}, with its headings",
        )
    return name


def _table(name: str, data: bytes, limits: Limits) -> Table:
    table = Table(name)
    text = _text(name, data)
    reader = csv.reader(StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
    number = 0
    try:
        for number, row in enumerate(reader, 1):
            if len(row) > MOST_COLUMNS and any(cell.strip() for cell in row[MOST_COLUMNS:]):
                right = f"at most {MOST_COLUMNS} columns"
                table.wrong(f"has content as far out as column {letters(len(row) - 1)}", right, row=number)
                break
            cells: dict[int, Cell] = {
                place: plain_again(cell) for place, cell in enumerate(row[:MOST_COLUMNS]) if cell
            }
            if all(map(is_empty, cells.values())):
                continue
            if len(table.lines) > limits.rows:
                table.wrong(f"has more than {limits.rows} rows", f"at most {limits.rows}")
                break
            table.lines.append(Line(number, cells))
    except csv.Error as error:
        what = f"cannot be read on from here ({error})"
        table.wrong(what, "a quote doubled inside quotes, and every quote closed", row=number + 1)
    return table


def _text(name: str, data: bytes) -> str:
    file = f"{name}.csv " if name else ""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise SheetErrors.of_file(f"{file}is in UTF-16", "CSV in UTF-8")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise SheetErrors.of_file(
            f"{file}is not in UTF-8: byte {data[error.start]:#04x} in line {line}",
            "the file saved as “CSV UTF-8”",
        ) from None


def _delimiter(text: str) -> str:
    """Comma, semicolon or tab: what parts most known headings in the first line that has any content."""
    first = next((line for line in text.splitlines() if line.strip(_DELIMITERS + ' "')), "")
    known = set().union(*_HEADINGS.values())

    def headings(delimiter: str) -> int:
        return sum(same(cell.strip('" ')) in known for cell in first.split(delimiter))

    return max(_DELIMITERS, key=headings)
