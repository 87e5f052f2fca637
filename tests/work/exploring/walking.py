"""Breadth-first over every reachable state; what is wrong in one; and which states have no way to an end."""

from __future__ import annotations

import time
from collections import defaultdict, deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from sys import intern

from permits.work.rules.refusal import Refused

from .beginning import Plan, PlanOfTwo
from .looking_at_state import wrong_state
from .looking_at_step import wrong_step
from .moving import Move, Stand, forgotten, moved

Edge = tuple[int, int, str]
PAIR = 2  # guards are taken away alone and in pairs
ENOUGH = 4000  # refusals kept of each kind, the nearest to the start


@dataclass
class Walk:
    """Every state seen, by number: the first is the start.

    `came`: from which state, by which label, a state was first seen. `edges`: (from, to, by whom) of commands
    and, by nobody, of time that one only has to wait for. `refused`: by the set of codes, the moves refused
    for these alone. `wrong`: what broke, with the state it broke in and the label of the move.
    """

    plan: Plan | PlanOfTwo
    stands: list[Stand] = field(default_factory=list)
    number: dict[object, int] = field(default_factory=dict)
    came: list[tuple[int, str]] = field(default_factory=list)
    deep: list[int] = field(default_factory=list)
    edges: list[Edge] = field(default_factory=list)
    refused: dict[frozenset[str], list[tuple[int, str]]] = field(default_factory=lambda: defaultdict(list))
    wrong: list[tuple[str, int, str]] = field(default_factory=list)
    moves: int = 0
    tried: int = 0
    seconds: float = 0.0

    def add(self, stand: Stand, source: int, label: str) -> int:
        self.number[stand.key] = len(self.stands)
        self.stands.append(stand)
        self.came.append((source, label))
        self.deep.append(self.deep[source] + 1 if source >= 0 else 0)
        return len(self.stands) - 1

    def way(self, state: int) -> list[str]:
        """The labels from the start to the state: a shortest sequence."""
        labels = []
        while state > 0:
            state, label = self.came[state]
            labels.append(label)
        return labels[::-1]

    def stuck(self, absent: str = "") -> Iterator[tuple[str, int]]:
        """(permit, state): no sequence of commands, waits included, leads from there to the permit's end.

        `absent`: who is away for good, and gives none of them.
        """
        edges = [edge for edge in self.edges if not absent or edge[2] != absent]
        for permit in self.stands[0].site.permits:
            over = {n for n, s in enumerate(self.stands) if s.site.permits[permit].phase.is_over}
            ends = reaching(over, edges)
            yield from ((permit, n) for n in range(len(self.stands)) if n not in ends)


def reaching(goal: set[int], edges: Iterable[Edge]) -> set[int]:
    """The states from which a goal can be reached, backwards over the edges."""
    backwards = defaultdict(list)
    for source, target, _ in edges:
        backwards[target].append(source)
    found, todo = set(goal), deque(goal)
    while todo:
        for source in backwards[todo.popleft()]:
            if source not in found:
                found.add(source)
                todo.append(source)
    return found


def walk(plan: Plan | PlanOfTwo, most: int = 10**9) -> Walk:
    """The whole exploration. Raises AssertionError where it has more than `most` states."""
    began = time.perf_counter()
    done = Walk(plan)
    done.add(plan.start(), -1, "")
    at = 0
    while at < len(done.stands):
        visit(done, at)
        at += 1
        assert len(done.stands) <= most, f"{plan.name} has more than {most} states"
    done.seconds = time.perf_counter() - began
    return done


def visit(done: Walk, at: int) -> None:
    """Try every move of one state."""
    stand = done.stands[at]
    done.wrong += [(what, at, "") for what in wrong_state(stand)]
    for move in done.plan.moves(stand.site):
        done.tried += 1
        try:
            after = moved(stand, move)
        except Refused as refused:
            for_these = frozenset(refused.codes)
            if len(for_these) <= PAIR and len(done.refused[for_these]) < ENOUGH:
                done.refused[for_these].append((at, intern(move.label)))
            continue
        done.moves += 1
        done.wrong += [(what, at, move.label) for what in wrong_step(stand, move, after)]
        then = forgotten(after)
        target = done.number.get(then.key)
        if target is None:
            target = done.add(then, at, move.label)
        if move.awaited:
            done.edges.append((at, target, move.command.by if move.command else ""))


def the_move(plan: Plan | PlanOfTwo, stand: Stand, label: str) -> Move:
    """The move of a state by its label. Raises LookupError, with what may be meant."""
    for move in plan.moves(stand.site):
        if move.label == label:
            return move
    raise LookupError(f"{label!r} is no move here, in {plan.name!r}")
