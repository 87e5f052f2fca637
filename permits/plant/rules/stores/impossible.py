"""What cannot be a store: the error that stored-energy functions raise, and checks that raise it. Pure."""

from __future__ import annotations

from math import inf, isfinite

LEAST = 1e-15
MOST = 1e15  # in any SI unit used here: a bound that keeps every result finite, not a judgement of plants


class ImpossibleStore(ValueError):
    """A value that no store can have: its `field`, what is `wrong` with it and what would be `right`."""

    def __init__(self, field: str, wrong: str, right: str) -> None:
        super().__init__(field, wrong, right)
        self.field, self.wrong, self.right = field, wrong, right

    def __str__(self) -> str:
        return f"{self.field}: {self.wrong}. Right would be {self.right}."


def number(field: str, value: float | None) -> float:
    """The value as a finite float within ±10¹⁵. Raises ImpossibleStore."""
    if value is None:
        raise ImpossibleStore(field, "is missing", "a number")
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise ImpossibleStore(field, f"is {value!r}", "a number")
    try:
        checked = float(value)
    except OverflowError:  # an integer of 400 digits
        checked = inf
    if not isfinite(checked):
        raise ImpossibleStore(field, "is not a finite number", "a finite number")
    if abs(checked) > MOST:
        wrong = f"is {written(checked)}, beyond anything in a plant"
        raise ImpossibleStore(field, wrong, f"at most {MOST:g}")
    return checked


def above_zero(field: str, value: float | None) -> float:
    """The value, from 10⁻¹⁵ to 10¹⁵. Raises ImpossibleStore."""
    checked = number(field, value)
    if checked <= 0:
        raise ImpossibleStore(field, f"is {written(checked)}", "a number above zero")
    if checked < LEAST:
        wrong = f"is {written(checked)}, below anything in a plant"
        raise ImpossibleStore(field, wrong, f"{LEAST:g} or more")
    return checked


def not_below_zero(field: str, value: float | None) -> float:
    """The value, zero or more. Raises ImpossibleStore."""
    checked = number(field, value)
    if checked < 0:
        raise ImpossibleStore(field, f"is {written(checked)}, below zero", "zero or more")
    return checked


def above(field: str, value: float | None, floor: float, floor_is: str) -> float:
    """The value, above `floor`; `floor_is` says what that is. Raises ImpossibleStore."""
    checked = number(field, value)
    if checked <= floor:
        raise ImpossibleStore(
            field, f"is {written(checked)}", f"a number above {floor_is}, which is {written(floor)}"
        )
    return checked


def at_least(field: str, value: float | None, floor: float, floor_is: str) -> float:
    """The value, not below `floor`; `floor_is` says what that is. Raises ImpossibleStore."""
    checked = number(field, value)
    if checked < floor:
        raise ImpossibleStore(
            field, f"is {written(checked)}", f"a number not below {floor_is}, which is {written(floor)}"
        )
    return checked


def at_most(field: str, value: float | None, ceiling: float, ceiling_is: str) -> float:
    """The value, not above `ceiling`; `ceiling_is` says what that is. Raises ImpossibleStore."""
    checked = number(field, value)
    if checked > ceiling:
        raise ImpossibleStore(
            field, f"is {written(checked)}", f"a number not above {ceiling_is}, which is {written(ceiling)}"
        )
    return checked


def written(value: float) -> str:
    """A number for an error text, in as few digits as it needs."""
    return f"{value:.10g}"
