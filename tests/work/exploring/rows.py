"""Pairs of states as rows of bits: many at a time, each still there by itself."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

import numpy as np

FIRST, SECOND = 0, 1
Pair = tuple[int, int, int]  # world, state of the first permit, state of the second, each by its number
Place = tuple[int, int]  # of a row: the world, and the state of the permit whose row it is
Rows = dict[Place, int]  # by place the states of the other permit, as a bit set


def bits(of: int) -> Iterator[int]:
    """The numbers in a bit set, the smallest first."""
    while of:
        low = of & -of
        yield low.bit_length() - 1
        of ^= low


def lowest(of: int) -> int:
    return (of & -of).bit_length() - 1


def pair_of(side: int, at: Place, other: int) -> Pair:
    """The pair in the row of this permit at this place, with this state of the other."""
    world, own = at
    return (world, own, other) if side == FIRST else (world, other, own)


def less(rows: Rows, known: Rows) -> Rows:
    """What is in these rows and not in those."""
    return {at: left for at, row in rows.items() if (left := row & ~known.get(at, 0))}


def turned(rows: Rows, wide: int, high: int) -> Rows:
    """The same pairs in rows of the other permit. `wide`, `high`: how many states the rows' bits, and the
    places, are about."""
    by_world: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for (world, own), row in rows.items():
        if row:
            by_world[world].append((own, row))
    found: Rows = {}
    for world, some in by_world.items():
        packed = b"".join(row.to_bytes((wide + 7) // 8, "little") for _, row in some)
        table = np.frombuffer(packed, np.uint8).reshape(len(some), -1)
        table = np.unpackbits(table, axis=1, count=wide, bitorder="little")
        met = np.flatnonzero(table.any(axis=0))
        full = np.zeros((len(met), high), np.uint8)
        full[:, [own for own, _ in some]] = table[:, met].T
        lines = np.packbits(full, axis=1, bitorder="little")
        for state, line in zip(met.tolist(), lines, strict=True):
            found[world, state] = int.from_bytes(line.tobytes(), "little")
    return found
