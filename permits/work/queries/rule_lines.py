"""The page of rules as values: steps, conditions, and a chapter for each room that asks them."""

from __future__ import annotations

from dataclasses import dataclass

from permits.work.rules.clauses import NOT_LISTED, NOT_OFFERED, Clause, NotOffered, Own, Rule, Sure


@dataclass(frozen=True, slots=True)
class StepLine:
    """One thing that can be asked for. `safety`, `order`: its own conditions, parted by what they are for.

    `asks_first`: title and anchor of the permit's step whose conditions are asked besides, if any.
    `signed`: what the signature means, "" where none is asked. `waits`: whether it has to wait while the
    permit is held up, in words; "" where it need not. `fresh`: nothing may have happened since its page
    was shown; `beside`: what may not have, in words. `late`: may be entered afterwards when it happened on
    paper; `enters`: it is what enters such steps, and asks what they ask.
    """

    anchor: str
    title: str
    who: str
    signed: str
    safety: tuple[str, ...]
    order: tuple[str, ...]
    waits: str = ""
    fresh: bool = False
    beside: str = ""
    late: bool = False
    enters: bool = False
    asks_first: tuple[str, str] | None = None

    @property
    def codes(self) -> tuple[str, ...]:
        return (*self.safety, *self.order)


@dataclass(frozen=True, slots=True)
class RuleLine:
    """One condition. `asked`: in words where it is asked, when that is not the list of `steps`."""

    code: str
    rule: Rule
    asked: str
    steps: tuple[StepLine, ...]


@dataclass(frozen=True, slots=True)
class ChapterLines:
    """One room's part of the page. `has_codes`: do its refusals name their conditions by code?"""

    title: str
    lead: str
    groups: tuple[tuple[str, tuple[StepLine, ...]], ...]
    topics: tuple[tuple[str, tuple[RuleLine, ...]], ...]
    has_codes: bool = True

    @property
    def steps(self) -> tuple[StepLine, ...]:
        return tuple(step for _, steps in self.groups for step in steps)

    @property
    def lines(self) -> tuple[RuleLine, ...]:
        return tuple(line for _, lines in self.topics for line in lines)


@dataclass(frozen=True, slots=True)
class RulesPage:
    """`steps_in_all`, `rules_in_all`: how many there are, also where the page shows some of them only."""

    chapters: tuple[ChapterLines, ...]
    steps_in_all: int
    rules_in_all: int
    not_offered: tuple[NotOffered, ...] = NOT_OFFERED
    not_listed: tuple[tuple[str, str], ...] = NOT_LISTED
    sure: tuple[Sure, ...] = tuple(Sure)
    own: tuple[Own, ...] = tuple(Own)

    @property
    def steps(self) -> tuple[StepLine, ...]:
        return tuple(step for chapter in self.chapters for step in chapter.steps)

    @property
    def lines(self) -> tuple[RuleLine, ...]:
        return tuple(line for chapter in self.chapters for line in chapter.lines)

    @property
    def clauses(self) -> list[Clause]:
        """Every published clause that a rule, or what is left out, names; each once, by where it stands."""
        named = {clause for line in self.lines for clause in line.rule.clauses}
        return sorted(named | {one.clause for one in self.not_offered}, key=lambda clause: clause.cite)
