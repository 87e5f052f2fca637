"""A workbook (XLSX) as tables: texts, numbers and truth values; what people cannot see in it is refused.

Cells are read as they stand: a formula is never computed and never mistaken for its last result.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from io import BytesIO
from typing import Any
from xml.parsers import expat

from openpyxl import load_workbook

from permits.plant.sheets.cells import AS_TEXT
from permits.plant.sheets.packages import opened, refuse_definitions
from permits.plant.sheets.tables import (
    MOST_COLUMNS,
    Cell,
    Limits,
    Line,
    Number,
    SheetErrors,
    Table,
    Wrong,
    is_empty,
    letters,
)
from permits.plant.sheets.texts import from_xml, plain_again

_PIECE = 64 * 1024
_MOST_SHEETS = 40
_LAST_ROW = 1_048_576  # of any workbook (ECMA-376 sets no limit; from memory, every program does)


def tables_of(data: bytes, limits: Limits) -> list[Table]:
    """Every sheet, also the empty ones. Raises SheetErrors where the file cannot be read as a workbook."""
    refuse_definitions(opened(data, limits))
    try:
        book = load_workbook(BytesIO(data), read_only=True, data_only=False, keep_links=False)
        if len(book.worksheets) > _MOST_SHEETS:
            raise SheetErrors.of_file(f"has {len(book.worksheets)} sheets", f"at most {_MOST_SHEETS}")
        return [_table(sheet, limits) for sheet in book.worksheets]
    except SheetErrors:
        raise
    except Exception as error:  # whatever a damaged file makes the library say
        name = type(error).__name__
        wrong = f"is no workbook that can be read ({name})"
        raise SheetErrors.of_file(wrong, "an XLSX file as a spreadsheet program saves it") from None


def _table(sheet: Any, limits: Limits) -> Table:
    table = Table(sheet.title)
    for line in _lines(sheet, table):
        if len(table.lines) > limits.rows:
            table.wrong(f"has more than {limits.rows} rows", f"at most {limits.rows}")
            break
        table.lines.append(line)
    if table.lines:
        if sheet.sheet_state != "visible":
            table.wrong("the sheet is hidden", "the sheet shown, or taken out")
        _refuse_hidden(sheet, table)
    return table


def _lines(sheet: Any, table: Table) -> Iterator[Line]:
    """The rows with content. Their size is not taken from the file's own word for it."""
    sheet.reset_dimensions()
    for number, row in enumerate(sheet.iter_rows(), 1):
        if number > _LAST_ROW:
            table.wrong(f"has a row beyond number {_LAST_ROW}", "a sheet as a spreadsheet program saves it")
            return
        cells = {place: cell for place, cell in enumerate(map(_cell, row)) if cell is not None}
        if all(map(is_empty, cells.values())):
            continue
        if (last := max(cells)) >= MOST_COLUMNS:
            right = f"at most {MOST_COLUMNS} columns"
            table.wrong(f"has content as far out as column {letters(last)}", right, row=number)
            return
        yield Line(number, cells)


def _cell(cell: Any) -> Cell | None:
    value = cell.value
    match cell.data_type:
        case "f":
            text = value if isinstance(value, str) else getattr(value, "text", None) or "="
            text = text if len(text) <= 40 else text[:39] + "…"
            return Wrong(
                f"holds the formula {text}",
                "its value, pasted as a value; a text that begins with = has an apostrophe typed before it",
            )
        case "e":
            return Wrong(f"holds the error {value}", "a value")
    match value:
        case None:
            return None
        case str():
            return plain_again(from_xml(value))
        case bool():
            return value
        case int():
            return Number(Decimal(value), cell.number_format)
        case float():
            return Number(Decimal(repr(value)), cell.number_format)
        case datetime() | date() | time() | timedelta():
            return Wrong(f"holds a date or time, {value}", AS_TEXT)
        case _:
            return Wrong("holds what is neither text nor number", "a text or a number")


def _refuse_hidden(sheet: Any, table: Table) -> None:
    """Content in hidden rows and columns, and merged cells: what people don't see they don't mean."""
    rows, columns, merged = _unseen(sheet)
    right = "it shown (a filter cleared, or unhidden), or deleted"
    for line in table.lines:
        if line.number in rows:
            table.wrong("the row is hidden", right, row=line.number)
    for first, last in columns:
        for place in range(first - 1, min(last, MOST_COLUMNS)):
            if any(not is_empty(line.cells.get(place)) for line in table.lines):
                table.wrong("the column is hidden", right, place=place)
    for area in merged:
        table.wrong(f"the cells {area} are merged into one", "cells that are not merged")


def _unseen(sheet: Any) -> tuple[set[int], list[tuple[int, int]], list[str]]:
    """Hidden rows, hidden columns (first, last; from 1), merged areas: what reading by rows passes over."""
    rows: set[int] = set()
    columns: list[tuple[int, int]] = []
    merged: list[str] = []
    number = 0

    def element(name: str, given: dict[str, str]) -> None:
        nonlocal number
        match name.rpartition(":")[2]:
            case "row":
                number = int(given.get("r", number + 1))
                if given.get("hidden") in ("1", "true"):
                    rows.add(number)
            case "col" if given.get("hidden") in ("1", "true"):
                columns.append((int(given["min"]), int(given["max"])))
            case "mergeCell":
                merged.append(given.get("ref", "")[:20])

    parser = expat.ParserCreate()
    parser.StartElementHandler = element
    with sheet._get_source() as part:  # the sheet's own XML; the library has no other way to it
        while piece := part.read(_PIECE):
            parser.Parse(piece, False)
    return rows, columns, merged
