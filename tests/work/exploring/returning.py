"""From which pairs a permit can still come to its end; and a shortest way to a pair. Both go backwards."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from .remembering import Leaf
from .rows import FIRST, SECOND, Pair, Place, Rows, bits, less, pair_of
from .together import Pairs

Onward = tuple[int, Place, Leaf | None]  # from which pairs, to which row; the leaf if it touches the other


def stuck(done: Pairs, side: int, absent: str = "", safe: Rows | None = None) -> Rows:
    """The pairs, in rows of the first permit, from which no moves, waits included, end this permit.

    `absent`: who is away for good, and makes none of them. `safe`: pairs known to come to an end.
    """
    over = [n for n, p in enumerate(done.sides[side].states) if p.phase.is_over]
    over_there = sum(1 << n for n in over)
    rows, columns = done.seen, done.turned(done.seen, SECOND)
    ends = dict(safe or {})
    for at, row in rows.items():
        ended = row & over_there if side == SECOND else row if at[1] in over else 0
        ends[at] = ends.get(at, 0) | ended
    onwards = {one: onward(done, one, absent) for one in (FIRST, SECOND)}
    again = True
    while again:
        again = grow(done, FIRST, onwards[FIRST], rows, ends)
        turned = done.turned(ends, SECOND)
        again |= grow(done, SECOND, onwards[SECOND], columns, turned)
        ends = done.turned(turned, FIRST)
    return less(rows, ends)


def onward(done: Pairs, side: int, absent: str) -> dict[Place, list[Onward]]:
    """What leads where, by row; without deadlines, on which nobody may depend, and without `absent`."""
    found: dict[Place, list[Onward]] = {}
    other = done.sides[1 - side]
    for (of, *at), ways in done.ways.items():
        if of != side:
            continue
        plain: dict[Place, int] = defaultdict(int)
        touching: list[Onward] = []
        for way in ways:
            who = way.move.command.by if way.move.command else ""
            if not way.move.awaited or (absent and who == absent):
                continue
            if way.leaf.outcome.changes[1 - side]:
                touching.append((other.mask(way.leaf), way.to, way.leaf))
            else:
                plain[way.to] |= other.mask(way.leaf)
        world, own = at
        found[world, own] = [(mask, to, None) for to, mask in plain.items()] + touching
    return found


def grow(done: Pairs, side: int, onwards: dict[Place, list[Onward]], rows: Rows, ends: Rows) -> bool:
    """Add to `ends` every pair from which a move of this permit leads there, until there is no more."""
    grown, again = False, True
    while again:
        again = False
        for at in reversed(rows):
            left = rows[at] & ~ends.get(at, 0)
            for mask, to, leaf in onwards.get(at, ()) if left else ():
                goal, hit = ends.get(to, 0), left & mask
                if leaf is None:
                    hit &= goal
                else:
                    hit = sum(1 << n for n in bits(hit) if goal >> done.image(leaf, 1 - side, n) & 1)
                if hit:
                    ends[at] = ends.get(at, 0) | hit
                    left ^= hit
                    again = grown = True
    return grown


def way_to(done: Pairs, pair: Pair) -> list[str]:
    """The labels of a shortest sequence of moves from the start to the pair."""
    world, first, second = pair
    deep = next(n for n, layer in enumerate(done.layers) if layer.get((world, first), 0) >> second & 1)
    labels = []
    for layer in reversed(done.layers[:deep]):
        pair, label = next(before(done, layer, pair))
        labels.append(label)
    return labels[::-1]


def before(done: Pairs, layer: Rows, pair: Pair) -> Iterator[tuple[Pair, str]]:
    """Pairs of the layer from which one move leads to this pair, and the move's label."""
    world, *states = pair
    for side, rows in ((FIRST, layer), (SECOND, done.turned(layer, SECOND))):
        for at, row in rows.items():
            for way in done.ways.get((side, *at), ()):
                if way.to != (world, states[side]):
                    continue
                for n in bits(row & done.sides[1 - side].mask(way.leaf)):
                    if done.image(way.leaf, 1 - side, n) == states[1 - side]:
                        yield pair_of(side, at, n), way.move.label
