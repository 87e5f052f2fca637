"""A chart as plain values: lines, dots and words with an ink each. Drawn by svg.py and pdf.py.

Lengths are in CSS pixels; x runs right and y runs down.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

Place = tuple[float, float]


class Ink(StrEnum):
    """How a mark is drawn: on screen a class of calibration.css ("ch-limit"), on paper a width and a dash."""

    FRAME = "frame"
    TICK = "tick"
    MEAN = "mean"
    LIMIT = "limit"
    TOLERANCE = "tolerance"
    VALUES = "values"
    DOT = "dot"
    HOLLOW = "hollow"
    """A result taken over from paper."""
    RING = "ring"
    """Around a value at which a rule spoke."""
    WORDS = "words"
    HEAD = "head"


@dataclass(frozen=True, slots=True)
class Line:
    places: tuple[Place, ...]
    ink: Ink


@dataclass(frozen=True, slots=True)
class Dot:
    x: float
    y: float
    radius: float
    ink: Ink


@dataclass(frozen=True, slots=True)
class Words:
    """One line of text; (x, y) is on its baseline, at its start, middle or end."""

    x: float
    y: float
    text: str
    size: float
    ink: Ink = Ink.WORDS
    anchor: str = "start"


Mark = Line | Dot | Words


@dataclass(frozen=True, slots=True)
class Picture:
    """A whole chart. `title` and `description` say in words what it shows."""

    width: float
    height: float
    title: str
    description: str
    marks: tuple[Mark, ...]
