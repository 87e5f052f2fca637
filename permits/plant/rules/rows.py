"""One object of a plant file: reads its members by type and notes everything that is wrong with them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches
from typing import Any

from permits.plant.rules.jsontext import Members, NoNumber

# Control characters and lone surrogates: no database or canonical JSON takes them. A line break is let
# through only where the field may have several lines.
_NOT_TEXT = re.compile("[\x00-\x08\x0b-\x1f\x7f\ud800-\udfff]")
_DECIMAL = re.compile(r"[+-]?\d{1,12}(\.\d{1,9})?")


@dataclass(frozen=True, slots=True)
class PlantFileError:
    """What is wrong at one place: `row` such as "nodes[12] (id 'Q3')", `field` such as "test.limit" (empty
    for the row itself), what was `wrong` and what would be `right`."""

    row: str
    field: str
    wrong: str
    right: str

    def __str__(self) -> str:
        place = f"{self.row}: {self.field}" if self.field else self.row
        return f"{place}: {self.wrong}. Right would be {self.right}."


class PlantFileErrors(ValueError):
    """Everything that is wrong with a plant file; `str()` gives one readable line for each."""

    def __init__(self, errors: tuple[PlantFileError, ...]) -> None:
        super().__init__(errors)
        self.errors = errors

    def __str__(self) -> str:
        return "\n".join(map(str, self.errors))


def shown(value: object) -> str:
    """A value as the file has it, short; lists and objects by their kind only, however deep they are."""
    match value:
        case None | True | False:
            return {None: "null", True: "true", False: "false"}[value]
        case str():
            text = value if len(value) <= 60 else value[:57] + "…"
            return "'" + _NOT_TEXT.sub("�", text) + "'"
        case NoNumber(written=written):
            return written if len(written) <= 30 else written[:27] + "…"
        case list():
            return "a list"
        case dict():
            return "an object"
        case _:
            text = str(value)
            return text if len(text) <= 30 else text[:27] + "…"


class Nearest:
    """Finds the nearest known word. Stops looking after a budget: a big file with every link wrong must
    still answer in seconds."""

    def __init__(self, budget: int = 200_000) -> None:
        self.left = budget

    def to(self, word: str, known: Sequence[str]) -> str | None:
        """The known word most like this one, or None where nothing is like it."""
        if len(known) > self.left:
            return None
        self.left -= len(known)
        folded = {name.casefold(): name for name in known}
        near = get_close_matches(word.casefold()[:64], list(folded), n=1, cutoff=0.6)
        return folded[near[0]] if near else None


@dataclass
class Row:
    """Reads one object. Each reader answers with a value of its type, the default where the member is absent
    or wrong; what is wrong is appended to `errors`."""

    name: str
    value: Members
    errors: list[PlantFileError]
    prefix: str = ""

    def wrong(self, field: str, wrong: str, right: str) -> None:
        self.errors.append(PlantFileError(self.name, self.prefix + field if field else "", wrong, right))

    def __contains__(self, field: str) -> bool:
        return field in self.value

    def raw(self, field: str) -> Any:
        return self.value.get(field)

    def check_names(self, known: Sequence[str], nearest: Nearest, *, strict: bool) -> None:
        """Notes members given twice and, where strict, members that the plant file does not know."""
        for field in dict.fromkeys(self.value.repeated):
            self.wrong(field, "the member stands here more than once", "to give it once")
        for field, value in self.value.items():
            if field in known:
                continue
            if isinstance(value, NoNumber):
                self.wrong(field[:60], f"is {shown(value)}", "a number in digits")
            elif strict:
                near = nearest.to(field, known)
                right = f"'{near}', if that was meant" if near else f"one of {', '.join(known)}"
                self.wrong(field[:60], "the plant file knows no such member", right)

    def missing(self, field: str, right: str) -> bool:
        if field not in self.value:
            self.wrong(field, "is missing", right)
            return True
        return False

    def text(self, field: str, *, longest: int, lines: bool = False, required: str = "") -> str:
        """A text of at most `longest` characters. `required` says what is right where it must be there."""
        if field not in self.value:
            if required:
                self.wrong(field, "is missing", required)
            return ""
        value = self.value[field]
        right = required or f"a text of at most {longest} characters, or to leave it out"
        if not isinstance(value, str):
            self.wrong(field, f"is {shown(value)}, not a text", right)
        elif required and not value.strip():
            self.wrong(field, "is empty", right)
        elif len(value) > longest:
            self.wrong(field, f"has {len(value)} characters", f"at most {longest} characters")
        elif _NOT_TEXT.search(value) or (not lines and ("\n" in value or "\t" in value)):
            self.wrong(
                field,
                "has characters in it that cannot be printed",
                "the text without them" if lines else "the text without them, on one line",
            )
        else:
            return value
        return ""

    def id(self, field: str, longest: int) -> str:
        """An id as people type it: not empty, no space at either end, on one line; "" where it is wrong."""
        right = f"a text of 1 to {longest} characters"
        value = self.text(field, longest=longest, required=right)
        if value != value.strip():
            self.wrong(field, f"is {shown(value)}, with a space at its end", f"{shown(value.strip())}")
            return ""
        return value

    def whole(self, field: str, default: int, least: int, most: int, right: str) -> int:
        """A JSON integer from `least` to `most`: true, 1.0 and "1" are none."""
        if field not in self.value:
            return default
        value = self.value[field]
        if type(value) is int and least <= value <= most:
            return value
        if type(value) is int and value > most:
            right = f"at most {most}"
        self.wrong(field, f"is {shown(value)}", right)
        return default

    def yes_no(self, field: str, default: bool) -> bool:
        if field not in self.value:
            return default
        value = self.value[field]
        if isinstance(value, bool):
            return value
        self.wrong(field, f"is {shown(value)}", "true or false, without quotes")
        return default

    def decimal(self, field: str, right: str, *, signed: bool = False) -> Decimal:
        """A number, as a JSON number or as a text of digits, kept exactly; below zero only where `signed`."""
        value = self.value.get(field)
        if isinstance(value, bool) or not isinstance(value, (int, Decimal, str)):
            self.wrong(field, f"is {shown(value)}", right)
        else:
            written = value.strip() if isinstance(value, str) else plain(Decimal(value))
            if not _DECIMAL.fullmatch(written):
                self.wrong(field, f"is {shown(value)}", right)
            elif (number := Decimal(written)) < 0 and not signed:
                self.wrong(field, f"is {shown(value)}, below zero", right)
            else:
                return number or number.copy_abs()  # no minus zero
        return Decimal(0)

    def inner(self, field: str, right: str) -> Row | None:
        """The object in a member, as a row whose fields are named "field.…"."""
        value = self.value[field]
        if isinstance(value, Members):
            return Row(self.name, value, self.errors, f"{self.prefix}{field}.")
        self.wrong(field, f"is {shown(value)}", right)
        return None

    def words(self, field: str, known: Sequence[str], right: str) -> tuple[str, ...]:
        """A list of different known words."""
        value = self.value[field]
        if not isinstance(value, list) or not value:
            self.wrong(field, f"is {shown(value)}" if value != [] else "is an empty list", right)
            return ()
        for at, word in enumerate(value):
            if not isinstance(word, str) or word not in known:
                self.wrong(f"{field}[{at}]", f"is {shown(word)}", right)
                return ()
        if len(set(value)) != len(value):
            self.wrong(field, "names one of them twice", right)
            return ()
        return tuple(value)


def plain(number: Decimal) -> str:
    """A decimal in digits without an exponent and without trailing zeros: 5E+1 → "50", 0.50 → "0.5".

    Numbers outside 10⁻³⁰ to 10³⁰ keep their exponent, so that no one can make it write a page of zeros.
    """
    if not number.is_finite() or (number and not -30 <= number.adjusted() <= 30):
        return str(number)
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
