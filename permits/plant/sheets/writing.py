"""The plant as a spreadsheet: a workbook, or CSV files in a zip. Reading it again gives the same plant.

Ids, texts and decimals are written as texts, so that no program makes 12 of 0012 or 100000 of 1E5.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from io import BytesIO, StringIO
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation

from permits.plant.rules.rows import plain
from permits.plant.sheets.columns import COLUMNS, LISTS, NAMES, Column, Type
from permits.plant.sheets.explaining import ABOUT, COLUMNS_OF_EXPLANATION, explanation
from permits.plant.sheets.reading import READ_ME
from permits.plant.sheets.texts import for_xml, guarded, marked

_MOST_DIGITS = 10**11  # beyond this a workbook shows a whole number as 1E+11
_WIDEST = 44
_FIRST_OF_ZIP = (1980, 1, 1, 0, 0, 0)  # the same plant gives the same bytes
_BOLD = Font(bold=True)
_SHADED = PatternFill("solid", fgColor="E7E7E2")
_TOP = Alignment(vertical="top", wrap_text=True)
_WIDTHS = {Type.YES_NO: 11, Type.WHOLE: 11, Type.DECIMAL: 13}

Row = dict[str, str | int]


def flat(name: str, row: Mapping[str, Any]) -> Row:
    """A row of the plant file by heading: whole numbers as such, all else as text; what is absent left out.

    Raises ValueError for a member that has no column: nothing is left out in silence.
    """
    columns = {column.path: column for column in COLUMNS[name]}
    found: Row = {}
    for path, value in _paths(row):
        if (column := columns.get(path)) is None:
            raise ValueError(f"The sheet {name} has no column for the member {'.'.join(path)}.")
        if value is not None:
            found[column.heading] = _written(value)
    return found


def rows_of(name: str, plant: Mapping[str, Any]) -> Iterator[Row]:
    """The rows of one sheet of a plant file (JSON values, as `plantfile.as_dict` gives them)."""
    if name == "plant":
        yield flat(name, {member: value for member, value in plant.items() if member not in LISTS})
    else:
        yield from (flat(name, row) for row in plant.get(name, ()))


def as_workbook(plant: Mapping[str, Any]) -> bytes:
    """The plant as an XLSX file: the first sheet explains the columns, then one sheet for each list."""
    book = Workbook(write_only=True)
    book.properties.creator = "Permits"
    book.properties.title = str(plant.get("plant", ""))
    _explain(book)
    for name in NAMES:
        rows = list(rows_of(name, plant))
        sheet = book.create_sheet(name)
        sheet.freeze_panes = "C2" if name == "nodes" else "A2"
        for place, column in enumerate(COLUMNS[name], 1):
            sheet.column_dimensions[get_column_letter(place)].width = _width(column, rows)
        _offer_choices(sheet, COLUMNS[name])
        sheet.append([_cell(sheet, column.heading, head=True) for column in COLUMNS[name]])
        for row in rows:
            sheet.append([_cell(sheet, row.get(column.heading)) for column in COLUMNS[name]])
    file = BytesIO()
    book.save(file)
    return file.getvalue()


def as_csv_files(plant: Mapping[str, Any]) -> bytes:
    """The plant as a zip of one CSV file for each list, in UTF-8 with commas, and the explanation as text."""
    file = BytesIO()
    with ZipFile(file, "w", ZIP_DEFLATED) as package:
        for name in NAMES:
            package.writestr(ZipInfo(f"{name}.csv", _FIRST_OF_ZIP), as_csv(name, plant), ZIP_DEFLATED)
        text = "\r\n".join(_explained_in_text()).encode()
        package.writestr(ZipInfo("read-me.txt", _FIRST_OF_ZIP), text, ZIP_DEFLATED)
    return file.getvalue()


def as_csv(name: str, plant: Mapping[str, Any]) -> bytes:
    """One list of the plant as a CSV file; the mark at its start tells programs that it is UTF-8."""
    text = StringIO(newline="")
    writer = csv.writer(text, quoting=csv.QUOTE_ALL)
    headings = [column.heading for column in COLUMNS[name]]
    writer.writerow(headings)
    for row in rows_of(name, plant):
        writer.writerow([_in_csv(row.get(heading, "")) for heading in headings])
    return text.getvalue().encode("utf-8-sig")


def _paths(row: Mapping[str, Any]) -> Iterator[tuple[tuple[str, ...], Any]]:
    for name, value in row.items():
        if isinstance(value, Mapping):
            yield from (((name, inner), one) for inner, one in value.items())
        else:
            yield (name,), value


def _written(value: Any) -> str | int:
    match value:
        case bool():
            return "yes" if value else "no"
        case int():
            return value
        case list() | tuple():
            return " ".join(map(str, value))
        case Decimal():
            return plain(value)
        case str():
            return value
        case _:
            raise ValueError(f"No cell can hold {value!r}.")


def _in_csv(value: str | int) -> str:
    return guarded(value) if isinstance(value, str) else str(value)


def _cell(sheet: Any, value: str | int | None, *, head: bool = False) -> Any:
    """A cell that holds what it shows: texts are marked as such, and none is a formula."""
    if value is None or value == "":
        return None
    text = value if isinstance(value, str) else str(value) if abs(value) >= _MOST_DIGITS else None
    cell = WriteOnlyCell(sheet, value=value if text is None else None)
    if text is not None:
        cell._value = for_xml(marked(text))  # set past the guess that makes a formula of what begins with =
        cell.data_type = "s"
        cell.number_format = "@"
        cell.quotePrefix = True
    if head:
        cell.font, cell.fill = _BOLD, _SHADED
    elif text is not None and "\n" in text:
        cell.alignment = _TOP
    return cell


def _width(column: Column, rows: Sequence[Row]) -> float:
    longest = max((len(str(row.get(column.heading, ""))) for row in rows[:200]), default=0)
    return min(max(len(column.heading), longest, _WIDTHS.get(column.type, 8)) + 2, _WIDEST)


def _offer_choices(sheet: Any, columns: Sequence[Column]) -> None:
    """A list to choose from where only some words may stand."""
    for place, column in enumerate(columns, 1):
        choices = ("yes", "no") if column.type is Type.YES_NO else column.choices
        if choices:
            letter = get_column_letter(place)
            offered = DataValidation("list", formula1=f'"{",".join(choices)}"', allow_blank=True)
            offered.showErrorMessage = False  # what is wrong is said when it is imported, with its row
            offered.add(f"{letter}2:{letter}1048576")
            sheet.data_validations.append(offered)


def _explain(book: Any) -> None:
    sheet = book.create_sheet(READ_ME)
    for letter, width in zip("ABCDE", (10, 34, 14, 12, 90), strict=True):
        sheet.column_dimensions[letter].width = width
    for line in ABOUT:
        sheet.append([_cell(sheet, line)])
    sheet.append([])
    sheet.append([_cell(sheet, title, head=True) for title in COLUMNS_OF_EXPLANATION])
    for row in explanation():
        sheet.append([_cell(sheet, text) for text in row])


def _explained_in_text() -> Iterator[str]:
    yield from ABOUT
    for sheet, heading, needed, type_, meaning in explanation():
        yield f"{sheet}.csv  {heading}  ({type_}{', ' + needed if needed else ''}): {meaning}"
