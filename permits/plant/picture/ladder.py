"""The upright layout for phones and paper: a row for each part, sources on top, lines in lanes beside it.

Each part stands to the right of every line that passes it by, so its words follow at once and no line crosses
them; a line runs down its lane from its source to the last part that it feeds. Nothing needs to be wider than
a phone, however many parts there are.
"""

from __future__ import annotations

from dataclasses import dataclass

from permits.plant.picture import symbols
from permits.plant.picture.drawing import Drawing, Group, Mark, Place, Words
from permits.plant.picture.legend import beside, legend
from permits.plant.picture.look import Look
from permits.plant.picture.scene import Flow, Part, Scene, Wire

PHONE = 358.0
"""A phone of 390 CSS pixels less its margins."""

PAGE = 700.0
"""A page, with the state beside the name and smaller words."""

TOP = 10.0
BETWEEN = 8.0
BEFORE = 18.0
"""From a row's top to its symbol: room for the lines that come in, and their arrow."""

MARGIN = 14.0
COLUMN = 0.56
"""Where words stand in two columns, what the first one takes of the room."""


@dataclass(frozen=True, slots=True)
class _Row:
    """Where a part stands: its lane, the height at which lines come in, its symbol's middle, its end."""

    lane: int
    enters: float
    top: float
    bottom: float
    end: float


@dataclass(frozen=True, slots=True)
class _Lanes:
    """The lane of each part, the lanes of the lines that run back up, and how far apart lanes are."""

    of: dict[str, int]
    back: dict[tuple[str, str], int]
    pitch: float

    def x(self, lane: int) -> float:
        return MARGIN + (lane + len(self.back)) * self.pitch


def draw(scene: Scene, look: Look, width: float = PHONE) -> Drawing:
    """The whole picture, `width` wide. `look` has its words and where a press on a part leads.

    On paper the legend is its last row; on a screen it stands beside the picture.
    """
    place = {part.id: number for number, part in enumerate(scene.parts)}
    lanes = _lanes(scene, place)
    groups: list[Group] = []
    rows: dict[str, _Row] = {}
    breaks: list[float] = []
    y = TOP
    for part in scene.parts:
        group, row = _row(part, lanes, y, width, look)
        groups.append(group)
        rows[part.id] = row
        y = row.end + BETWEEN
        breaks.append(y - BETWEEN / 2)
    lines = _lines(scene, place, rows, lanes)
    on_paper = width >= PAGE
    meanings, bottom = legend(scene, 4.0, y, width, look) if on_paper else ([], y)
    return Drawing(
        width,
        bottom,
        look.title,
        look.description,
        tuple(lines),
        (*groups, *meanings),
        tuple(breaks),
        tall=True,
        legend=None if on_paper else beside(scene, width, look, tall=True),
    )


def _row(part: Part, lanes: _Lanes, y: float, width: float, look: Look) -> tuple[Group, _Row]:
    lane = lanes.of[part.id]
    x, top = lanes.x(lane), y + BEFORE
    mark = symbols.upright(part, x, top)
    left = x + mark.right + 10
    marks: list[Mark] = list(mark.marks)
    end = top + mark.height
    for start, lines in look.columns(part, left, width, COLUMN if width >= PAGE else 1.0):
        height = sum(line.leading for line in lines)
        # Words beside their symbol: level with it where they are shorter, else from a little above its top.
        baseline = top + max((mark.height - height) / 2, -6)
        for line in lines:
            marks.append(Words(start, baseline + line.leading * 0.76, line.text, line.size, line.ink))
            baseline += line.leading
        end = max(end, baseline)
    return Group(look.spoken(part), tuple(marks), look.url(part)), _Row(
        lane, y + 5, top, top + mark.height, end
    )


def _lanes(scene: Scene, place: dict[str, int]) -> _Lanes:
    """Sweep down the rows: a part stands right of every line that goes on past it."""
    last: dict[str, int] = {}
    for wire in scene.wires:
        if place[wire.target] > place[wire.source]:
            last[wire.source] = max(last.get(wire.source, 0), place[wire.target])
    of: dict[str, int] = {}
    open_lines: dict[str, int] = {}
    for number, part in enumerate(scene.parts):
        open_lines = {id: lane for id, lane in open_lines.items() if last[id] > number}
        of[part.id] = 1 + max(open_lines.values(), default=-1)
        if part.id in last:
            open_lines[part.id] = of[part.id]
    upward = [(w.source, w.target) for w in scene.wires if place[w.target] < place[w.source]]
    back = {pair: -1 - number for number, pair in enumerate(upward)}
    most = max(of.values(), default=0) + 1 + len(back)
    pitch = 20.0 if most <= 6 else 16.0 if most <= 9 else max(9.0, 144.0 / most)
    return _Lanes(of, back, pitch)


def _lines(scene: Scene, place: dict[str, int], rows: dict[str, _Row], lanes: _Lanes) -> list[Mark]:
    """The dead lines first, then the live, then the path; the dots where lines meet on top."""
    lines: list[Mark] = []
    joints: list[Mark] = []
    last: dict[str, int] = {}
    for wire in scene.wires:
        last[wire.source] = max(last.get(wire.source, 0), place[wire.target])
    for flow in (Flow.DEAD, Flow.LIVE, Flow.PATH):
        for wire in scene.wires:
            if wire.flow is not flow:
                continue
            source, target = rows[wire.source], rows[wire.target]
            lines += symbols.wire(_route(wire, source, target, lanes), flow, both=wire.both)
            if last[wire.source] > place[wire.target] > place[wire.source]:
                joints.append(symbols.joint(lanes.x(source.lane), target.enters, flow))
    return lines + joints


def _route(wire: Wire, source: _Row, target: _Row, lanes: _Lanes) -> list[Place]:
    here, there = lanes.x(source.lane), lanes.x(target.lane)
    into = [(there, target.enters), (there, target.top)]
    if (wire.source, wire.target) not in lanes.back:
        return [(here, source.bottom), (here, target.enters), *into]
    aside = lanes.x(lanes.back[wire.source, wire.target])
    out = source.end + BETWEEN / 2
    return [(here, source.bottom), (here, out), (aside, out), (aside, target.enters), *into]
