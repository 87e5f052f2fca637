"""What each move does, remembered by what was read of the two permits when it was first made.

For one move a tree: each node is a question to a permit, each branch an answer that was found, each leaf an
outcome. A pair of permits that gives all the answers of a leaf gives all that the outcome came from; so it
has the same outcome, and the move need not be made again. Nothing is assumed of what the rules look at:
whatever they read is in the tree.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from permits.work.rules.state import Permit

from .noting import Notes, value_of


@dataclass(slots=True, eq=False)
class Question:
    """What can be read of a permit: a field, a property, or an answer to arguments. There is one of a kind.

    `answers`: by the value that is read. `counted`: do the answers know which states give them?
    """

    permit: str
    name: str
    asked: tuple[Any, ...]
    answers: dict[Any, Answer] = field(default_factory=dict)
    counted: bool = False

    def answer(self, value: Any) -> Answer:
        known = self.answers.get(value)
        if known is None:
            known = self.answers[value] = Answer(self)
        return known


@dataclass(slots=True, eq=False)
class Answer:
    """One value that a question finds. `states`: those in which it does, as a bit set, once counted."""

    to: Question
    states: int = 0


@dataclass(slots=True, eq=False)
class Leaf:
    """An outcome, and all that was read for it, in order.

    `mask`: the states of the other permit that read so, as of when it had `counted` states.
    """

    outcome: Any
    read: tuple[Answer, ...]
    mask: int = 0
    counted: int = 0


@dataclass(slots=True, eq=False)
class Asks:
    question: Question
    then: dict[Answer, Asks | Leaf]


@dataclass
class Side:
    """One permit's own states, by number, as far as they were met, and what was read of each.

    `number`: the numbers by state. `questions`: by name and arguments. `found`: by state, the answers.
    """

    permit: str
    states: list[Permit] = field(default_factory=list)
    number: dict[Permit, int] = field(default_factory=dict)
    questions: dict[tuple[str, tuple[Any, ...]], Question] = field(default_factory=dict)
    found: list[dict[Question, Answer]] = field(default_factory=list)

    def add(self, state: Permit) -> int:
        """The number of the state, a new one if it was not met before."""
        known = self.number.get(state)
        if known is None:
            known = self.number[state] = len(self.states)
            self.states.append(state)
            self.found.append({})
            for question in self.questions.values():
                if question.counted:
                    self.answer(known, question).states |= 1 << known
        return known

    def question(self, name: str, asked: tuple[Any, ...]) -> Question:
        known = self.questions.get((name, asked))
        if known is None:
            known = self.questions[name, asked] = Question(self.permit, name, asked)
        return known

    def answer(self, state: int, question: Question) -> Answer:
        """What the question finds in this state."""
        known = self.found[state].get(question)
        if known is None:
            value = value_of(self.states[state], question.name, question.asked)
            known = self.found[state][question] = question.answer(value)
        return known

    def giving(self, answer: Answer) -> int:
        """The states that give this answer, as a bit set."""
        if not answer.to.counted:
            answer.to.counted = True
            for state in range(len(self.states)):
                self.answer(state, answer.to).states |= 1 << state
        return answer.states

    def mask(self, leaf: Leaf) -> int:
        """The states of this permit that give all the answers that the leaf has of it."""
        if leaf.counted != len(self.states):
            leaf.mask = (1 << len(self.states)) - 1
            for answer in leaf.read:
                if answer.to.permit == self.permit:
                    leaf.mask &= self.giving(answer)
            leaf.counted = len(self.states)
        return leaf.mask


class Memory:
    """Outcomes of moves by what they were read from. `made`: how many moves really were made.

    A leaf hangs as high as it can, below fewer questions than it has answers: the others are asked when one
    gets there, and if one is answered otherwise, it is there that the tree forks.
    """

    def __init__(self) -> None:
        self.trees: dict[Any, Asks | Leaf] = {}
        self.made = 0

    def leaf(self, about: Any, pair: dict[str, tuple[Side, int]], make: Callable[[Notes], Any]) -> Leaf:
        """The outcome for this pair of states; made, noting what is read, where it is not known yet."""
        node, above = self.trees.get(about), []
        while type(node) is Asks:
            side, state = pair[node.question.permit]
            answer = side.answer(state, node.question)
            above.append((node, answer))
            node = node.then.get(answer)
        if node is not None:
            same = self.alike(node, len(above), pair)
            if same == len(node.read):
                return node
        made = self.made_of(pair, make)
        for (asks, answer), read in zip(above, made.read, strict=False):
            assert (asks.question, answer) == (read.to, read), "decided by more than was read"
        then = made if node is None else self.fork(node, made, len(above), same)
        if above:
            asks, answer = above[-1]
            asks.then[answer] = then
        else:
            self.trees[about] = then
        return made

    def alike(self, leaf: Leaf, asked: int, pair: dict[str, tuple[Side, int]]) -> int:
        """How many of the leaf's answers this pair gives, one after the other; `asked` are known to be."""
        for answer in leaf.read[asked:]:
            side, state = pair[answer.to.permit]
            if side.answer(state, answer.to) is not answer:
                break
            asked += 1
        return asked

    def made_of(self, pair: dict[str, tuple[Side, int]], make: Callable[[Notes], Any]) -> Leaf:
        notes = Notes()
        outcome = make(notes)
        self.made += 1
        read = (
            pair[permit][0].question(name, asked).answer(value)
            for (permit, name, asked), value in notes.read.items()
        )
        return Leaf(outcome, tuple(read))

    def fork(self, old: Leaf, new: Leaf, asked: int, same: int) -> Asks:
        """Both leaves, below the questions from `asked` on that they answer alike, and the one they do not.

        The order of reading is the same as long as the answers are.
        """
        one, other = old.read[same], new.read[same]
        assert (*old.read[:same], one.to) == (*new.read[:same], other.to), "decided by more than was read"
        assert one is not other, "the same answers, and another outcome"
        node = Asks(one.to, {one: old, other: new})
        for answer in reversed(new.read[asked:same]):
            node = Asks(answer.to, {answer: node})
        return node
