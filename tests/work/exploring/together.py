"""Two permits at once: every pair of their states that can be reached, layer by layer.

A pair is (world, state of the first permit, state of the second), the world being what belongs to neither:
the emergency, paper mode, who is to be told, what is out of use, and the charge of the stores. Pairs are kept
as rows, one bit set of the other permit's states for each (world, state of a permit), once by either permit;
a move is made for all pairs of a row at once that it was remembered for. What is counted, and what is looked
at, is each single pair: nothing is left out and nothing is merged that walking.py would tell apart.
"""

from __future__ import annotations

import functools
import operator
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any

from permits.work.rules.commands import Command
from permits.work.rules.refusal import Refused
from permits.work.rules.state import Permit, Site
from permits.work.rules.words import Declared, OutOfUse

from .beginning import PlanOfTwo
from .charge import Charge
from .forgetting import forget_out_of_use, forget_permit
from .looking_at_state import wrong_state
from .looking_at_step import wrong_step
from .moving import Move, Stand, moved
from .noting import Notes, noting, told
from .places import EARLIER, NOW
from .remembering import Leaf, Memory, Side
from .rows import FIRST, SECOND, Pair, Place, Rows, bits, less, lowest, pair_of, turned


@dataclass(frozen=True, slots=True)
class World:
    """What belongs to no permit."""

    emergency: bool
    paper: bool
    untold: tuple[str, ...]
    out_of_use: tuple[OutOfUse, ...]
    charge: Charge

    @classmethod
    def of(cls, stand: Stand) -> World:
        site = stand.site
        return cls(
            site.emergency is not None, site.paper is not None, tuple(sorted(site.untold)),
            forget_out_of_use(site), stand.charge,
        )  # fmt: skip

    def stand(self, site: Site, permits: dict[str, Permit]) -> Stand:
        so = Declared("", EARLIER, "")
        site = replace(
            site, permits=permits, emergency=so if self.emergency else None, paper=so if self.paper else None,
            untold=dict.fromkeys(self.untold, ("P-1",)),
            out_of_use={one.machine: one for one in self.out_of_use},
        )  # fmt: skip
        return Stand(site, self.charge)


@dataclass(frozen=True, slots=True)
class Went:
    """What an allowed move does: which fields it changes in each permit, the world after it, what is wrong.

    `same`: for each permit a number that equal changes share.
    """

    changes: tuple[dict[str, Any], dict[str, Any]]
    same: tuple[int, int]
    world: int
    wrong: tuple[str, ...]


@dataclass(slots=True, eq=False)
class Way:
    """An allowed move of one row: the pairs of the leaf it leads to this row."""

    leaf: Leaf
    move: Move
    to: Place


@dataclass(repr=False)
class Pairs:
    """The exploration.

    `seen`: every pair that was reached, `layers`: the new ones of each depth, in rows of the first permit.
    `kept`: equal moves of one permit, each once, so that one can be told by its identity.
    `leaves`: by permit, row and move what was remembered there; `ways`: by permit and row those of it that
    are allowed. `images`: where a change (by its number in `changes`) takes a state of a permit. `wrong`:
    what is wrong, in which pair, after which move, if it is not the pair itself. `moves`, `tried`: allowed
    ones, and all, counted for each pair.
    """

    plan: PlanOfTwo
    site: Site
    sides: tuple[Side, Side]
    memory: Memory = field(default_factory=Memory)
    worlds: list[World] = field(default_factory=list)
    world_number: dict[World, int] = field(default_factory=dict)
    seen: Rows = field(default_factory=dict)
    layers: list[Rows] = field(default_factory=list)
    ways: dict[tuple[int, int, int], list[Way]] = field(default_factory=dict)
    leaves: dict[tuple[int, int, int, str], list[Leaf]] = field(default_factory=dict)
    moves_of: dict[tuple[int, int], list[Move]] = field(default_factory=dict)
    kept: dict[tuple[int, str, Command | None], Move] = field(default_factory=dict)
    images: dict[tuple[int, int, int], int] = field(default_factory=dict)
    changes: dict[Any, int] = field(default_factory=dict)
    wrong: list[tuple[str, Pair, Move | None]] = field(default_factory=list)
    moves: int = 0
    tried: int = 0
    seconds: float = 0.0

    @property
    def states(self) -> int:
        return sum(row.bit_count() for row in self.seen.values())

    def number_of(self, world: World) -> int:
        known = self.world_number.get(world)
        if known is None:
            known = self.world_number[world] = len(self.worlds)
            self.worlds.append(world)
        return known

    def stand(self, pair: Pair) -> Stand:
        world, *numbers = pair
        permits = {s.permit: s.states[n] for s, n in zip(self.sides, numbers, strict=True)}
        return self.worlds[world].stand(self.site, permits)

    # ── making moves ────────────────────────────────────────────────────────────────────────────────────

    def leaf(self, about: Any, pair: Pair, make: Callable[[Stand], Any]) -> Leaf:
        """What `make` finds for this pair, remembered or made."""
        world, *numbers = pair
        states = {side.permit: (side, n) for side, n in zip(self.sides, numbers, strict=True)}

        def noted(notes: Notes) -> Any:
            permits = {id: notes.of(side.states[n]) for id, (side, n) in states.items()}
            return make(self.worlds[world].stand(self.site, permits))

        return self.memory.leaf((about, world), states, noted)

    def make(self, move: Move) -> Callable[[Stand], Went | frozenset[str]]:
        """Makes the move: what it does, or the codes of its refusal."""

        def of(stand: Stand) -> Went | frozenset[str]:
            try:
                after = moved(stand, move)
            except Refused as refused:
                return frozenset(refused.codes)
            assert after.site.graph is self.site.graph
            one, two = (told(after.site.permits[side.permit]) for side in self.sides)
            same = (self.numbered(one), self.numbered(two))
            wrong = tuple(self.wrong_with(stand, move, after))
            return Went((one, two), same, self.number_of(World.of(after)), wrong)

        return of

    def wrong_with(self, before: Stand, move: Move, after: Stand) -> Iterator[str]:
        return wrong_step(before, move, after)

    def numbered(self, changes: dict[str, Any]) -> int:
        return self.changes.setdefault(frozenset(changes.items()), len(self.changes))

    def moves_from(self, side: int, own: int) -> list[Move]:
        """The moves of a permit in this state."""
        if (side, own) not in self.moves_of:
            p = self.sides[side].states[own]
            found = [] if p.phase.is_over else self.plan.moves_of(self.site, p)
            self.moves_of[side, own] = [self.kept.setdefault((side, m.label, m.command), m) for m in found]
        return self.moves_of[side, own]

    def image(self, leaf: Leaf, side: int, state: int) -> int:
        """The state of a permit after the leaf's changes of it."""
        changes = leaf.outcome.changes[side]
        if not changes:
            return state
        at = (leaf.outcome.same[side], side, state)
        known = self.images.get(at)
        if known is None:
            of = self.sides[side]
            after = replace(of.states[state], **changes)
            known = self.images[at] = of.add(forget_permit(after, NOW, self.site.policy.clear_minutes))
        return known

    # ── forwards ────────────────────────────────────────────────────────────────────────────────────────

    def go(self, side: int, at: Place, row: int, new: Rows) -> None:
        """Every move of one permit from all pairs of a row."""
        for move in self.moves_from(side, at[1]):
            self.tried += row.bit_count()
            self.go_by(move, side, at, row, new)

    def go_by(self, move: Move, side: int, at: Place, row: int, new: Rows) -> None:
        """One move from all pairs of a row; what it leads to is added to `new`, rows of the same permit."""
        other, left = self.sides[1 - side], row
        known = self.leaves.setdefault((side, *at, move.label), [])
        for leaf in known:
            if hit := left & other.mask(leaf):
                left ^= hit
                self.follow(leaf, move, side, at, hit, new)
        while left:
            leaf = self.leaf(id(move), pair_of(side, at, lowest(left)), self.make(move))
            known.append(leaf)
            if isinstance(leaf.outcome, Went):
                to = (leaf.outcome.world, self.image(leaf, side, at[1]))
                self.ways.setdefault((side, *at), []).append(Way(leaf, move, to))
            hit = left & other.mask(leaf)
            left ^= hit
            self.follow(leaf, move, side, at, hit, new)

    def follow(self, leaf: Leaf, move: Move, side: int, at: Place, hit: int, new: Rows) -> None:
        went = leaf.outcome
        if not isinstance(went, Went):
            return
        self.moves += hit.bit_count()
        self.wrong += [(what, pair_of(side, at, lowest(hit)), move) for what in went.wrong]
        to = (went.world, self.image(leaf, side, at[1]))
        new[to] = new.get(to, 0) | self.image_of_all(leaf, 1 - side, hit)

    def image_of_all(self, leaf: Leaf, side: int, states: int) -> int:
        if not leaf.outcome.changes[side]:
            return states
        return functools.reduce(operator.or_, (1 << self.image(leaf, side, n) for n in bits(states)), 0)

    def look(self, at: Place, row: int) -> None:
        """What is wrong in the pairs of a row of the first permit."""
        while row:
            pair = pair_of(FIRST, at, lowest(row))
            leaf = self.leaf("state", pair, lambda stand: tuple(wrong_state(stand)))
            self.wrong += [(what, pair, None) for what in leaf.outcome]
            row &= ~self.sides[SECOND].mask(leaf)

    def turned(self, rows: Rows, to: int) -> Rows:
        """The same pairs in rows of the other permit, `to`."""
        return turned(rows, len(self.sides[to].states), len(self.sides[1 - to].states))

    def step(self, fresh: Rows, columns: Rows) -> Rows:
        """All that one move leads to from these pairs, the same ones in rows of either permit."""
        new: Rows = {}
        for at, row in fresh.items():
            self.go(FIRST, at, row, new)
        other: Rows = {}
        for at, row in columns.items():
            self.go(SECOND, at, row, other)
        for at, row in self.turned(other, FIRST).items():
            new[at] = new.get(at, 0) | row
        return new

    def take(self, fresh: Rows) -> None:
        """The next layer: count it, and look at each pair of it."""
        self.layers.append(fresh)
        for at, row in fresh.items():
            self.seen[at] = self.seen.get(at, 0) | row
            self.look(at, row)


def explore(plan: PlanOfTwo) -> Pairs:
    """The whole exploration."""
    began = time.perf_counter()
    start = plan.start()
    one, two = start.site.permits.values()
    done = Pairs(plan, start.site, (Side(one.id), Side(two.id)))
    first, second = done.sides[FIRST].add(one), done.sides[SECOND].add(two)
    fresh: Rows = {(done.number_of(World.of(start)), first): 1 << second}
    with noting():
        while fresh:
            done.take(fresh)
            new = done.step(fresh, done.turned(fresh, SECOND))
            fresh = less(new, done.seen)
    done.seconds = time.perf_counter() - began
    return done
