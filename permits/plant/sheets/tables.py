"""What comes out of a workbook or a CSV file before anything is made of it: lines of cells, what is wrong."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import islice

MEGABYTE = 1024 * 1024


@dataclass(frozen=True, slots=True)
class Limits:
    """How large a file may be: its bytes, its bytes when unpacked, the rows of one sheet."""

    packed: int
    unpacked: int
    rows: int


ON_A_PAGE = Limits(packed=5 * MEGABYTE, unpacked=50 * MEGABYTE, rows=20_000)
ON_THE_SERVER = Limits(packed=64 * MEGABYTE, unpacked=400 * MEGABYTE, rows=200_000)
MOST_COLUMNS = 300
MOST_ERRORS = 1000
"""As many are kept of one file: enough to mend it, and no more than a page can bear."""


@dataclass(frozen=True, slots=True)
class SheetError:
    """What is wrong at one place and what would be right.

    `sheet` is empty for the file itself. `row` as the spreadsheet shows it, 0 for the sheet as a whole;
    `column` its letters, empty for the row as a whole; `heading` what stands above it.
    """

    sheet: str
    row: int
    column: str
    heading: str
    wrong: str
    right: str

    @property
    def place(self) -> str:
        """ "nodes, row 14, column T (test limit)"."""
        column = f"column {self.column}" if self.column else ""
        if self.heading:
            column = f"{column} ({self.heading})" if column else f"column {self.heading}"
        row = f"row {self.row}" if self.row else ""
        return ", ".join(filter(None, (self.sheet or "the file", row, column)))

    def __str__(self) -> str:
        return f"{self.place}: {self.wrong}. Right would be {self.right}."


class SheetErrors(ValueError):
    """Everything that is wrong with a file; `str()` gives one readable line for each."""

    def __init__(self, errors: Iterable[SheetError]) -> None:
        self.errors = tuple(islice(errors, MOST_ERRORS))
        super().__init__(self.errors)

    @classmethod
    def of_file(cls, wrong: str, right: str) -> SheetErrors:
        """The file as a whole cannot be taken."""
        return cls([SheetError("", 0, "", "", wrong, right)])

    def __str__(self) -> str:
        return "\n".join(map(str, self.errors))


@dataclass(frozen=True, slots=True)
class Wrong:
    """What stands in the place of a cell that cannot be taken as it is."""

    wrong: str
    right: str


@dataclass(frozen=True, slots=True)
class Number:
    """A number as a workbook holds it, and the format under which it is shown."""

    value: Decimal
    format: str = "General"


Cell = str | bool | Number | Wrong


@dataclass(frozen=True, slots=True)
class Line:
    """One row with content: its number as the spreadsheet shows it, and its cells by place, from 0."""

    number: int
    cells: dict[int, Cell]


@dataclass(slots=True)
class Table:
    """One sheet as it was found: its lines with content, in order, and what is wrong with it as a whole."""

    name: str
    lines: list[Line] = field(default_factory=list)
    errors: list[SheetError] = field(default_factory=list)

    def wrong(self, wrong: str, right: str, *, row: int = 0, place: int | None = None) -> None:
        column = letters(place) if place is not None else ""
        self.errors.append(SheetError(self.name, row, column, "", wrong, right))


def letters(place: int) -> str:
    """A column's letters by its place from 0: 0 is A, 26 is AA."""
    name = ""
    place += 1
    while place:
        place, rest = divmod(place - 1, 26)
        name = chr(65 + rest) + name
    return name


def is_empty(cell: Cell | None) -> bool:
    """A cell that says nothing. White space says nothing where it stands alone in a row."""
    return cell is None or (isinstance(cell, str) and not cell.strip())
