"""What one entry says in the plant's words: a sentence, and what else belongs to it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from permits.records.names import Names
from permits.records.times import Clock


@dataclass(frozen=True, slots=True)
class Line:
    """`what` is a sentence without its full stop; `detail` one or more sentences, or nothing."""

    what: str
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Voice:
    """What the sentences of one record need: its names and its clock."""

    names: Names
    clock: Clock

    def who(self, ref: str) -> str:
        """A person of an event; the clock where nobody acted."""
        return self.names.person(ref) if ref else "Time"

    def when(self, at: datetime) -> str:
        return self.clock.full(at)


def sentences(*parts: str) -> str:
    """The parts that say something, each with its full stop."""
    return " ".join(part if part[-1] in ".!?…" else f"{part}." for part in parts if part)


def number(value: Decimal) -> str:
    """Digits as they were typed, without an exponent."""
    return format(value, "f")


def with_unit(value: Decimal, unit: str) -> str:
    return f"{number(value)} {unit}".strip()


def count(items: Iterable[object] | int, one: str, many: str) -> str:
    n = items if isinstance(items, int) else len(list(items))
    return f"{n} {one if n == 1 else many}"
