"""The rooms above work put their own conditions on the page of rules, without work knowing them.

Work may not import them. A room registers its chapter here, when the application starts; a refusal of that
room then leads to its rule like any other.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from permits.work.rules.clauses import RULES, Topic


@dataclass(frozen=True, slots=True)
class Step:
    """Something that can be asked for in the room. `codes`: its own conditions, in the order they are met.

    `asks_first`: the title of the permit's step whose conditions are asked besides; "" where no permit is.
    """

    anchor: str
    title: str
    who: str
    codes: tuple[str, ...]
    asks_first: str = ""


@dataclass(frozen=True, slots=True)
class Chapter:
    """A room's conditions. `steps`: in groups, each with its title. The permit's codes are not said again."""

    title: str
    lead: str
    steps: tuple[tuple[str, tuple[Step, ...]], ...]
    topics: tuple[Topic, ...]

    @property
    def codes(self) -> frozenset[str]:
        return frozenset(code for topic in self.topics for code in topic.rules)


Tells = Callable[[], Chapter]
_chapters: list[Tells] = []


def also(tells: Tells) -> Tells:
    """Register a room's chapter; registered twice it is told once. A decorator."""
    if tells not in _chapters:
        _chapters.append(tells)
    return tells


def chapters() -> tuple[Chapter, ...]:
    """The chapters of the rooms above, in the order in which they registered."""
    return tuple(tells() for tells in _chapters)


def has_rule(code: str) -> bool:
    """Does a condition with this code stand on the page of rules?"""
    return code in RULES or any(code in chapter.codes for chapter in chapters())
