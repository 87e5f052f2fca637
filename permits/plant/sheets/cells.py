"""From a cell to the value of a plant file's member, exactly, or what is wrong with it."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from permits.plant.rules.rows import plain, shown
from permits.plant.sheets.columns import Column, Type
from permits.plant.sheets.tables import Cell, Number, Wrong

AS_TEXT = "the text itself: format the cell as text, then type it again"
_KEPT_DIGITS = 15  # of a number in a workbook's cell; a double keeps no more
_SHOWN_DIGITS = 11  # of a whole number under the format General, beyond which it is shown as 1.2E+11
_WHOLE = re.compile(r"[+-]?\d{1,17}", re.ASCII)
_COMMA = re.compile(r"[+-]?\d{1,12},\d{1,9}", re.ASCII)
_PLAIN_FORMAT = re.compile(r"(#,##)?0(?:\.(0+))?")
_APART = re.compile(r"[\s,;]+")
_YES_NO = {"yes": True, "true": True, "no": False, "false": False}


def value_of(cell: Cell, column: Column) -> Any:
    """The member's value as JSON would have it, None where the cell says nothing, or a Wrong."""
    if isinstance(cell, Wrong):
        return cell
    if isinstance(cell, str) and not cell.strip() and (column.type is not Type.TEXT or not cell):
        return None
    match column.type:
        case Type.TEXT:
            return _text(cell, column)
        case Type.WHOLE:
            return _whole(cell)
        case Type.DECIMAL:
            return _decimal(cell)
        case Type.YES_NO:
            return _yes_no(cell)
        case Type.WORDS:
            return _words(cell)


def _text(cell: str | bool | Number, column: Column) -> str | Wrong:
    match cell:
        case bool():
            return Wrong(f"is the truth value {str(cell).upper()}, not a text", AS_TEXT)
        case Number():
            return _digits(cell)
    folded = cell.strip().casefold()
    return folded if folded in column.choices else cell


def _digits(number: Number) -> str | Wrong:
    """A number where a text should be: only where what it shows is sure to be what was meant."""
    digits = plain(number.value)
    if number.format not in ("General", "@", "0"):
        wrong = f"holds the number {digits} under the format {number.format}: it may show something else"
        return Wrong(wrong, AS_TEXT)
    if number.format == "0" and not _is_whole(number.value):
        return Wrong(f"holds {digits}, but shows {number.value:.0f}", AS_TEXT)
    if len(digits.lstrip("-").replace(".", "")) > _SHOWN_DIGITS:
        wrong = f"is a number of many digits, {digits}: a spreadsheet shows and keeps it as it likes"
        return Wrong(wrong, AS_TEXT)
    return digits


def _whole(cell: str | bool | Number) -> int | Wrong:
    right = "a whole number in digits, such as 1, or an empty cell"
    match cell:
        case Number():
            if wrong := _not_as_shown(cell):
                return wrong
            return int(cell.value) if _is_whole(cell.value) else Wrong(f"is {plain(cell.value)}", right)
        case str() if _WHOLE.fullmatch(cell.strip()):
            return int(cell)
        case _:
            return Wrong(f"is {_said(cell)}", right)


def _decimal(cell: str | bool | Number) -> str | Wrong:
    """Texts are handed on as they are: the plant file's own rules say what is right for this member."""
    match cell:
        case bool():
            return Wrong(f"is {_said(cell)}", "a number in digits, such as 0.05")
        case Number():
            return _not_as_shown(cell) or plain(cell.value)
        case str() if _COMMA.fullmatch(cell.strip()):
            return Wrong(f"is {shown(cell)}, with a comma", f"a point: {cell.strip().replace(',', '.')}")
        case _:
            return cell.strip()


def _yes_no(cell: str | bool | Number) -> bool | Wrong:
    if isinstance(cell, bool):
        return cell
    if isinstance(cell, str) and (answer := _YES_NO.get(cell.strip().casefold())) is not None:
        return answer
    return Wrong(f"is {_said(cell)}", "yes or no, or an empty cell")


def _words(cell: str | bool | Number) -> list[str] | Wrong:
    if isinstance(cell, str):
        return [word for word in _APART.split(cell) if word]
    return Wrong(f"is {_said(cell)}", "words with a space between two")


def _not_as_shown(number: Number) -> Wrong | None:
    """Says where a cell holds another number than people see in it."""
    value = number.value
    if not value.is_finite():
        return Wrong("holds a number without end", "a number in digits")
    if len(value.normalize().as_tuple().digits) > _KEPT_DIGITS:
        wrong = f"holds {value}, but shows {plain(Decimal(f'{value:.10g}'))}"
        return Wrong(wrong, "the number that is meant, in digits; one of more than 15 digits as a text")
    if number.format in ("General", "@"):
        return None
    if not (found := _PLAIN_FORMAT.fullmatch(number.format)):
        wrong = f"holds {plain(value)} under the format {number.format}: it may show something else"
        return Wrong(wrong, "the number under the format General")
    rounded = value.quantize(Decimal(1).scaleb(-len(found[2] or "")), ROUND_HALF_UP)
    if rounded == value:
        return None
    right = "the number that is meant, with all its digits shown"
    return Wrong(f"holds {plain(value)}, but shows {rounded}", right)


def _is_whole(value: Decimal) -> bool:
    return value.is_finite() and value == value.to_integral_value()


def _said(cell: str | bool | Number) -> str:
    match cell:
        case bool():
            return str(cell).upper()
        case Number():
            return plain(cell.value)
        case _:
            return shown(cell)
