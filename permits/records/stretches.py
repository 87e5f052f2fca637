"""A story in stretches: its entries by the day and the phase that the permit was in, so that a page folds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from permits.records.story import Story, StoryLine
from permits.records.times import Clock
from permits.work.queries import PHASES


@dataclass(frozen=True, slots=True)
class Stretch:
    """Entries that follow each other. `word`: the phase as people read it; `when`: the day, and the times."""

    word: str
    when: str
    lines: list[StoryLine]

    @property
    def first(self) -> int:
        return self.lines[0].number

    @property
    def last(self) -> int:
        return self.lines[-1].number

    @property
    def exceptions(self) -> int:
        """How many of the entries are exceptions."""
        return sum(bool(line.exception) for line in self.lines)


def stretches(story: Story) -> list[Stretch]:
    """The whole story, every entry once and in order. An entry that ends a phase begins the next one.

    A phase is parted at midnight of the site's clock; one stretch a day where no phase can be read.
    """
    parts = groupby(with_phases(story), key=lambda pair: (pair[0], story.clock.local(pair[1].at).date()))
    found = []
    for (began, _), pairs in parts:
        lines = [line for _, line in pairs]
        word = PHASES[story.account.phases[began][1]][1] if story.account and began >= 0 else "Entries"
        found.append(Stretch(word, from_to(lines, story.clock), lines))
    return found


def with_phases(story: Story) -> Iterator[tuple[int, StoryLine]]:
    """Each entry with the place of its phase among those of the permit; -1 before the first."""
    starts = [number for number, _ in story.account.phases] if story.account else []
    place = -1
    for line in story.lines:
        while place + 1 < len(starts) and starts[place + 1] <= line.number:
            place += 1
        yield place, line


def from_to(lines: list[StoryLine], clock: Clock) -> str:
    """ "25 Nov, 08:40 to 09:15"; "25 Nov, 08:40" where it took no minute."""
    first, last = clock.local(lines[0].at), clock.local(lines[-1].at)
    start, end = f"{first:%H:%M}", f"{last:%H:%M}"
    return f"{first.day} {first:%b}, {start}" + (f" to {end}" if end != start else "")
