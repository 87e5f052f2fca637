"""What a spreadsheet would change: rows added, changed, removed and in error, before anything is written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from permits.plant.rules.plantfile import PlantFile
from permits.plant.sheets import SheetError, Sheets, checked
from permits.plant.sheets.changes import Edit, ListChanges, RowChange, changes, plant_edits

MOST_ROWS = 200
MOST_ERRORS = 200


@dataclass(frozen=True, slots=True)
class Counts:
    """One list in figures; `given`: whether the file has it, for else it stays as it is."""

    name: str
    added: int
    changed: int
    removed: int
    in_error: int
    unchanged: int
    given: bool


@dataclass(frozen=True, slots=True)
class ListedChanges:
    """The rows of one list that would change. `more`: how many are not shown."""

    name: str
    rows: tuple[RowChange, ...]
    more: int


@dataclass(frozen=True, slots=True)
class SheetRun:
    """Everything that a spreadsheet would change, and what is wrong with it.

    `plant_file`: what would be imported, None while anything is wrong. `plant`: what would be other about the
    plant as a whole: its name, its note, what it demands, its hazard lines.
    """

    plant_file: PlantFile | None
    counts: list[Counts]
    lists: list[ListedChanges]
    plant: tuple[Edit, ...]
    errors: tuple[SheetError, ...]
    more_errors: int

    def __bool__(self) -> bool:
        return bool(self.lists or self.plant)


def sheet_run(present: Mapping[str, Any], code: str, sheets: Sheets) -> SheetRun:
    """`present`: the plant as it is (`store.to_plant_file`); `code`: the site's, for that of the file."""
    result = checked(sheets, present)
    plant_file = replace(result.plant_file, code=code) if result.plant_file else None
    found = changes(present, result)
    return SheetRun(
        plant_file=plant_file,
        counts=[_counts(one) for one in found],
        lists=[
            ListedChanges(one.name, one.rows[:MOST_ROWS], max(0, len(one.rows) - MOST_ROWS))
            for one in found
            if one.rows
        ],
        plant=plant_edits(present, result),
        errors=result.errors[:MOST_ERRORS],
        more_errors=max(0, len(result.errors) - MOST_ERRORS),
    )


def _counts(one: ListChanges) -> Counts:
    added, changed, removed = map(one.count, ("added", "changed", "removed"))
    return Counts(one.name, added, changed, removed, one.in_error, one.unchanged, one.given)
