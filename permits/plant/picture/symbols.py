"""The shapes of a picture: a part upright or lying, a line with its arrow, a joint.

An isolator is two bars. The line runs through between them while it is closed; when a padlock is on there is
a gap, and the lock's number is in it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

from permits.plant.picture.drawing import Box, Dot, Ink, Line, Mark, Place, Shape, Words
from permits.plant.picture.scene import Flow, Part
from permits.plant.picture.standing import State
from permits.plant.prints import fonts
from permits.plant.rules.energy import Kind

PLATE_SIZE = 15.0
PLATE_HEIGHT = 24.0
LEFT = 9.0
"""How far an upright symbol reaches left of its line: the next lane stays clear of it."""

NOSE = 16.0
"""How far a supply's point reaches."""

_LINE = {Flow.DEAD: Ink.DEAD, Flow.LIVE: Ink.LIVE, Flow.PATH: Ink.PATH}
_HEAD = {Flow.DEAD: Ink.DEAD_HEAD, Flow.LIVE: Ink.LIVE_HEAD, Flow.PATH: Ink.PATH_HEAD}
_JOINT = {Flow.DEAD: Ink.DEAD_JOINT, Flow.LIVE: Ink.JOINT, Flow.PATH: Ink.PATH_JOINT}
_HEAD_LENGTH = {Flow.DEAD: 8.0, Flow.LIVE: 12.0, Flow.PATH: 14.0}
_HEAD_WIDTH = {Flow.DEAD: 8.0, Flow.LIVE: 14.0, Flow.PATH: 18.0}
_JOINT_RADIUS = {Flow.DEAD: 3.0, Flow.LIVE: 5.0, Flow.PATH: 6.5}

_BAR = {State.LOCKED: Ink.BAR_LOCKED, State.PROVEN: Ink.BAR_PROVEN}
_PLATE = {
    State.LOCKED: Ink.PLATE_LOCKED,
    State.PROVEN: Ink.PLATE_PROVEN,
    State.PLANNED: Ink.PLATE_PLANNED,
}
_ZONE = {
    State.EXPOSED: Ink.ZONE_EXPOSED,
    State.LOCKED: Ink.ZONE_LOCKED,
    State.PROVEN: Ink.ZONE_PROVEN,
    State.UNFED: Ink.ZONE_UNFED,
}


@dataclass(frozen=True, slots=True)
class Symbol:
    """A part upright: its marks, how far it reaches right of its lane, and how high it is."""

    marks: tuple[Mark, ...]
    right: float
    height: float


def upright(part: Part, x: float, top: float) -> Symbol:
    """The part on a line that runs down at `x`, from `top`. It reaches no more than LEFT to the left."""
    left = x - LEFT
    match part.kind:
        case Kind.ISOLATOR:
            return _upright_isolator(part, x, top)
        case Kind.SUPPLY:
            outline = ((left, top), (x + LEFT, top), (x + LEFT, top + 12), (x, top + 22), (left, top + 12))
            return Symbol((Shape(outline, Ink.SUPPLY),), LEFT, 22)
        case Kind.STORE:
            marks = (Box(left, top, 2 * LEFT, 24, _box(part), LEFT), *_charge(part, x, top + 12))
            if not part.plate:
                return Symbol(marks, LEFT, 24)
            plate = _plate(part, x + LEFT + 6, top)
            return Symbol((*marks, *plate), LEFT + 6 + plate_width(part.plate), 24)
        case Kind.ZONE:
            return Symbol(
                (Box(left, top, 28, 34, _ZONE[part.state], 2), *person(left + 14, top + 17)), 28 - LEFT, 36
            )
        case None:
            marks = (Box(left + 4, top, 16, 14, _box(part), 1), Box(left, top + 4, 16, 14, _box(part), 1))
            return Symbol(marks, 11, 18)
        case _:
            return Symbol((Box(x - 8, top, 16, 16, _box(part), 1),), 8, 16)


def lying(part: Part, x: float, y: float, width: float, height: float, strip: float) -> list[Mark]:
    """The part on lines that run from left to right, in a box of this size, without its words.

    `strip` is the height at which the line runs through an isolator, or the lock's plate stands.
    """
    match part.kind:
        case Kind.ISOLATOR:
            ink = _BAR.get(part.state, Ink.BAR)
            bars: list[Mark] = [Line(((at, y), (at, y + height)), ink) for at in (x, x + width)]
            if part.state in _BAR:
                return [
                    *_plate(part, x + (width - plate_width(part.plate)) / 2, strip - PLATE_HEIGHT / 2),
                    *bars,
                ]
            marks: list[Mark] = [Line(((x, strip), (x + width, strip)), _LINE[_through(part)])]
            if part.state is State.PLANNED:
                marks.append(Box(x + width / 2 - 22, strip - 11, 44, 22, Ink.PLATE_PLANNED, 2))
            return [*marks, *bars]
        case Kind.SUPPLY:
            outline = [
                (x, y),
                (x + width - NOSE, y),
                (x + width, y + height / 2),
                (x + width - NOSE, y + height),
            ]
            return [Shape((*outline, (x, y + height)), Ink.SUPPLY)]
        case Kind.STORE:
            marks = [
                Box(x, y, width, height, _box(part), min(height / 2, 28)),
                *_charge(part, x + width - 16, y + 16),
            ]
            if part.plate:
                marks += _plate(part, x + (width - plate_width(part.plate)) / 2, strip - PLATE_HEIGHT / 2)
            return marks
        case Kind.ZONE:
            return [Box(x, y, width, height, _ZONE[part.state], 2), *person(x + 20, y + height / 2)]
        case None:
            return [Box(x + 5, y - 5, width, height, _box(part), 1), Box(x, y, width, height, _box(part), 1)]
        case _:
            return [Box(x, y, width, height, _box(part), 1)]


def person(x: float, y: float) -> list[Mark]:
    """Someone in a zone, about 24 high: the reason for all of it."""
    body = ((x - 7, y + 12), (x - 7, y + 4), (x - 3, y - 1), (x + 3, y - 1), (x + 7, y + 4), (x + 7, y + 12))
    return [Dot(x, y - 6.5, 4.5, Ink.JOINT), Shape(body, Ink.LIVE_HEAD)]


def wire(places: list[Place], flow: Flow, *, both: bool = False) -> list[Mark]:
    """A line through these places with an arrow at its end, and one at its start where it goes both ways."""
    places = [place for i, place in enumerate(places) if i == 0 or place != places[i - 1]]
    head = _head(places[-2], places[-1], flow)
    ends = [head]
    line = [*places[:-1], _before(places[-2], places[-1], _HEAD_LENGTH[flow] - 1)]
    if both:
        ends.append(_head(places[1], places[0], flow))
        line[0] = _before(places[1], places[0], _HEAD_LENGTH[flow] - 1)
    return [Line(tuple(line), _LINE[flow]), *ends]


def joint(x: float, y: float, flow: Flow) -> Mark:
    """The dot where lines meet."""
    return Dot(x, y, _JOINT_RADIUS[flow], _JOINT[flow])


def plate_width(number: str) -> float:
    return max(fonts.width(number, PLATE_SIZE, bold=True) + 14, 34)


def _upright_isolator(part: Part, x: float, top: float) -> Symbol:
    ink = _BAR.get(part.state, Ink.BAR)
    height = PLATE_HEIGHT + 11
    right = LEFT + 4
    marks: list[Mark] = []
    if part.state in _BAR:
        right = plate_width(part.plate) - LEFT
        marks += _plate(part, x - LEFT, top + 5.5)
    else:
        height -= 6
        marks.append(Line(((x, top), (x, top + height)), _LINE[_through(part)]))
        if part.state is State.PLANNED:
            marks.append(Box(x - 8, top + 5, 16, height - 10, Ink.PLATE_PLANNED, 2))
    marks += [Line(((x - LEFT, at), (x + right, at)), ink) for at in (top + 1.5, top + height - 1.5)]
    return Symbol(tuple(marks), right, height)


def _through(part: Part) -> Flow:
    """What runs through a closed isolator."""
    return Flow.PATH if part.on_path else Flow.LIVE if part.live else Flow.DEAD


def _plate(part: Part, x: float, y: float) -> list[Mark]:
    width = plate_width(part.plate)
    return [
        Box(x, y, width, PLATE_HEIGHT, _PLATE.get(part.state, Ink.PLATE_LOCKED), 2),
        Words(
            x + width / 2,
            y + PLATE_HEIGHT / 2 + PLATE_SIZE * 0.36,
            part.plate,
            PLATE_SIZE,
            Ink.ON_PLATE,
            centred=True,
        ),
    ]


def _box(part: Part) -> Ink:
    match part.state:
        case State.LOCKED:
            return Ink.ZONE_LOCKED
        case State.PROVEN:
            return Ink.ZONE_PROVEN
        case State.UNFED:
            return Ink.BOX_UNFED
        case State.LIVE if part.kind in (Kind.CARRIER, None):
            return Ink.BOX
        case _:
            return Ink.BOX_LIVE


def _charge(part: Part, x: float, y: float) -> list[Mark]:
    """A full dot while a store holds energy."""
    return [Dot(x, y, 6, Ink.JOINT)] if part.state in (State.LIVE, State.PLANNED, State.UNFED) else []


def _before(start: Place, end: Place, length: float) -> Place:
    """The place `length` before `end` on the way from `start`."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    way = hypot(dx, dy) or 1.0
    length = min(length, way)
    return end[0] - dx / way * length, end[1] - dy / way * length


def _head(start: Place, end: Place, flow: Flow) -> Shape:
    dx, dy = end[0] - start[0], end[1] - start[1]
    way = hypot(dx, dy) or 1.0
    ux, uy = dx / way, dy / way
    length, half = _HEAD_LENGTH[flow], _HEAD_WIDTH[flow] / 2
    back = end[0] - ux * length, end[1] - uy * length
    return Shape(
        (end, (back[0] - uy * half, back[1] + ux * half), (back[0] + uy * half, back[1] - ux * half)),
        _HEAD[flow],
    )
