"""A picture as plain values: lines, boxes and words with an ink each, in groups. Drawn by svg.py and pdf.py.

Lengths are in the picture's own unit (a CSS pixel on screen); x runs right and y runs down.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

Place = tuple[float, float]


class Ink(StrEnum):
    """How a mark is drawn: on screen a class of picture.css ("ep-live"), on paper a width, a dash, a fill."""

    DEAD = "dead"
    """A thin line: no energy."""
    LIVE = "live"
    """The solid line."""
    PATH = "path"
    """The solid line in full: what reaches a zone."""
    LIVE_HEAD = "live-head"
    DEAD_HEAD = "dead-head"
    PATH_HEAD = "path-head"
    """Arrow heads, filled."""
    JOINT = "joint"
    DEAD_JOINT = "dead-joint"
    PATH_JOINT = "path-joint"
    """The dot that tells a joint from a crossing."""
    BOX = "box"
    BOX_LIVE = "box-live"
    BOX_UNFED = "box-unfed"
    """A carrier or a store: with energy, without."""
    SUPPLY = "supply"
    """Filled: where energy comes from."""
    BAR = "bar"
    BAR_LOCKED = "bar-locked"
    BAR_PROVEN = "bar-proven"
    """The two ends of an isolator."""
    PLATE_LOCKED = "plate-locked"
    """The lock's number in a dashed gap."""
    PLATE_PROVEN = "plate-proven"
    """The lock's number in a gap that is proven."""
    PLATE_PLANNED = "plate-planned"
    """Where a lock is wanted."""
    ZONE_EXPOSED = "zone-exposed"
    ZONE_LOCKED = "zone-locked"
    ZONE_PROVEN = "zone-proven"
    ZONE_UNFED = "zone-unfed"
    """A zone: reached, cut off, proven, or with nothing that leads to it."""
    LABEL = "label"
    NOTE = "note"
    ON_SUPPLY = "on-supply"
    ON_SUPPLY_NOTE = "on-supply-note"
    ON_PLATE = "on-plate"
    ALARM = "alarm"
    """Words."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line through these places."""

    places: tuple[Place, ...]
    ink: Ink


@dataclass(frozen=True, slots=True)
class Shape:
    """A closed outline through these places."""

    places: tuple[Place, ...]
    ink: Ink


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle; `corner` is the radius of its corners."""

    x: float
    y: float
    width: float
    height: float
    ink: Ink
    corner: float = 0.0


@dataclass(frozen=True, slots=True)
class Dot:
    x: float
    y: float
    radius: float
    ink: Ink


@dataclass(frozen=True, slots=True)
class Words:
    """One line of text; (x, y) is on its baseline, at its start or, where `centred`, its middle."""

    x: float
    y: float
    text: str
    size: float
    ink: Ink
    centred: bool = False

    @property
    def bold(self) -> bool:
        return self.ink not in (Ink.NOTE, Ink.ON_SUPPLY_NOTE)


Mark = Line | Shape | Box | Dot | Words


def moved(mark: Mark, right: float, down: float) -> Mark:
    """The same mark elsewhere."""
    if isinstance(mark, Line | Shape):
        return replace(mark, places=tuple((x + right, y + down) for x, y in mark.places))
    return replace(mark, x=mark.x + right, y=mark.y + down)


@dataclass(frozen=True, slots=True)
class Group:
    """What belongs to one part: its marks, what it is in words, and where a press on it leads, if so."""

    title: str
    marks: tuple[Mark, ...]
    url: str = ""


@dataclass(frozen=True, slots=True)
class Drawing:
    """A whole picture. `breaks` are the heights at which it may be cut for the next page, from the top.

    `legend`: what its lines and shapes mean, to stand beside it where that stays in sight; None where it is
    in the picture itself, as on paper.
    """

    width: float
    height: float
    title: str
    description: str
    lines: tuple[Mark, ...]
    groups: tuple[Group, ...]
    breaks: tuple[float, ...] = ()
    tall: bool = False
    legend: Drawing | None = None
