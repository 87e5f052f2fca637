"""What the first sheet says: how the file works, and what each column means."""

from __future__ import annotations

from collections.abc import Iterator

from permits.plant.sheets.columns import COLUMNS, NAMES, Column, Type

ABOUT = (
    "The plant as a spreadsheet. Each row of a sheet is one machine, node or link, under a row of headings.",
    "On import a sheet is the whole list: a row that is not in it is taken out of the plant. A sheet that is "
    "not in the file stays as it is in the plant. You see what would change before anything is changed.",
    "Columns may stand in any order. A column that is not in a sheet stays as it is in the plant; an empty "
    "cell means the default, or nothing.",
    "Ids and decimals are texts here, so that 0012 stays 0012 and 1E5 stays 1E5. A program that opens a CSV "
    "file may still change them: the workbook (XLSX) is safer to edit.",
    "No formulas, merged cells, hidden rows or hidden columns: they are refused, with their place. Decimals "
    "have a point. A text that begins with = is typed with an apostrophe before it.",
)
COLUMNS_OF_EXPLANATION = ("sheet", "column", "must be there", "holds", "meaning")


def explanation() -> Iterator[tuple[str, str, str, str, str]]:
    """A row for each column: its sheet, heading, whether it must be filled, what it holds, what it means."""
    for name in NAMES:
        for column in COLUMNS[name]:
            needed = "always" if column.needed else ""
            yield name, column.heading, needed, column.type.value, _meaning(column)


def _meaning(column: Column) -> str:
    if column.choices:
        return f"{column.meaning}: {', '.join(column.choices)}"
    if column.type is Type.WORDS:
        return f"{column.meaning}; a space between two"
    return column.meaning
