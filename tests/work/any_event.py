"""A command or an event of any kind about the small plant, where only some of its fields matter."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from enum import StrEnum
from typing import Any, get_origin

from permits.work.rules.written import hints_of
from tests.work.small_plant import at


def given(made: type, **fields: Any) -> Any:
    """A value of a command or an event: the fields that are named, and some value for each other one."""
    plain = {name: some(hint) for name, hint in hints_of(made).items()}
    known = {"permit": "P-1", "by": "odo", "person": "hal", "owner": "hal", "to": "pia"}
    return made(**plain | {name: value for name, value in (known | fields).items() if name in plain})


def some(hint: Any) -> Any:
    if get_origin(hint) is tuple:
        return ()
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return next(iter(hint))
    made = {str: "x", bool: False, int: 1, datetime: at(4), Decimal: Decimal(0)}
    return made.get(hint)
