"""Guards taken away, one or two at a time: the shortest way to something that must not happen."""

from __future__ import annotations

import heapq
import re
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from permits.work.rules import refusal
from permits.work.rules.refusal import Refused, Unmet

from .beginning import Plan, PlanOfTwo
from .looking_at_state import wrong_state
from .looking_at_step import wrong_step
from .moving import Move, Stand, forgotten, moved
from .walking import Edge, Walk, reaching, the_move

RULES = "permits.work.rules."
GUARD_OF_LAST_RESORT = "exposes-crew"


@contextmanager
def without(*codes: str) -> Iterator[None]:
    """The rules with these conditions never found unmet: each file's refusals let them through.

    What else a condition decides (when *isolated* comes by itself) stays as it is: a guard is what refuses.
    """

    def fewer(unmet: Iterable[Unmet]) -> None:
        if found := tuple(u for u in unmet if u.code not in codes):
            raise Refused(found)

    kept = refusal.refuse_if
    named = [m for name, m in list(sys.modules.items()) if name.startswith(RULES)]
    files = [m for m in named if getattr(m, "refuse_if", None) is kept]
    for file in files:
        file.refuse_if = fewer
    try:
        yield
    finally:
        for file in files:
            file.refuse_if = kept


@dataclass(frozen=True, slots=True)
class Broken:
    """With the guards gone these moves, from the start of the plan, lead to `what`."""

    guards: tuple[str, ...]
    plan: str
    labels: tuple[str, ...]
    what: str


@dataclass(frozen=True, slots=True)
class Reach:
    """How far to look: from how many refusals of one kind, nearest first, and over how many new states."""

    refusals: int
    states: int


@dataclass
class Search:
    """How far the states that only lack of the guards leads to were followed."""

    found: Broken | None = None
    seen: int = 0
    cut: bool = False


def tried(stand: Stand, move: Move) -> tuple[Stand | None, list[str]]:
    """The stand after the move, with its history, and what is wrong with it; (None, []) where it is refused.

    A command that breaks down, since what it acts on is not there, is wrong too.
    """
    try:
        after = moved(stand, move)
    except Refused:
        return None, []
    except Exception as broke:
        return None, [f"the command breaks down ({type(broke).__name__})"]
    return after, [*wrong_step(stand, move, after), *wrong_state(after)]


def search(
    walked: Walk,
    guards: tuple[str, ...],
    reach: Reach,
    within: int = sys.maxsize,
    counts: Callable[[str], bool] = bool,
    onwards: bool = False,
) -> Search:
    """The shortest way to something wrong that `counts`, shorter than `within`. Begins from the reachable
    states in which the first of the guards refuses something that nothing but these guards refuses.

    `onwards`: what is wrong and does not count is followed too.
    """
    with without(*guards):
        return Following(walked, guards, reach, within, counts, onwards).follow()


def kinds(walked: Walk, guard: str, reach: Reach) -> set[str]:
    """Every kind of wrong that the lack of this one guard leads to."""
    found: set[str] = set()
    while more := search(walked, (guard,), reach, counts=lambda what: kind(what) not in found).found:
        found.add(kind(more.what))
    return found


def kind(what: str) -> str:
    """What is wrong, whoever it happens to and wherever."""
    return re.sub(r"\b(odo|pia|ida|[A-Z]+-?\d|CUT|OUT|NEXT|LUG|box)\b", "_", what)


class Following:
    """States beyond the walk, numbered on after its own."""

    def __init__(
        self,
        walked: Walk,
        guards: tuple[str, ...],
        reach: Reach,
        within: int,
        counts: Callable[[str], bool],
        onwards: bool,
    ) -> None:
        self.walked, self.guards, self.reach, self.within = walked, guards, reach, within
        self.counts, self.onwards = counts, onwards
        self.stands: list[Stand] = []
        self.came: list[tuple[int, str]] = []
        self.number: dict[object, int] = {}
        self.edges: list[Edge] = []
        self.count = 0
        self.todo: list[tuple[int, int, int, str]] = []
        for codes, refused in walked.refused.items():
            if guards[0] in codes and codes <= set(guards):
                for state, label in refused[: reach.refusals]:
                    self.push(walked.deep[state] + 1, state, label)

    def push(self, deep: int, state: int, label: str) -> None:
        self.count += 1
        heapq.heappush(self.todo, (deep, self.count, state, label))

    def stand(self, state: int) -> Stand:
        own = state - len(self.walked.stands)
        return self.walked.stands[state] if own < 0 else self.stands[own]

    def way(self, state: int) -> list[str]:
        own, labels = state - len(self.walked.stands), []
        while own >= 0:
            state, label = self.came[own]
            labels.append(label)
            own = state - len(self.walked.stands)
        return [*self.walked.way(state), *labels[::-1]]

    def follow(self) -> Search:
        result = Search()
        while self.todo:
            deep, _, state, label = heapq.heappop(self.todo)
            stand, plan = self.stand(state), self.walked.plan
            moves = [the_move(plan, stand, label)] if label else list(plan.moves(stand.site))
            for move in moves:
                if (wrong := self.step(state, stand, move, deep)) and self.is_needed(state, move):
                    labels = (*self.way(state), move.label)
                    result.found = Broken(self.guards, plan.name, labels, wrong)
                    return result
            if len(self.stands) > self.reach.states or deep >= self.within:
                result.cut = True
                break
        result.seen = len(self.stands)
        if not result.cut and self.stands:
            result.found = self.stuck()
        return result

    def step(self, state: int, stand: Stand, move: Move, deep: int) -> str:
        """What is wrong after the move, or ""; a new state is taken up."""
        after, wrong = tried(stand, move)
        hit = next((what for what in wrong if self.counts(what)), "")
        if hit or after is None or (wrong and not self.onwards):
            return hit
        then = forgotten(after)
        target = self.walked.number.get(then.key, self.number.get(then.key))
        if target is None:
            target = len(self.walked.stands) + len(self.stands)
            self.number[then.key] = target
            self.stands.append(then)
            self.came.append((state, move.label))
            self.push(deep + 1, target, "")
        if move.awaited:
            self.edges.append((state, target, ""))
        return ""

    def is_needed(self, state: int, move: Move) -> bool:
        """Of a pair: does neither guard alone let this happen?"""
        if len(self.guards) == 1:
            return True
        labels = (*self.way(state), move.label)
        return all(not replayed(self.walked.plan, labels, (one,)) for one in self.guards)

    def stuck(self) -> Broken | None:
        states = range(len(self.walked.stands), len(self.walked.stands) + len(self.stands))
        for permit in self.walked.stands[0].site.permits:
            every = [*self.walked.stands, *self.stands]
            over = {n for n, s in enumerate(every) if s.site.permits[permit].phase.is_over}
            ends = reaching(over, [*self.walked.edges, *self.edges])
            for state in states:
                what = f"{permit} can never end"
                if state not in ends and self.counts(what):
                    return Broken(self.guards, self.walked.plan.name, tuple(self.way(state)), what)
        return None


def replayed(plan: Plan | PlanOfTwo, labels: Iterable[str], off: tuple[str, ...]) -> list[str]:
    """What the last of these moves, made without these guards, does wrong; nothing where one is refused."""
    stand: Stand | None = plan.start()
    wrong: list[str] = []
    for label in labels:
        if stand is None:  # the move before broke down, or was refused
            return []
        with without(*off):
            after, wrong = tried(stand, the_move(plan, stand, label))
        stand = after and forgotten(after)
    return wrong
