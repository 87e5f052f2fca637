"""Rows of a job to the values that the rules look at, and a site's policy."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from django.db.models import QuerySet

from permits.calibration import models as rows
from permits.calibration.rules import job as rules
from permits.calibration.rules.deciding import Instrument
from permits.calibration.rules.describing import Known
from permits.calibration.rules.instruments import OnHand
from permits.calibration.rules.lengths import Unit, from_record
from permits.calibration.rules.parameters import (
    Change,
    Parameter,
    Range,
    range_from_record,
    setting_from_record,
)
from permits.calibration.rules.policy import Overdue, Policy
from permits.calibration.rules.prechecks import Measured
from permits.people.models import Site
from permits.plant.models import Machine
from permits.work.models import OPEN_PHASES
from permits.work.rules.out_of_use import owed_since
from permits.work.rules.words import OutOfUse
from permits.work.store import out_of_use_of

WORKS = ("pieces", "changes")


def works_of(job: rows.Job) -> tuple[rules.AxisWork, ...]:
    """The work on each axis of a job, in the order in which it was opened. Three queries."""
    return tuple(work_of(row) for row in whole(job.works.all()).order_by("pk"))


def whole(works: QuerySet[rows.AxisWork]) -> QuerySet[rows.AxisWork]:
    """With all that `work_of` reads, in three queries."""
    return works.select_related("axis__machine__site", "instrument", "job__permit").prefetch_related(*WORKS)


def work_of(row: rows.AxisWork) -> rules.AxisWork:
    """Needs the axis; pieces and changes are read where they are not prefetched, what it owes while open."""
    changes = sorted(row.changes.all(), key=lambda change: change.n)
    return rules.AxisWork(
        axis=row.axis.code,
        name=row.axis.name,
        state=rules.AxisState(row.state),
        tolerance=from_record(row.tolerance),
        instrument=Instrument(
            from_record(row.expanded_uncertainty).value,
            Fraction(row.coverage_factor),
            from_record(row.resolution).value,
        ),
        pieces=tuple(piece_of(piece) for piece in sorted(row.pieces.all(), key=lambda piece: piece.n)),
        corrections=row.corrections,
        proven=row.proven,
        nominal=range_from_record(row.axis.nominal_from, row.axis.nominal_to),
        ranges=ranges_of(row.axis),
        changes=tuple(change_of(change) for change in changes),
        owed=owed_by(row.axis) if is_at_work(row) else "",
        owed_at_opening=row.owed_at_opening,
    )


def is_at_work(row: rows.AxisWork) -> bool:
    return row.state == rules.AxisState.OPEN.value and row.job.permit.phase in OPEN_PHASES


def owed_by(axis: rows.Axis) -> str:
    """The permit that was closed without this axis' as-left check, while that is owed; "" for none."""
    return owed_since(out_of_use_of(axis.machine.site), axis.machine.code, axis.code)


def out_of_use(machine: Machine) -> OutOfUse | None:
    """What was left open on the machine when a permit was closed as not proven; None where nothing was."""
    return out_of_use_of(machine.site).get(machine.code)


def piece_of(row: rows.Piece) -> rules.Piece:
    return rules.Piece(
        from_record(row.nominal),
        from_record(row.measured),
        rules.Stage(row.stage),
        row.corrections,
        row.n,
        row.struck_at is not None,
    )


def change_of(row: rows.Correction) -> Change:
    return Change(Parameter(row.parameter), setting_from_record(row.old), setting_from_record(row.new))


def ranges_of(axis: rows.Axis) -> dict[Parameter, Range]:
    """What a correction of the axis may change, and how far."""
    found = {
        Parameter.OFFSET: range_from_record(axis.offset_lowest, axis.offset_highest),
        Parameter.SCALE: range_from_record(axis.scale_lowest, axis.scale_highest),
    }
    return {parameter: limits for parameter, limits in found.items() if limits is not None}


def on_hand(row: rows.Instrument) -> OnHand:
    return OnHand(str(row), row.number, Unit(row.unit), row.due_on, row.removed_at is not None)


def policy_of(site: Site) -> Policy:
    """The site's choices, or the defaults where it has made none."""
    row = rows.MeasuringPolicy.objects.filter(site=site).first()
    return Policy(Unit(row.lengths), row.finest, Overdue(row.overdue)) if row else Policy()


def live_axes(machine: Machine) -> list[rows.Axis]:
    """The machine's axes in the officer's order; of two with one number an angle axis, then by code."""
    found = rows.Axis.objects.filter(machine=machine, removed_at=None)
    return sorted(found, key=lambda axis: (axis.order, axis.unit != Unit.DEGREE, axis.code))


def known_axes(machine: Machine) -> list[Known]:
    return [known(axis) for axis in live_axes(machine)]


def known(axis: rows.Axis) -> Known:
    works = axis.works.select_related("job__permit")
    now_open = works.at_work().first()
    return Known(
        code=axis.code,
        name=axis.name,
        order=axis.order,
        unit=Unit(axis.unit),
        has_readings=works.exists() or axis.earlier.exists(),
        open_in=now_open.job.permit.reference if now_open else "",
    )


def measured_in(pre_check: rows.PreCheck) -> list[Measured]:
    """What was measured in a pre-check, by the names that the axes had then."""
    names = {one["axis"]: one["name"] for one in pre_check.axes}
    return [
        Measured(
            one["feature"],
            from_record(one["deviation"]),
            from_record(one["standard_uncertainty"]),
            {names[code]: Fraction(digits) for code, digits in one["depends"].items() if code in names},
        )
        for one in pre_check.features
    ]


def is_overdue(instrument: rows.Instrument, day: date) -> bool:
    return on_hand(instrument).is_overdue(day)
