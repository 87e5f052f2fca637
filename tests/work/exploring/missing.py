"""Guards taken away from the exploration of two permits: what lies beyond the pairs that can be reached.

The conditions that refuse a move, and no other does, are known for every pair. Without such a guard the move
is made; what it leads to is followed, layer by layer, until something is wrong, or there is nothing new, or
the reach is used up.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import chain

from .guards import Broken, Reach, Search, kind, replayed, without
from .looking_at_state import wrong_state
from .looking_at_step import wrong_step
from .moving import Move, Stand
from .noting import noting
from .remembering import Leaf
from .returning import before, stuck, way_to
from .rows import FIRST, SECOND, Pair, Place, Rows, bits, less, lowest, pair_of
from .together import Pairs, Went, World
from .walking import PAIR

Refused = dict[Place, dict[str, int]]  # by row and label of a move: from which pairs of the row it is refused


class Refusals:
    """Every refusal of an exploration for one or two codes, and the layers in rows of either permit."""

    def __init__(self, done: Pairs) -> None:
        self.done = done
        self.by_codes: dict[frozenset[str], tuple[Refused, Refused]] = {}
        for (side, world, own, label), leaves in done.leaves.items():
            for leaf in leaves:
                codes = leaf.outcome
                if isinstance(codes, frozenset) and len(codes) <= PAIR:
                    rows = self.by_codes.setdefault(codes, ({}, {}))[side]
                    moves = rows.setdefault((world, own), {})
                    moves[label] = moves.get(label, 0) | done.sides[1 - side].mask(leaf)
        self.layers = [(rows, done.turned(rows, SECOND)) for rows in done.layers]

    def for_these(self, guards: tuple[str, ...]) -> list[tuple[Refused, Refused]]:
        """What the first of the guards refuses, and nothing but these guards does, by whose row it is."""
        return [rows for codes, rows in self.by_codes.items() if guards[0] in codes <= set(guards)]

    def partners(self, guard: str) -> set[str]:
        return {code for codes in self.by_codes if guard in codes for code in codes} - {guard}


class Beyond(Pairs):
    """Pairs that only the lack of guards leads to. States, worlds and changes keep the numbers they have.

    `counts`: which kinds of wrong are looked for. What is wrong otherwise is not followed.
    """

    def __init__(self, refusals: Refusals, guards: tuple[str, ...], counts: Callable[[str], object]) -> None:
        done = refusals.done
        super().__init__(done.plan, done.site, done.sides)
        self.worlds, self.world_number = done.worlds, done.world_number
        self.changes, self.images = done.changes, done.images
        self.moves_of, self.kept = done.moves_of, done.kept
        self.done, self.refusals, self.guards, self.counts = done, refusals, guards, counts
        self.layers.append({})

    def make(self, move: Move) -> Callable[[Stand], Went | frozenset[str]]:
        """A command that breaks down, since what it acts on is not there, is wrong too."""
        made = super().make(move)

        def of(stand: Stand) -> Went | frozenset[str]:
            try:
                return made(stand)
            except Exception as broke:
                wrong = (f"the command breaks down ({type(broke).__name__})",)
                same = self.numbered({})
                return Went(({}, {}), (same, same), self.number_of(World.of(stand)), wrong)

        return of

    def wrong_with(self, before: Stand, move: Move, after: Stand) -> Iterator[str]:
        """Also what is wrong with the pair, as it is before its history is forgotten."""
        return chain(wrong_step(before, move, after), wrong_state(after))

    def look(self, at: Place, row: int) -> None:
        """Looked at when the move to it was made."""

    def follow(self, leaf: Leaf, move: Move, side: int, at: Place, hit: int, new: Rows) -> None:
        went = leaf.outcome
        if not isinstance(went, Went) or not went.wrong:
            super().follow(leaf, move, side, at, hit, new)
        elif what := next((what for what in went.wrong if self.counts(what)), ""):
            self.wrong.append((what, pair_of(side, at, lowest(hit)), move))

    def search(self, reach: Reach) -> Search:
        result = Search()
        refused = self.refusals.for_these(self.guards)
        fresh: Rows = {}
        deep = 0
        while fresh or deep < len(self.refusals.layers):
            new = self.step(fresh, self.turned(fresh, SECOND))
            if deep < len(self.refusals.layers):
                self.let_through(refused, deep, new)
            fresh = less(less(new, self.done.seen), self.seen)
            if found := self.needed():
                result.found = found
                return result
            self.take(fresh)
            if self.states > reach.states:
                result.cut = True
                break
            deep += 1
        result.seen = self.states
        if not result.cut and self.seen:
            result.found = self.stuck()
        return result

    def needed(self) -> Broken | None:
        """What went wrong in this layer, and with either guard alone does not."""
        for what, pair, move in self.wrong:
            assert move is not None
            labels = (*self.way(pair), move.label)
            alone = (replayed(self.plan, labels, (one,)) for one in self.guards)
            if len(self.guards) == 1 or not any(alone):
                return Broken(self.guards, self.plan.name, labels, what)
        self.wrong.clear()
        return None

    def let_through(self, refused: list[tuple[Refused, Refused]], deep: int, new: Rows) -> None:
        """Make the refused moves of one layer."""
        made: tuple[Rows, Rows] = (new, {})
        for side, layer in enumerate(self.refusals.layers[deep]):
            for rows in (each[side] for each in refused):
                for at in layer.keys() & rows.keys():
                    for move in self.moves_from(side, at[1]):
                        if row := layer[at] & rows[at].get(move.label, 0):
                            self.go_by(move, side, at, row, made[side])
        for at, row in self.turned(made[SECOND], FIRST).items():
            new[at] = new.get(at, 0) | row

    def way(self, pair: Pair) -> list[str]:
        """The labels from the start of the plan to the pair."""
        world, first, second = pair
        if self.done.seen.get((world, first), 0) >> second & 1:
            return way_to(self.done, pair)
        deep = next(n for n, rows in enumerate(self.layers) if rows.get((world, first), 0) >> second & 1)
        layer = dict(self.layers[deep - 1])
        if deep <= len(self.done.layers):
            for at, row in self.done.layers[deep - 1].items():
                layer[at] = layer.get(at, 0) | row
        pair, label = next(before(self, layer, pair))
        return [*self.way(pair), label]

    def stuck(self) -> Broken | None:
        for side, of in enumerate(self.sides):
            what = f"{of.permit} can never end"
            for (world, first), row in stuck(self, side, safe=self.done.seen).items():
                if self.counts(what):
                    labels = tuple(self.way((world, first, next(bits(row)))))
                    return Broken(self.guards, self.plan.name, labels, what)
        return None


def search_beyond(
    refusals: Refusals, guards: tuple[str, ...], reach: Reach, counts: Callable[[str], object] = bool
) -> Search:
    """The shortest way to something wrong that `counts`, without these guards; or how far it looked."""
    with without(*guards), noting():
        return Beyond(refusals, guards, counts).search(reach)


def kinds_beyond(refusals: Refusals, guard: str, reach: Reach) -> set[str]:
    """Every kind of wrong that the lack of this one guard leads to."""
    found: set[str] = set()
    search_beyond(refusals, (guard,), reach, lambda what: found.add(kind(what)))
    return found
