"""Events as ledger data and back: JSON of strings, integers, booleans, lists and objects only.

Decimals and times are strings (design §7): "0.25", "2026-11-25T07:40:00.123456Z". Reading back gives an equal
event, so the ledger can be replayed.
"""

from __future__ import annotations

import dataclasses
import re
import types
from collections.abc import Mapping
from datetime import UTC, datetime
from decimal import Decimal
from enum import StrEnum
from typing import Any, Union, get_args, get_origin, get_type_hints

from . import events as e

WHOLE_SITE = "site"  # what an entry is about that names no permit
CARRIED = ("permit", "by", "at")  # these have columns of their own in an entry


def kind_of(event: type[e.Event] | e.Event) -> str:
    """An event's kind in an entry: LockApplied is written as "LOCK_APPLIED"."""
    name = event.__name__ if isinstance(event, type) else type(event).__name__
    return re.sub(r"(?<!^)(?=[A-Z])", "_", name).upper()


KINDS: Mapping[str, type[e.Event]] = {kind_of(each): each for each in get_args(e.Event)}
SITE_KINDS = frozenset(kind_of(each) for each in get_args(e.SiteEvent))


def to_data(event: e.Event) -> dict[str, Any]:
    """The event's own fields, without those that the entry carries."""
    return {
        field.name: plain(getattr(event, field.name))
        for field in dataclasses.fields(event)
        if field.name not in CARRIED
    }


def from_data(kind: str, data: Mapping[str, Any], *, permit: str, by: str, at: datetime) -> e.Event:
    """The event that an entry tells of. Raises KeyError for an unknown kind or a missing field.

    A field with a default may be missing: the entry was written before the event had it.
    """
    made: type[Any] = KINDS[kind]
    hints = hints_of(made)
    later = {f.name for f in dataclasses.fields(made) if f.default is not dataclasses.MISSING}
    told = [name for name in hints if name not in CARRIED and (name in data or name not in later)]
    fields = {name: read(hints[name], data[name]) for name in told}
    event: e.Event = made(permit=permit, by=by, at=at, **fields)
    return event


_hints: dict[type[Any], dict[str, Any]] = {}


def hints_of(made: type[Any]) -> dict[str, Any]:
    """A dataclass's field types by name; looked up once."""
    if made not in _hints:
        _hints[made] = get_type_hints(made)
    return _hints[made]


def plain(value: Any) -> Any:
    if isinstance(value, StrEnum):
        return value.value
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, datetime):
        return value.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
    if isinstance(value, tuple):
        return [plain(item) for item in value]
    if dataclasses.is_dataclass(value):
        return {field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    return value


def read(hint: Any, value: Any) -> Any:
    """The value of a JSON member under a type hint."""
    origin = get_origin(hint)
    if origin in (Union, types.UnionType):
        if value is None:
            return None
        return read(next(arg for arg in get_args(hint) if arg is not type(None)), value)
    if origin is tuple:
        args = get_args(hint)
        if args[-1] is Ellipsis:
            return tuple(read(args[0], item) for item in value)
        return tuple(read(arg, item) for arg, item in zip(args, value, strict=True))
    if hint is Decimal:
        return Decimal(value)
    if hint is datetime:
        return datetime.strptime(value, "%Y-%m-%dT%H:%M:%S.%fZ").replace(tzinfo=UTC)
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return hint(value)
    if dataclasses.is_dataclass(hint) and isinstance(hint, type):
        hints = hints_of(hint)
        return hint(**{name: read(hints[name], value[name]) for name in hints})
    return value
