"""What charts and drift say, in sentences for the person who has to act on them. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from permits.calibration.rules.charting import Chart, Rule, Signal
from permits.calibration.rules.drifting import Drift, Visit, adjustments
from permits.calibration.rules.lengths import Measure, Unit, printed
from permits.calibration.rules.reasons import size


def on_day(day: date) -> str:
    """ "5 March 2026"."""
    return f"{day.day} {day:%B %Y}"


@dataclass(frozen=True, slots=True)
class Told:
    """A signal in words. `last`: index of the value at which it shows, for the chart and the table."""

    words: str
    last: int
    rule: Rule


def told(chart: Chart, signal: Signal, days: Sequence[date], unit: Unit) -> Told:
    """`days`: of each value."""
    first, last = on_day(days[signal.first]), on_day(days[signal.last])
    count = signal.last - signal.first + 1
    match signal.rule:
        case Rule.BEYOND:
            value = size(chart.values[signal.last], unit, plus=True)
            words = (
                f"{last}: {value} lies beyond the limits, {size(chart.lower, unit, plus=True)} to "
                f"{size(chart.upper, unit, plus=True)}."
            )
        case Rule.RANGE:
            step = size(chart.ranges[signal.first], unit)
            usual = size(chart.range_upper, unit)
            words = f"{first} to {last}: a step of {step}, where steps up to {usual} are usual."
        case Rule.RUN:
            side = "above" if chart.values[signal.last] > chart.centre else "below"
            words = f"{first} to {last}: {count} in a row {side} the mean. Something has shifted."
        case Rule.TREND:
            way = "rising" if chart.values[signal.last] > chart.values[signal.first] else "falling"
            words = f"{first} to {last}: {count} in a row, each {way}. It drifts."
    return Told(words, signal.last, signal.rule)


def of_drift(drift: Drift | None, visits: Sequence[Visit], tolerance: Measure, today: date) -> list[str]:
    """Drift rate, and when the axis will leave its tolerance."""
    unit, limit = tolerance.unit, f"±{printed(tolerance)}"
    if drift is None:
        return ["Three visits or more, on different days, are needed to tell a drift."]
    rate = size(drift.per_day, unit, plus=True)
    if not drift.shown:
        return [f"No drift is shown: {rate} a day, p = {drift.p:.2g}, which may well be chance."]
    month = size(drift.per_day * 30, unit, plus=True)
    said = [f"It drifts by {rate} a day, which is {month} in 30 days (p = {drift.p:.2g})."]
    if drift.leaves_at is None:
        outside = abs(visits[-1].left_at) > tolerance.value
        said.append(
            f"It was last left outside {limit}." if outside else f"It stays inside {limit} for years."
        )
        return said
    leaves = drift.leaves_at.date()
    said.append(f"At this rate it reaches {limit} about {on_day(leaves)}.")
    if drift.earliest is not None:
        said.append(f"At the fastest that the results allow, {on_day(drift.earliest.date())}.")
    if leaves < today:
        said.append("That day is past: look at it before parts are scrapped.")
    return said


def in_short(drift: Drift | None, visits: Sequence[Visit], tolerance: Measure) -> str:
    """How an axis stands, in a few words for a list."""
    if not visits:
        return "no visit yet"
    if abs(visits[-1].left_at) > tolerance.value:
        return "left outside its tolerance"
    if drift is not None and drift.shown and drift.leaves_at is not None:
        return f"drifts: out of tolerance about {on_day(drift.leaves_at.date())}"
    return f"{len(visits)} visit{'s' if len(visits) != 1 else ''}, no drift shown"


def of_adjustments(visits: Sequence[Visit]) -> str:
    """How often it was adjusted, and how often for nothing."""
    count = adjustments(visits)
    times = f"{len(visits)} visit{'s' if len(visits) != 1 else ''}"
    if not count.made:
        return f"Never adjusted in {times}."
    made = f"Adjusted {count.made} time{'s' if count.made != 1 else ''} in {times}"
    not_known = sum(visit.as_left is not None and visit.decision is None for visit in visits)
    if not_known == count.made:
        return f"{made}. Whether for nothing is not known: the paper does not say."
    but = f" Of {not_known} from paper it is not known." if not_known else ""
    if not count.for_nothing:
        return f"{made}, never for nothing.{but}"
    return (
        f"{made}, {count.for_nothing} of them for nothing: the readings said leave, and adjusting what is in "
        f"tolerance adds scatter.{but}"
    )
