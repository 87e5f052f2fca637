"""An axis over time: each visit as found and as left, the charts' limits, what they and the drift say."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time
from fractions import Fraction

from permits.calibration import models as rows
from permits.calibration.rules import charting, over_time
from permits.calibration.rules import job as rules
from permits.calibration.rules.drifting import Drift, Visit, drift
from permits.calibration.rules.lengths import Measure, Unit, from_record, printed
from permits.calibration.rules.policy import Policy
from permits.calibration.rules.reasons import size
from permits.calibration.store import WORKS, policy_of, work_of
from permits.people.models import Site


@dataclass(frozen=True, slots=True)
class VisitLine:
    """One visit for the table. `source`: where an earlier result was taken from, "" for one of ours;
    `override`: it was adjusted against the readings."""

    visit: Visit
    day: date
    found: str
    left: str
    decision: str
    adjusted: bool
    override: bool
    permit: str
    source: str
    also: str


@dataclass(frozen=True, slots=True)
class Series:
    """One chart: as found or as left. `chart` is None for fewer than two visits."""

    stage: str
    values: tuple[Fraction, ...]
    chart: charting.Chart | None
    signals: tuple[over_time.Told, ...]


@dataclass(frozen=True, slots=True)
class AxisHistory:
    row: rows.Axis
    name: str
    machine: str
    unit: Unit
    tolerance: Measure
    visits: list[VisitLine]
    found: Series
    left: Series
    drift: Drift | None
    drift_words: list[str]
    adjustments: str

    @property
    def in_short(self) -> str:
        """How it stands, in a few words."""
        return over_time.in_short(self.drift, [line.visit for line in self.visits], self.tolerance)

    @property
    def needs_a_look(self) -> bool:
        """Is it drifting out, or was it left outside?"""
        return self.in_short.startswith(("drifts", "left outside"))

    @property
    def days(self) -> list[date]:
        return [line.day for line in self.visits]

    @property
    def earlier(self) -> list[bool]:
        """Which visits were taken over from paper."""
        return [bool(line.source) for line in self.visits]

    @property
    def tolerance_words(self) -> str:
        return f"±{printed(self.tolerance)}"

    @property
    def provisional(self) -> bool:
        """Too few visits for limits that hold."""
        return self.found.chart is None or self.found.chart.provisional

    @property
    def enough(self) -> int:
        return charting.ENOUGH


def history(axis: rows.Axis, *, today: date = date.min) -> AxisHistory:
    """Every visit that has ended, and earlier results from paper, in the order of time. Six queries.

    `today` only matters for the words about the day on which the axis leaves its tolerance.
    """
    site = axis.machine.site
    policy = policy_of(site)
    lines = sorted(
        [*own(axis, site, policy), *taken_over(axis, site, policy)], key=lambda line: line.visit.at
    )
    unit, tolerance = Unit(axis.unit), from_record(axis.tolerance)
    visits = [line.visit for line in lines]
    days = [line.day for line in lines]
    drifts = drift(visits, tolerance=tolerance.value)
    return AxisHistory(
        row=axis,
        name=axis.name,
        machine=axis.machine.name,
        unit=unit,
        tolerance=tolerance,
        visits=lines,
        found=series(rules.Stage.AS_FOUND.value, [visit.as_found for visit in visits], days, unit),
        left=series(rules.Stage.AS_LEFT.value, [visit.left_at for visit in visits], days, unit),
        drift=drifts,
        drift_words=over_time.of_drift(drifts, visits, tolerance, today),
        adjustments=over_time.of_adjustments(visits),
    )


def series(stage: str, values: list[Fraction], days: list[date], unit: Unit) -> Series:
    chart = charting.chart(values)
    found = charting.signals(chart) if chart else []
    told = tuple(over_time.told(chart, signal, days, unit) for signal in found) if chart else ()
    return Series(stage, tuple(values), chart, told)


def own(axis: rows.Axis, site: Site, policy: Policy) -> list[VisitLine]:
    """Visits of this record: work on the axis that has ended and in which pieces were read as found."""
    found = axis.works.exclude(state=rules.AxisState.OPEN.value).select_related("axis", "job__permit")
    lines = []
    for row in found.prefetch_related(*WORKS).order_by("opened_at", "pk"):
        work = work_of(row)
        before, after = work.assessed(rules.Stage.AS_FOUND), work.assessed(rules.Stage.AS_LEFT)
        if before is None:
            continue
        left = rules.judged(after) if after is not None else None
        visit = Visit(row.opened_at, rules.judged(before), before.decision, left)
        unit = work.tolerance.unit
        lines.append(
            VisitLine(
                visit=visit,
                day=site.day_of(row.opened_at),
                found=size(visit.as_found, unit, plus=True),
                left=size(left, unit, plus=True) if left is not None else "",
                decision=before.decision.value,
                adjusted=left is not None,
                override=any(change.override for change in row.changes.all()),
                permit=row.job.permit.reference,
                source="",
                also=policy.also(Measure(visit.left_at, unit)),
            )
        )
    return lines


def taken_over(axis: rows.Axis, site: Site, policy: Policy) -> list[VisitLine]:
    lines = []
    for row in axis.earlier.order_by("on"):
        found = from_record(row.as_found)
        left = from_record(row.as_left) if row.as_left else None
        at = datetime.combine(row.on, time(12), tzinfo=site.zone)  # the paper says no hour
        lines.append(
            VisitLine(
                visit=Visit(at, found.value, None, left.value if left else None),
                day=row.on,
                found=printed(found, plus=True),
                left=printed(left, plus=True) if left else "",
                decision="",
                adjusted=left is not None,
                override=False,
                permit="",
                source=row.source,
                also=policy.also(left or found),
            )
        )
    return lines
