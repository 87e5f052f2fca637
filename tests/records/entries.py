"""Entries made up for tests, as they would be read back from a ledger; nothing is written."""

from __future__ import annotations

import dataclasses
import types
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from enum import StrEnum
from typing import Any, Union, get_args, get_origin

from permits.ledger.body import GENESIS, body_bytes, body_digest
from permits.records.entries import Told, told_with_event
from permits.work.rules.written import CARRIED, SITE_KINDS, WHOLE_SITE, hints_of, kind_of, to_data

SEVEN = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
ODO, MAUD, PIA = "K7Q2M9XB", "M4AUD8XY", "P1A2B3C4"
NAMES = {ODO: "Odo Kestrelman", MAUD: "Maud Ferrisdale", PIA: "Pía Lindqvall"}


def at(minutes: float) -> datetime:
    return SEVEN + timedelta(minutes=minutes)


def told(
    kind: str,
    data: Mapping[str, Any],
    *,
    number: int = 1,
    minutes: float = 0,
    about: str = "permit:P-1",
    by: str = ODO,
    device: str = "",
) -> Told:
    """An entry of any kind with these data. `by`: a person, or "" for the clock."""
    author = f"person:{by}" if by else "system:clock"
    moment = at(minutes)
    shared = {
        "number": number, "kind": kind, "about": about, "by": author, "by_digest": GENESIS, "device": device,
        "at": moment, "data": dict(data), "previous": GENESIS,
    }  # fmt: skip
    body = body_bytes(ledger="QUILLFEN", **shared)
    return told_with_event(Told(body=body.decode(), digest=body_digest(body), **shared))


def event(
    made: type[Any], *, number: int = 1, minutes: float = 0, by: str = ODO, device: str = "", **fields: Any
) -> Told:
    """An entry that tells of an event: a plain value in each field that is not given and has no default."""
    later = {one.name for one in dataclasses.fields(made) if one.default is not dataclasses.MISSING}
    hints = {name: hint for name, hint in hints_of(made).items() if name not in CARRIED}
    values = {
        name: fields[name] if name in fields else sample(hint)
        for name, hint in hints.items()
        if name in fields or name not in later
    }
    is_site_wide = kind_of(made) in SITE_KINDS
    happened = made(permit="" if is_site_wide else "P-1", by=by, at=at(minutes), **values)
    return told(
        kind_of(made), to_data(happened), number=number, minutes=minutes, by=by, device=device,
        about=WHOLE_SITE if is_site_wide else "permit:P-1",
    )  # fmt: skip


def sample(hint: Any) -> Any:
    """Some value of a type, as the rules' own classes have them."""
    origin = get_origin(hint)
    if origin in (Union, types.UnionType):
        return sample(next(arg for arg in get_args(hint) if arg is not type(None)))
    if origin is tuple:
        args = get_args(hint)
        return (sample(args[0]),) if args[-1] is Ellipsis else tuple(sample(arg) for arg in args)
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return next(iter(hint))
    if dataclasses.is_dataclass(hint):
        return hint(**{name: sample(of) for name, of in hints_of(hint).items()})
    return {str: "C1", int: 1, bool: True, Decimal: Decimal("0.5"), datetime: at(60)}[hint]
