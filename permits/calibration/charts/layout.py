"""Where everything of a chart stands: each visit's value above, the steps between visits below."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from permits.calibration.charts.marks import Dot, Ink, Line, Mark, Picture, Words
from permits.calibration.queries.history import AxisHistory, Series
from permits.calibration.rules.charting import Chart, Rule
from permits.calibration.rules.lengths import Unit
from permits.calibration.rules.over_time import on_day
from permits.calibration.rules.reasons import size

WIDE, NARROW = 760.0, 358.0
"""Pixels: a desk's column, and a phone's width without its margins."""

TEXT = 13.0
RIGHT = 70.0  # room for the lines' names
ABOVE, BELOW, BETWEEN, HEAD, FOOT = 190.0, 84.0, 20.0, 26.0, 24.0
APART = 15.0  # between two names at the right
DATE_ROOM = 74.0
FAR = 3  # a tolerance so many times wider than what happens is not drawn: all else would be one line


@dataclass(frozen=True, slots=True)
class Panel:
    """One of the two plots: from x to x, from top to bottom, and the values at its bottom and top."""

    left: float
    right: float
    top: float
    bottom: float
    low: float
    high: float

    def y(self, value: float) -> float:
        return self.bottom - (value - self.low) / (self.high - self.low) * (self.bottom - self.top)

    def across(self, value: float, ink: Ink) -> Line:
        return Line(((self.left, self.y(value)), (self.right, self.y(value))), ink)


def lay_out(axis: AxisHistory, series: Series, width: float) -> Picture:
    """The chart of a series that has one. Dots in the order of the visits, evenly spaced."""
    chart = series.chart
    if chart is None:
        raise ValueError("Fewer than two visits have no chart.")
    values, ranges = [float(v) for v in chart.values], [float(r) for r in chart.ranges]
    tolerance = float(axis.tolerance.value)
    reach = max(map(abs, (*values, float(chart.lower), float(chart.upper))))
    shows_tolerance = tolerance <= FAR * reach or reach == 0
    levels = [*values, float(chart.lower), float(chart.upper), 0.0]
    levels += [-tolerance, tolerance] if shows_tolerance else []
    ends, range_ends = spread(levels), spread([*ranges, float(chart.range_upper), 0.0], floor=0.0)
    left = 12 + 7.2 * max(len(tick) for tick in (*labels(*ends), *labels(*range_ends)))
    upper = Panel(left, width - RIGHT, HEAD, HEAD + ABOVE, *ends)
    top = upper.bottom + BETWEEN + HEAD
    lower = Panel(left, width - RIGHT, top, top + BELOW, *range_ends)
    xs = places(len(values), upper)
    marks = [
        *frame(upper, f"Deviation at each visit, {unit_word(axis.unit)}"),
        *lines(upper, chart, tolerance if shows_tolerance else None),
        *plotted(
            upper, xs, values, axis.earlier, {t.last for t in series.signals if t.rule is not Rule.RANGE}
        ),
        *frame(lower, "Step from the visit before"),
        *named(
            lower,
            [(float(chart.range_centre), "mean", Ink.MEAN), (float(chart.range_upper), "limit", Ink.LIMIT)],
        ),
        *plotted(
            lower,
            xs[1:],
            ranges,
            axis.earlier[1:],
            {t.last - 1 for t in series.signals if t.rule is Rule.RANGE},
        ),
        *dates(xs, axis.days, lower.bottom + 18, width),
    ]
    title = f"{axis.name}, {series.stage}: deviation at each visit, and the step from the visit before"
    return Picture(width, lower.bottom + FOOT, title, described(axis, series, chart), tuple(marks))


def unit_word(unit: Unit) -> str:
    return "degrees" if unit is Unit.DEGREE else unit.value


def described(axis: AxisHistory, series: Series, chart: Chart) -> str:
    """What the chart shows, in words, for whoever does not see it."""
    unit = axis.unit
    said = [
        f"{len(chart.values)} visits from {on_day(axis.days[0])} to {on_day(axis.days[-1])}, the last at "
        f"{size(chart.values[-1], unit, plus=True)}.",
        f"Mean {size(chart.centre, unit, plus=True)}, limits {size(chart.lower, unit, plus=True)} to "
        f"{size(chart.upper, unit, plus=True)}, tolerance {axis.tolerance_words}.",
        *(told.words for told in series.signals),
    ]
    return " ".join(said if series.signals else [*said, "No rule speaks."])


def spread(levels: Sequence[float], floor: float | None = None) -> tuple[float, float]:
    """Lowest and highest value to be shown, with a little room around what must be seen."""
    low, high = min(levels), max(levels)
    room = (high - low) * 0.08 or max(abs(high) * 0.1, 1e-9)
    return (low - room if floor is None else floor, high + room)


def labels(low: float, high: float) -> list[str]:
    return [text for _, text in ticks(low, high)]


def ticks(low: float, high: float) -> list[tuple[float, str]]:
    """Three to six round values between the ends, with their digits."""
    rough = (high - low) / 4
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * by for by in (1, 2, 5, 10) if power * by >= rough)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    first = math.ceil(low / step)
    found = []
    for at in range(first, math.floor(high / step) + 1):
        text = f"{at * step:.{decimals}f}"
        found.append((at * step, text if at or decimals == 0 else "0"))
    return found


def frame(panel: Panel, head: str) -> Iterator[Mark]:
    yield Words(panel.left, panel.top - 8, head, TEXT, Ink.HEAD)
    yield Line(((panel.left, panel.top), (panel.left, panel.bottom), (panel.right, panel.bottom)), Ink.FRAME)
    for value, text in ticks(panel.low, panel.high):
        y = panel.y(value)
        yield Line(((panel.left - 4, y), (panel.left, y)), Ink.FRAME)
        if abs(value) < 1e-12 and panel.low < 0:
            yield panel.across(0.0, Ink.TICK)
        yield Words(panel.left - 7, y + 4.5, text, TEXT, anchor="end")


def lines(panel: Panel, chart: Chart, tolerance: float | None) -> Iterator[Mark]:
    found = [
        (float(chart.centre), "mean", Ink.MEAN),
        (float(chart.upper), "limit", Ink.LIMIT),
        (float(chart.lower), "limit", Ink.LIMIT),
    ]
    if tolerance is not None:
        found += [(tolerance, "tolerance", Ink.TOLERANCE), (-tolerance, "tolerance", Ink.TOLERANCE)]
    yield from named(panel, found)


def named(panel: Panel, found: Iterable[tuple[float, str, Ink]]) -> Iterator[Mark]:
    """Each line across the panel with its name at the right; names that would touch are pushed apart."""
    below = math.inf
    for value, name, ink in sorted(found, key=lambda one: one[0]):
        yield panel.across(value, ink)
        y = min(panel.y(value), below - APART)
        below = y
        yield Words(panel.right + 6, y + 4.5, name, TEXT)


def places(count: int, panel: Panel) -> list[float]:
    first, last = panel.left + 14, panel.right - 14
    return [first + (last - first) * at / max(count - 1, 1) for at in range(count)]


def plotted(
    panel: Panel, xs: Sequence[float], values: Sequence[float], earlier: Sequence[bool], rings: set[int]
) -> Iterator[Mark]:
    at = [(x, panel.y(value)) for x, value in zip(xs, values, strict=True)]
    yield Line(tuple(at), Ink.VALUES)
    for index, (x, y) in enumerate(at):
        yield Dot(x, y, 4.0, Ink.HOLLOW if earlier[index] else Ink.DOT)
        if index in rings:
            yield Dot(x, y, 9.0, Ink.RING)


def dates(xs: Sequence[float], days: Sequence[date], y: float, width: float) -> Iterator[Mark]:
    """As many days as have room, the last one always."""
    room = math.inf
    for index in range(len(xs) - 1, -1, -1):
        x = min(xs[index], width - DATE_ROOM / 2)
        if room - x < DATE_ROOM and index != len(xs) - 1:
            continue
        room = x
        day = days[index]
        yield Words(x, y, f"{day.day} {day:%b %y}", TEXT, anchor="middle")
