"""What each move does, remembered by what was read of the two permits when it was first made.

For one move a tree: each node names a reading, each branch a value that was found, each leaf an outcome. A
pair of permits that finds its way to a leaf has every reading that the outcome came from; so it has the same
outcome, and the move need not be made again. Nothing is assumed of what the rules look at: whatever they read
is in the tree.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from permits.work.rules.state import Permit

from .noting import Notes, value_of

Named = tuple[str, tuple[Any, ...]]  # a reading of one permit: its name, and the arguments if it has any


@dataclass(slots=True, eq=False)
class Leaf:
    """An outcome, and what has to be read of each permit for it: by permit, each reading and its value.

    `mask`: the states of the other permit that read so, as of when it had `counted` states.
    """

    outcome: Any
    read: dict[str, tuple[tuple[Named, int], ...]]
    mask: int = 0
    counted: int = 0


@dataclass(slots=True, eq=False)
class Asks:
    permit: str
    reading: Named
    then: dict[int, Asks | Leaf]


@dataclass
class Side:
    """One permit's own states, by number, as far as they were met; and which of them have which readings.

    A value that a reading finds is kept as a number, equal ones as the same. `having`: for each reading the
    bit set of states by that number. `found`: the numbers by state.
    """

    permit: str
    states: list[Permit] = field(default_factory=list)
    number: dict[Permit, int] = field(default_factory=dict)
    having: dict[Named, dict[int, int]] = field(default_factory=dict)
    found: list[dict[Named, int]] = field(default_factory=list)
    values: dict[Named, dict[Any, int]] = field(default_factory=dict)

    def add(self, state: Permit) -> int:
        """The number of the state, a new one if it was not met before."""
        known = self.number.get(state)
        if known is None:
            known = self.number[state] = len(self.states)
            self.states.append(state)
            self.found.append({})
            for reading, by_value in self.having.items():
                value = self.value(known, reading)
                by_value[value] = by_value.get(value, 0) | 1 << known
        return known

    def value(self, state: int, reading: Named) -> int:
        """What a reading finds in this state."""
        known = self.found[state].get(reading)
        if known is None:
            known = self.numbered(reading, value_of(self.states[state], *reading))
            self.found[state][reading] = known
        return known

    def numbered(self, reading: Named, value: Any) -> int:
        known = self.values.setdefault(reading, {})
        return known.setdefault(value, len(known))

    def with_value(self, reading: Named, value: int) -> int:
        """The states in which this reading finds this value, as a bit set."""
        by_value = self.having.get(reading)
        if by_value is None:
            by_value = self.having[reading] = {}
            for state in range(len(self.states)):
                found = self.value(state, reading)
                by_value[found] = by_value.get(found, 0) | 1 << state
        return by_value.get(value, 0)

    def mask(self, leaf: Leaf) -> int:
        """The states of this permit that have all that the leaf asks of it."""
        if leaf.counted != len(self.states):
            leaf.mask = (1 << len(self.states)) - 1
            for reading, value in leaf.read.get(self.permit, ()):
                leaf.mask &= self.with_value(reading, value)
            leaf.counted = len(self.states)
        return leaf.mask


class Memory:
    """Outcomes of moves by what they were read from. `made`: how many moves really were made."""

    def __init__(self) -> None:
        self.trees: dict[Any, Asks | Leaf] = {}
        self.made = 0

    def leaf(self, about: Any, pair: dict[str, tuple[Side, int]], make: Callable[[Notes], Any]) -> Leaf:
        """The outcome for this pair of states; made, noting what is read, where it is not known yet."""
        node, steps = self.trees.get(about), []
        while type(node) is Asks:
            side, state = pair[node.permit]
            value = side.value(state, node.reading)
            steps.append((node, value))
            node = node.then.get(value)
        if node is not None:
            return node
        notes = Notes()
        outcome = make(notes)
        self.made += 1
        read = [
            (permit, (name, asked), pair[permit][0].numbered((name, asked), value))
            for (permit, name, asked), value in notes.read.items()
        ]
        leaf = Leaf(outcome, {id: tuple(r[1:] for r in read if r[0] == id) for id in pair})
        self.plant(about, steps, read, leaf)
        return leaf

    def plant(
        self, about: Any, steps: list[tuple[Asks, int]], read: list[tuple[str, Named, int]], leaf: Leaf
    ) -> None:
        """Hang the leaf where the readings part from those that are known.

        The order of reading is the same as long as the same values are found.
        """
        for (node, value), found in zip(steps, read, strict=False):
            assert (node.permit, node.reading, value) == found, "decided by more than was read"
        assert len(read) >= len(steps)
        rest: Asks | Leaf = leaf
        for permit, reading, found in reversed(read[len(steps) :]):
            rest = Asks(permit, reading, {found: rest})
        if steps:
            node, value = steps[-1]
            node.then[value] = rest
        else:
            self.trees[about] = rest
