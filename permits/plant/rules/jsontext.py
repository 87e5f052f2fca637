"""JSON text to Python values, exactly: decimals stay decimal, repeated member names are kept in mind."""

from __future__ import annotations

import json
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

LARGEST = 64 * 1024 * 1024  # bytes; a plant of 100,000 nodes takes about 20 MB
_LONGEST_INTEGER = 40  # digits; no member of a plant file has more than 16


class Members(dict[str, Any]):
    """A JSON object that remembers which member names were given more than once."""

    repeated: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class NoNumber:
    """What stands where a number should and is none: NaN, Infinity, or more digits than anyone means."""

    written: str


class NotJson(ValueError):
    """The text cannot be read as JSON: `where` it fails, what is `wrong` there and what would be `right`."""

    def __init__(self, where: str, wrong: str, right: str) -> None:
        super().__init__(where, wrong, right)
        self.where, self.wrong, self.right = where, wrong, right


def load(text: str | bytes) -> Any:
    """The value of a JSON text: objects as Members, fractions as Decimal, NaN and the like as NoNumber.

    Raises NotJson, also for text that is too long, nested too deep or not UTF-8.
    """
    if len(text) > LARGEST:
        raise NotJson("the file", f"has {len(text)} bytes", f"at most {LARGEST}")
    if isinstance(text, bytes):
        try:
            text = text.decode("utf-8")
        except UnicodeDecodeError as error:
            raise NotJson(f"byte {error.start}", "is not UTF-8", "a file saved as UTF-8") from None
    text = text.removeprefix("\ufeff")
    if not text.strip():
        raise NotJson("the file", "is empty", "one JSON object")
    try:
        return json.loads(
            text,
            object_pairs_hook=_members,
            parse_float=_fraction,
            parse_int=_integer,
            parse_constant=NoNumber,
        )
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        right = "JSON, with names and texts in double quotes and a comma between two of a kind"
        raise NotJson(where, f"is not JSON ({error.msg})", right) from None
    except RecursionError:
        raise NotJson("the file", "is nested too deep", "lists of objects") from None


def as_members(value: Any) -> Any:
    """A Python value with every dict in it as Members, as `load` gives them."""
    if isinstance(value, dict) and not isinstance(value, Members):
        return Members({name: as_members(inner) for name, inner in value.items()})
    if isinstance(value, list):
        return [as_members(inner) for inner in value]
    return value


def _members(pairs: list[tuple[str, Any]]) -> Members:
    found = Members()
    for name, value in pairs:
        if name in found:
            found.repeated += (name,)
        else:
            found[name] = value
    return found


def _fraction(written: str) -> Decimal | NoNumber:
    try:
        return Decimal(written)
    except InvalidOperation:
        return NoNumber(written)


def _integer(written: str) -> int | NoNumber:
    return int(written) if len(written) <= _LONGEST_INTEGER else NoNumber(written)
