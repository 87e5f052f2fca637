"""What a sheet leaves out stays as it is in the plant: the columns that it does not have.

An empty cell says that there is nothing; a column that is not in the sheet says nothing at all. So nobody
loses the tests of every point by taking out the columns that they don't need to see.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from permits.plant.rules.difference import LISTS as KEYS
from permits.plant.rules.jsontext import Members, as_members
from permits.plant.sheets.columns import COLUMNS
from permits.plant.sheets.reading import Sheets
from permits.plant.sheets.rows import Sheet, SheetRow, put

Row = Mapping[str, Any]


def completed(sheets: Sheets, present: Mapping[str, Any] | None) -> Sheets:
    """The sheets with each row's missing columns filled from the row of the plant with the same key."""
    if not present:
        return sheets
    return Sheets({name: _completed(sheet, present) for name, sheet in sheets.found.items()}, sheets.errors)


def _completed(sheet: Sheet, present: Mapping[str, Any]) -> Sheet:
    paths = {column.path for column in COLUMNS[sheet.name] if column.heading not in sheet.at}
    if not paths or not sheet.at:
        return sheet
    if sheet.name == "plant":
        return replace(
            sheet, rows=[SheetRow(one.number, _filled(one.row, present, paths)) for one in sheet.rows]
        )
    key = KEYS[sheet.name]
    now = {_key(row, key): row for row in present.get(sheet.name, ())}
    rows = [
        SheetRow(one.number, _filled(one.row, now.get(_key(one.row, key), {}), paths)) for one in sheet.rows
    ]
    return replace(sheet, rows=rows)


def _key(row: Row, key: tuple[str, ...]) -> tuple[Any, ...]:
    return tuple(row.get(part) for part in key)


def _filled(row: Members, now: Row, paths: set[tuple[str, ...]]) -> Members:
    """The row with what the plant's row says under the columns that the sheet does not have."""
    kept = Members({name: as_members(value) for name, value in row.items()})
    for path in paths:
        value = now.get(path[0])
        if len(path) > 1:
            value = value.get(path[1]) if isinstance(value, Mapping) else None
        if value is not None and not _is_said_otherwise(row, path):
            put(kept, path, value)
    return kept


def _is_said_otherwise(row: Row, path: tuple[str, ...]) -> bool:
    """Pairs of conductors are not kept where the row names the conductors."""
    test = row.get("test")
    return path == ("test", "combinations") and isinstance(test, Mapping) and "conductors" in test
