"""The legend of a picture: a sample of each kind of line and shape in it, with its meaning in words."""

from __future__ import annotations

from collections.abc import Iterator

from permits.plant.picture import symbols
from permits.plant.picture.drawing import Box, Drawing, Group, Ink, Line, Mark, Words, moved
from permits.plant.picture.look import Look
from permits.plant.picture.scene import Flow, Scene
from permits.plant.picture.standing import State
from permits.plant.prints import fonts
from permits.plant.rules.energy import Kind

TITLE = "What the lines and signs mean"
SAMPLE = 52.0
ROW = 30.0


def legend(scene: Scene, left: float, y: float, right: float, look: Look) -> tuple[list[Group], float]:
    """The legend's groups below `y`, between `left` and `right`, and where it ends."""
    x, groups = left, []
    y += ROW
    for words, marks in _entries(scene):
        needed = SAMPLE + 8 + fonts.width(words, look.note_size)
        if x > left and x + needed > right:
            x, y = left, y + ROW
        lines = fonts.wrap(words, look.note_size, right - left - SAMPLE - 8)
        shifted = [moved(mark, x, y) for mark in marks]
        for number, line in enumerate(lines):
            at = y + look.note_size * (0.36 + 1.25 * number)
            shifted.append(Words(x + SAMPLE + 8, at, line, look.note_size, Ink.NOTE))
        groups.append(Group(words, tuple(shifted)))
        y += look.note_size * 1.25 * (len(lines) - 1)
        x += needed + 24
    return groups, y + ROW / 2


def beside(scene: Scene, width: float, look: Look, *, tall: bool = False) -> Drawing:
    """The legend as a drawing of its own, as wide as the picture's room."""
    groups, bottom = legend(scene, 4.0, -ROW / 2 + 6, width, look)
    said = "; ".join(group.title for group in groups)
    return Drawing(width, bottom, TITLE, said, (), tuple(groups), tall=tall)


def _entries(scene: Scene) -> Iterator[tuple[str, list[Mark]]]:
    """Samples around the middle of their row, with their words."""
    flows = {wire.flow for wire in scene.wires}
    states = {(part.kind, part.state) for part in scene.parts}
    if Flow.LIVE in flows:
        yield "live", symbols.wire([(0, 0), (SAMPLE, 0)], Flow.LIVE)
    if Flow.DEAD in flows:
        yield "no energy", symbols.wire([(0, 0), (SAMPLE, 0)], Flow.DEAD)
    if Flow.PATH in flows:
        yield "the path that reaches a zone", symbols.wire([(0, 0), (SAMPLE, 0)], Flow.PATH)
    if both := {wire.flow for wire in scene.wires if wire.both}:
        flow = Flow.DEAD if both == {Flow.DEAD} else Flow.LIVE
        yield "can pass both ways", symbols.wire([(0, 0), (SAMPLE, 0)], flow, both=True)
    if states & {(Kind.ISOLATOR, State.LIVE), (Kind.ISOLATOR, State.UNFED)}:
        yield "isolator, not locked", [Line(((10, 0), (42, 0)), Ink.LIVE), *_bars(Ink.BAR)]
    if (Kind.ISOLATOR, State.PLANNED) in states:
        yield "isolator to be locked", [
            Line(((10, 0), (42, 0)), Ink.LIVE), Box(15, -9, 22, 18, Ink.PLATE_PLANNED, 2), *_bars(Ink.BAR),
        ]  # fmt: skip
    if (Kind.ISOLATOR, State.LOCKED) in states:
        yield (
            "gap: lock on, not proven yet",
            [Box(13, -9, 26, 18, Ink.PLATE_LOCKED, 2), *_bars(Ink.BAR_LOCKED)],
        )
    if (Kind.ISOLATOR, State.PROVEN) in states:
        yield "gap: lock on, proven", [Box(13, -9, 26, 18, Ink.PLATE_PROVEN, 2), *_bars(Ink.BAR_PROVEN)]
    if any(kind is Kind.STORE for kind, _ in states):
        full = {(Kind.STORE, State.LIVE), (Kind.STORE, State.PLANNED), (Kind.STORE, State.UNFED)} & states
        mark: list[Mark] = [Box(11, -10, 30, 20, Ink.BOX_LIVE if full else Ink.ZONE_PROVEN, 10)]
        yield (
            "stored energy" + (" (with the dot: not released)" if full else ", released"),
            ([*mark, symbols.joint(26, 0, Flow.LIVE)] if full else mark),
        )


def _bars(ink: Ink) -> list[Mark]:
    return [Line(((at, -12), (at, 12)), ink) for at in (8, 44)]
