"""What a spreadsheet would change, row by row, before anything is written; with the rows in error."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from permits.plant.rules.difference import LISTS as KEYS
from permits.plant.rules.plantfile import PlantFileErrors, as_dict, check
from permits.plant.sheets.checking import Checked
from permits.plant.sheets.columns import LISTS
from permits.plant.sheets.writing import flat, rows_of

Row = Mapping[str, Any]
Key = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Edit:
    """One field of a row: what it says now and what it would say; "" where it says nothing."""

    heading: str
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class RowChange:
    """A row that would come, change or go. `row`: its number in the sheet, 0 for one that is not in it."""

    what: str
    name: str
    row: int
    edits: tuple[Edit, ...]


@dataclass(frozen=True, slots=True)
class ListChanges:
    """One list: the rows that would change, in the order removed, changed, added; how many stay as they are,
    and how many are in error. `given`: whether the file has the list at all; else all of it stays.
    """

    name: str
    rows: tuple[RowChange, ...]
    unchanged: int
    in_error: int
    given: bool

    def count(self, what: str) -> int:
        return sum(row.what == what for row in self.rows)


def changes(present: Mapping[str, Any], result: Checked) -> list[ListChanges]:
    """Each list as it is in the plant (`store.to_plant_file`) beside what the file says of it.

    A row in error is neither added nor changed, and the row of the plant with its id is not removed by it.
    """
    return [_of_list(name, present.get(name, ()), result) for name in LISTS]


def plant_edits(present: Mapping[str, Any], result: Checked) -> tuple[Edit, ...]:
    """What would change about the plant as a whole: its name, note, demands, tags, hazard lines.

    Its code never does.
    """
    if result.plant_file is None:
        return ()
    (now,), (then,) = (rows_of("plant", plant) for plant in (present, as_dict(result.plant_file)))
    return tuple(
        Edit(heading, str(now.get(heading, "")), str(then.get(heading, "")))
        for heading in dict.fromkeys([*now, *then])
        if now.get(heading) != then.get(heading) and heading != "code"
    )


def _of_list(name: str, now: Any, result: Checked) -> ListChanges:
    sheet = result.sheets.found.get(name)
    if sheet is None:
        return ListChanges(name, (), len(now), 0, given=False)
    bad = {error.row for error in result.errors if error.sheet == sheet.title}
    good = [one for one in sheet.rows if one.number not in bad]
    numbers = [one.number for one in good]
    written = _as_written(name, [one.row for one in good], result)
    in_error = {_key(name, one.row) for one in sheet.rows if one.number in bad}
    before = {_key(name, row): row for row in now}
    after = {_key(name, row): (number, row) for number, row in zip(numbers, written, strict=True)}
    rows = [
        RowChange("removed", _named(name, row), 0, _edits(name, row, {}))
        for key, row in before.items()
        if key not in after and key not in in_error
    ]
    rows += [
        RowChange("changed", _named(name, row), number, _edits(name, before[key], row))
        for key, (number, row) in after.items()
        if key in before and before[key] != row
    ]
    rows += [
        RowChange("added", _named(name, row), number, _edits(name, {}, row))
        for key, (number, row) in after.items()
        if key not in before
    ]
    unchanged = sum(key in before and before[key] == row for key, (_, row) in after.items())
    return ListChanges(name, tuple(rows), unchanged, len(sheet.rows) - len(good), given=True)


def _as_written(name: str, rows: list[Any], result: Checked) -> list[Row]:
    """The rows as the plant file writes them, defaults left out; where all is right, as it was checked.

    Each row without an error is checked by itself: a node whose machine's own row is wrong is none. Should
    they not pass all the same, they are shown as they were read.
    """
    if result.plant_file is not None:
        return list(as_dict(result.plant_file).get(name, ()))
    empty = {"plant": "-", "nodes": [], "links": []}
    if name == "links":
        return [{end: row[end] for end in ("from", "to")} | _both(row) for row in rows]
    try:
        return list(as_dict(check(empty | {name: rows}, strict=False)).get(name, ()))
    except PlantFileErrors:
        return rows


def _both(row: Row) -> dict[str, bool]:
    return {"both": True} if row.get("both") else {}


def _key(name: str, row: Row) -> Key:
    return tuple(row.get(part) for part in KEYS[name])


def _named(name: str, row: Row) -> str:
    return f"{row['from']} → {row['to']}" if name == "links" else str(row["id"])


def _edits(name: str, old: Row, new: Row) -> tuple[Edit, ...]:
    """The fields that differ, the row's own name aside, in the order of the sheet's columns."""
    before, after = flat(name, old), flat(name, new)
    return tuple(
        Edit(heading, str(before.get(heading, "")), str(after.get(heading, "")))
        for heading in dict.fromkeys([*before, *after])
        if before.get(heading) != after.get(heading) and heading not in KEYS[name]
    )
