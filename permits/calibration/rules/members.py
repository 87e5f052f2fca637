"""Reads the members of a JSON input by type, exactly, and notes everything that is wrong with them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from difflib import get_close_matches
from enum import Enum, auto
from fractions import Fraction
from typing import Any

from permits.calibration.rules.lengths import NotALength, Unit, from_number, parse
from permits.plant.rules.jsontext import Members, NoNumber, NotJson, load

SIGNED_DECIMAL = re.compile(r"[+-]?[0-9]{1,15}(\.[0-9]{1,50})?")


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong: the `field` such as "readings[3].measured", what was `wrong` and what would
    be `right`."""

    field: str
    wrong: str
    right: str

    def __str__(self) -> str:
        return f"{self.field}: {self.wrong}. Right would be {self.right}."


class FaultyInput(ValueError):
    """An input that cannot be used; `str()` gives one line for each fault."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        super().__init__(tuple(faults))
        self.faults = tuple(faults)

    def __str__(self) -> str:
        return "\n".join(map(str, self.faults))


class Allowed(Enum):
    """Which numbers a member may have."""

    ANY = auto()
    NOT_NEGATIVE = auto()
    POSITIVE = auto()


def top_members(text: str | bytes, right: str) -> Members:
    """The members of the one object that a JSON text must be. Raises FaultyInput."""
    try:
        value = load(text)
    except NotJson as error:
        raise FaultyInput([Fault(error.where, error.wrong, error.right)]) from None
    if not isinstance(value, Members):
        raise FaultyInput([Fault("the input", f"is {shown(value)}", right)])
    return value


def shown(value: object) -> str:
    """A value as the input has it, short."""
    match value:
        case None | True | False:
            return {None: "null", True: "true", False: "false"}[value]
        case str():
            return repr(value if len(value) <= 40 else value[:39] + "…")
        case NoNumber(written=written):
            return written[:30]
        case list():
            return "a list" if value else "an empty list"
        case dict():
            return "an object"
        case _:
            return str(value)[:30]


@dataclass
class Reader:
    """Collects faults while members are read; each reader answers None where the member cannot be used."""

    faults: list[Fault] = field(default_factory=list)

    def wrong(self, place: str, wrong: str, right: str) -> None:
        self.faults.append(Fault(place, wrong, right))

    def finish(self) -> None:
        """Raises FaultyInput if anything was wrong."""
        if self.faults:
            raise FaultyInput(self.faults)

    def names(
        self, members: Members, place: str, required: Sequence[str], optional: Sequence[str] = ()
    ) -> None:
        """Notes members that are missing, unknown (with the nearest known one) or given twice."""
        known = [*required, *optional]
        for name in members.repeated:
            self.wrong(_at(place, name), "is given more than once", "to give it once")
        for name in members:
            if name not in known:
                near = get_close_matches(name.casefold()[:64], known, n=1, cutoff=0.6)
                right = f"'{near[0]}', if that was meant" if near else f"one of {', '.join(known)}"
                self.wrong(_at(place, name[:60]), "is unknown here", right)
        for name in required:
            if name not in members:
                self.wrong(_at(place, name), "is missing", f"to give it ({', '.join(required)} belong here)")

    def object(self, value: Any, place: str, right: str) -> Members | None:
        if isinstance(value, Members):
            return value
        self.wrong(place, f"is {shown(value)}", right)
        return None

    def list(self, value: Any, place: str, right: str) -> list[Any] | None:
        if isinstance(value, list) and value:
            return value
        self.wrong(place, f"is {shown(value)}", right)
        return None

    def name(self, value: Any, place: str) -> str | None:
        """A name: a text that is not blank and has no space at its ends."""
        if isinstance(value, str) and value and value == value.strip() and len(value) <= 200:
            return value
        self.wrong(place, f"is {shown(value)}", "a name of 1 to 200 characters without spaces at its ends")
        return None

    def number(
        self, members: Members, name: str, place: str, allowed: Allowed, *, unit: Unit | None = None
    ) -> Fraction | None:
        """A finite number, exact: a JSON number, or a text of decimal digits; with `unit`, also a text as
        people type it in that unit (`92 5/8`). A member that is missing is left to `names`."""
        if name not in members:
            return None
        value, at = members[name], _at(place, name)
        found = self._exact(value, at, unit)
        if found is None:
            return None
        if allowed is Allowed.POSITIVE and found <= 0:
            self.wrong(at, f"is {shown(value)}", "a number above 0")
        elif allowed is Allowed.NOT_NEGATIVE and found < 0:
            self.wrong(at, f"is {shown(value)}, below zero", "0 or a number above it")
        else:
            return found
        return None

    def _exact(self, value: Any, at: str, unit: Unit | None) -> Fraction | None:
        right = "a finite number such as 1200.3"
        if isinstance(value, str):
            if unit is not None:
                try:
                    return parse(value, unit, signed=True).value
                except NotALength as error:
                    self.wrong(at, f"{shown(value)} {error.wrong}", error.forms)
                    return None
            if SIGNED_DECIMAL.fullmatch(value.strip()):
                return Fraction(value.strip())
        elif isinstance(value, int | Decimal) and not isinstance(value, bool):
            try:
                return from_number(value, unit or Unit.MM).value
            except ValueError:
                right = "a number below 10^15 that is not needlessly near to zero"
        self.wrong(at, f"is {shown(value)}", right)
        return None


def _at(place: str, name: str) -> str:
    return f"{place}.{name}" if place else name
