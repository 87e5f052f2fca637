"""Ground that takes many commands to make: made once a process, and its rows put back for whoever is next.

A plant with its people, or a machine brought under power, is made by the rooms' own actions; what these left
in the tables is remembered. Where the tables hold the same again as before it was made, its rows are put back
in milliseconds, with the triggers off meanwhile: these were asked when the rows were made.
"""

from __future__ import annotations

import copy
import time
from collections.abc import Callable
from math import inf
from typing import Any, NamedTuple, TypeVar

from django.db import connection, transaction

Made = TypeVar("Made")
Rows = dict[str, tuple[tuple[Any, ...], ...]]
"""Each table's rows, in the order of its columns."""

STILL_NEW_S = 300
"""So long a job that began before now can pass for one that begins at its test."""


class Kept(NamedTuple):
    rows: Rows  # of the tables that it changed
    made: Any
    at: float


KEPT: dict[tuple[str, int], Kept] = {}


def kept(name: str, make: Callable[[], Made], *, good_for: float = inf) -> Made:
    """What `make` makes and returns; or made on the same rows before, `good_for` seconds ago at most."""
    if connection.vendor != "sqlite":  # its schema changes end with the test, and its keys follow the rows
        return make()
    before = rows_now()
    of_these = name, hash(tuple(before.items()))
    known = KEPT.get(of_these)
    if known is not None and time.monotonic() - known.at < good_for:
        put_back(known.rows)
        return copy.deepcopy(known.made)
    begun = time.monotonic()
    made = make()
    changed = {table: rows for table, rows in rows_now().items() if rows != before[table]}
    KEPT[of_these] = Kept(changed, copy.deepcopy(made), begun)
    return made


def rows_now() -> Rows:
    with connection.cursor() as cursor:
        return {
            table: tuple(cursor.execute(f'SELECT * FROM "{table}" ORDER BY rowid'))
            for table in sorted(connection.introspection.table_names(cursor))
        }


def put_back(tables: Rows) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        triggers = list(cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"))
        for name, _ in triggers:
            cursor.execute(f'DROP TRIGGER "{name}"')
        for table, rows in tables.items():
            cursor.execute(f'DELETE FROM "{table}"')
            if rows:
                places = ", ".join(["%s"] * len(rows[0]))
                cursor.executemany(f'INSERT INTO "{table}" VALUES ({places})', rows)
        for _, written in triggers:
            cursor.execute(written)
