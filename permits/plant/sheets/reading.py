"""A plant from a spreadsheet: a workbook, a zip of CSV files, or the CSV file of one list.

A list that is in the file is the whole list: what is not in it goes. A list that is not in the file stays as
it is in the plant, so a file may hold only the nodes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from permits.plant.rules.rows import Nearest, shown
from permits.plant.sheets import csvfiles, workbook
from permits.plant.sheets.columns import NAMES, same
from permits.plant.sheets.rows import Sheet, read_rows
from permits.plant.sheets.tables import MEGABYTE, ON_THE_SERVER, Limits, SheetError, SheetErrors, Table

READ_ME = "read me"
_ZIP = b"PK\x03\x04"
_EMPTY_ZIP = b"PK\x05\x06"
_OLD = b"\xd0\xcf\x11\xe0"
"""How files of the format before XLSX begin, and XLSX files that are locked with a password."""


@dataclass(slots=True)
class Sheets:
    """What a file holds: each list that is in it, by name, and what is wrong with the file."""

    found: dict[str, Sheet] = field(default_factory=dict)
    errors: list[SheetError] = field(default_factory=list)

    @property
    def code(self) -> str:
        """The site's code, where the file says it."""
        plant = self.found.get("plant")
        code = plant.rows[0].row.get("code") if plant and plant.rows else None
        return code if isinstance(code, str) else ""

    @property
    def all_errors(self) -> list[SheetError]:
        return [*self.errors, *(error for sheet in self.found.values() for error in sheet.errors)]


def is_spreadsheet(data: bytes, file_name: str = "") -> bool:
    """Is it one of the forms that `read` takes, rather than JSON?"""
    return data.startswith((_ZIP, _EMPTY_ZIP, _OLD)) or file_name.lower().endswith((".csv", ".xlsx", ".zip"))


def read(data: bytes, file_name: str = "", limits: Limits = ON_THE_SERVER) -> Sheets:
    """Everything that the file says, row by row. Its kind is told by its content, not by its name.

    What is wrong within it is noted there. Raises SheetErrors where it cannot be read at all.
    """
    if len(data) > limits.packed:
        wrong = f"has {len(data) / MEGABYTE:.1f} MB"
        raise SheetErrors.of_file(wrong, f"at most {limits.packed // MEGABYTE} MB")
    if not data:
        raise SheetErrors.of_file("is empty", "a workbook (XLSX), or CSV files in a zip")
    if data.startswith(_OLD):
        wrong = "is in the form before XLSX, or locked with a password"
        raise SheetErrors.of_file(wrong, "a workbook saved as XLSX, without a password")
    if data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"{"):
        right = "the page “Plant file” for it, or a spreadsheet here"
        raise SheetErrors.of_file("is JSON, as the plant file is", right)
    return _sheets(_tables(data, file_name, limits))


def _tables(data: bytes, file_name: str, limits: Limits) -> list[Table]:
    if not data.startswith((_ZIP, _EMPTY_ZIP)):
        return [csvfiles.table_alone(data, file_name, limits)]
    if b"[Content_Types].xml" in data:
        return workbook.tables_of(data, limits)
    if data[30:38] == b"mimetype":
        raise SheetErrors.of_file("is an OpenDocument file", "the same saved as XLSX")
    return csvfiles.tables_of_zip(data, limits)


def _sheets(tables: Iterable[Table]) -> Sheets:
    sheets = Sheets()
    nearest = Nearest()
    for table in tables:
        name = same(table.name)
        if name in (READ_ME, READ_ME.replace(" ", "")):
            continue
        if name not in NAMES:
            if not table.lines and not table.errors:
                continue
            near = nearest.to(name, NAMES)
            right = f"'{near}', if that was meant" if near else f"only the sheets {', '.join(NAMES)}"
            wrong = f"has a sheet {shown(table.name)} that is none of the plant's"
            sheets.errors.append(SheetError("", 0, "", "", wrong, right))
        elif name in sheets.found:
            sheets.errors.append(SheetError("", 0, "", "", f"has the sheet {name} twice", "one of them"))
        else:
            sheets.found[name] = read_rows(name, table, nearest)
    if not sheets.found and not sheets.errors:
        right = f"a file with the sheets {', '.join(NAMES)}"
        raise SheetErrors.of_file("has no sheet of the plant with anything in it", right)
    return sheets
