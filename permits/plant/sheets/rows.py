"""From a table to rows of the plant file: headings found, cells converted, errors noted with their place."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from permits.plant.rules.jsontext import Members
from permits.plant.rules.rows import Nearest, shown
from permits.plant.sheets.cells import value_of
from permits.plant.sheets.columns import COLUMNS, Column, same
from permits.plant.sheets.tables import MOST_ERRORS, Line, SheetError, Table, Wrong, is_empty, letters


@dataclass(frozen=True, slots=True)
class SheetRow:
    """A row of the plant file, and its number in the sheet."""

    number: int
    row: Members


@dataclass(slots=True)
class Sheet:
    """One list as it was read. `title`: its name in the file; `at`: each column's letters by heading."""

    name: str
    title: str
    rows: list[SheetRow] = field(default_factory=list)
    at: dict[str, str] = field(default_factory=dict)
    errors: list[SheetError] = field(default_factory=list)

    def wrong(self, row: int, heading: str, wrong: str, right: str, *, column: str = "") -> None:
        if len(self.errors) < MOST_ERRORS:
            column = column or self.at.get(heading, "")
            self.errors.append(SheetError(self.title, row, column, heading, wrong, right))


def read_rows(name: str, table: Table, nearest: Nearest) -> Sheet:
    """The rows of the list `name`. A cell that cannot be taken is left out of its row and noted."""
    sheet = Sheet(name, table.name, errors=list(table.errors[:MOST_ERRORS]))
    if not table.lines:
        sheet.wrong(0, "", "is empty", "its headings in the first row, or the sheet taken out")
        return sheet
    head, *lines = table.lines
    columns = _columns(sheet, head, nearest)
    unheaded: set[int] = set(head.cells)
    for line in lines:
        members = Members()
        for place, cell in line.cells.items():
            if (column := columns.get(place)) is not None:
                value = value_of(cell, column)
                if isinstance(value, Wrong):
                    sheet.wrong(line.number, column.heading, value.wrong, value.right)
                elif value is not None:
                    put(members, column.path, value)
            elif place not in unheaded and not is_empty(cell):
                unheaded.add(place)
                right = "a heading in row " + str(head.number) + ", or nothing in it"
                sheet.wrong(line.number, "", "stands under no heading", right, column=letters(place))
        sheet.rows.append(SheetRow(line.number, members))
    return sheet


def _columns(sheet: Sheet, head: Line, nearest: Nearest) -> dict[int, Column]:
    """The known columns by place; headings that are unknown, there twice or missing are noted."""
    known = {same(column.heading): column for column in COLUMNS[sheet.name]}
    found: dict[int, Column] = {}
    for place, cell in head.cells.items():
        if is_empty(cell):
            continue
        heading = cell if isinstance(cell, str) else ""
        column = known.get(same(heading))
        where = letters(place)
        if column is None:
            wrong = f"{shown(heading)} is no column of {sheet.name}" if heading else "is no text"
            sheet.wrong(head.number, "", wrong, _right(heading, known, nearest), column=where)
        elif column in found.values():
            sheet.wrong(head.number, column.heading, "stands here twice", "one of them", column=where)
        else:
            found[place] = column
            sheet.at[column.heading] = where
    for column in known.values():
        if column.needed and column not in found.values():
            wrong = f"the column {column.heading} is missing"
            sheet.wrong(head.number, "", wrong, f"a column headed {column.heading}")
    return found


def _right(heading: str, known: dict[str, Column], nearest: Nearest) -> str:
    near = nearest.to(same(heading), tuple(known)) if heading else None
    if near:
        return f"'{known[near].heading}', if that was meant"
    return "one of the headings on the first sheet of an export, or the column taken out"


def put(members: Members, path: tuple[str, ...], value: Any) -> None:
    """Sets a member, or a member of an object within the row, which it makes where there is none."""
    if len(path) > 1:
        inner = members.setdefault(path[0], Members())
        inner[path[1]] = value
    else:
        members[path[0]] = value
