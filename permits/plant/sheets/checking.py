"""A read spreadsheet as a plant file: checked by its rules, each error led back to its cell."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from permits.plant.rules.plantfile import PlantFile, PlantFileError, PlantFileErrors, check
from permits.plant.sheets.columns import LISTS, NAMES
from permits.plant.sheets.completing import completed
from permits.plant.sheets.reading import Sheets
from permits.plant.sheets.tables import SheetError, SheetErrors

_ROW = re.compile(r"(machines|nodes|links)\[(\d+)\]")
_OTHER_ROW = re.compile(r"^(machines|nodes|links)\[(\d+)\](?= has it already| is the same link)")
_PLACE_IN_LIST = re.compile(r"\[\d+\]$")
_IN_WORDS = {
    '["L1-L2", "L1-PE"]': "L1-L2 L1-PE",
    'such as 50 or "0.05"': "such as 50 or 0.05",
    "or null where": "or an empty cell where",
    "a list of pairs, such as": "pairs, such as",
    "a list of at least two of": "at least two of",
    "to leave it out": "an empty cell",
    "its name in 'device'": "its name in the column device",
}
"""What the plant file's rules say of JSON, and what is right for a cell."""


@dataclass(frozen=True, slots=True)
class Checked:
    """The plant that a file describes, or None and everything that is wrong with it.

    `sheets`: what was checked, with the columns that the file leaves out as they are in the plant.
    """

    plant_file: PlantFile | None
    errors: tuple[SheetError, ...]
    sheets: Sheets


def checked(sheets: Sheets, present: Mapping[str, Any] | None = None) -> Checked:
    """Checks what was read. `present`: the plant as it is (`store.to_plant_file`), from which comes what is
    not in the file; None where there is none yet, and then it must all be there.
    """
    sheets = completed(sheets, present)
    errors = sheets.all_errors
    plant: dict[str, Any] = {}
    if plant_row := _plant_row(sheets, errors):
        plant |= plant_row
    elif present:
        plant |= {name: value for name, value in present.items() if name not in LISTS}
    for name in LISTS:
        if name in sheets.found:
            plant[name] = [one.row for one in sheets.found[name].rows]
        elif present and name in present:
            plant[name] = present[name]
    try:
        plant_file = check(plant)
    except PlantFileErrors as found:
        errors += _led_back(found.errors, sheets, errors)
        if not errors:  # nothing that was said leads to a cell: say it as it is
            errors += [SheetError("", 0, "", "", str(error), "a file without it") for error in found.errors]
        plant_file = None
    return Checked(None if errors else plant_file, tuple(sorted(errors, key=_order)), sheets)


def plant_file_of(sheets: Sheets, present: Mapping[str, Any] | None = None) -> PlantFile:
    """The plant that a file describes. Raises SheetErrors with everything that is wrong with it."""
    result = checked(sheets, present)
    if result.plant_file is None:
        raise SheetErrors(result.errors)
    return result.plant_file


def _plant_row(sheets: Sheets, errors: list[SheetError]) -> Mapping[str, Any]:
    sheet = sheets.found.get("plant")
    if sheet is None or not sheet.rows:
        return {}
    for extra in sheet.rows[1:]:
        wrong = "is a second row about the plant"
        errors.append(SheetError(sheet.title, extra.number, "", "", wrong, "one row"))
    return sheet.rows[0].row


def _led_back(found: tuple[PlantFileError, ...], sheets: Sheets, known: list[SheetError]) -> list[SheetError]:
    """The errors by sheet, row and column, but for those of a cell of which something is said already."""
    said = {(error.sheet, error.row, error.heading) for error in known}
    unread = {sheet.title for sheet in sheets.found.values() if not sheet.at}
    led = (_one_led_back(error, sheets) for error in found if not _is_of_a_missing_column(error, sheets))
    return [
        error
        for error in led
        if (error.sheet, error.row, error.heading) not in said and error.sheet not in unread
    ]


def _is_of_a_missing_column(error: PlantFileError, sheets: Sheets) -> bool:
    """Said once for the column, not again for each row."""
    row = _ROW.match(error.row)
    sheet = sheets.found.get(row[1]) if row else None
    return sheet is not None and error.field not in sheet.at and error.wrong == "is missing"


def _one_led_back(error: PlantFileError, sheets: Sheets) -> SheetError:
    heading = _PLACE_IN_LIST.sub("", error.field).replace(".", " ", 1)
    wrong, right = _in_words(error, sheets)
    if row := _ROW.match(error.row):
        sheet = sheets.found.get(row[1])
        if sheet is None:
            wrong = f"{error.row.split(' ', 1)[-1].strip('()')}, which is not in the file: {wrong}"
            return SheetError(row[1], 0, "", heading, wrong, right)
        number = sheet.rows[int(row[2])].number
        return SheetError(sheet.title, number, sheet.at.get(heading, ""), heading, wrong, right)
    if heading in LISTS:
        right = f"one with a row for each of the {heading}"
        return SheetError("", 0, "", "", f"has no sheet {heading}", right)
    sheet = sheets.found.get("plant")
    if sheet is None:
        return SheetError("", 0, "", "", "has no sheet plant", "one with a row that has the site's name")
    number = sheet.rows[0].number if sheet.rows else 0
    return SheetError(sheet.title, number, sheet.at.get(heading, ""), heading, wrong, right)


def _in_words(error: PlantFileError, sheets: Sheets) -> tuple[str, str]:
    wrong, right = error.wrong, error.right
    if other := _OTHER_ROW.match(wrong):
        sheet = sheets.found.get(other[1])
        number = sheet.rows[int(other[2])].number if sheet else int(other[2]) + 1
        wrong = f"row {number}{wrong[other.end() :]}"
    if wrong == "is missing" and error.field:
        wrong = "is empty"
    for json, cell in _IN_WORDS.items():
        right = right.replace(json, cell)
    return wrong, right


def _order(error: SheetError) -> tuple[int, str, int, int, str]:
    """The file first, then sheet by sheet from top to bottom."""
    place = NAMES.index(error.sheet) if error.sheet in NAMES else -1
    return place, error.sheet, error.row, len(error.column), error.column
