"""Rows of a job to the values that the rules look at."""

from __future__ import annotations

from fractions import Fraction

from permits.calibration import models as rows
from permits.calibration.rules import job as rules
from permits.calibration.rules.deciding import Instrument
from permits.calibration.rules.lengths import from_record


def works_of(job: rows.Job) -> tuple[rules.AxisWork, ...]:
    """The work on each axis of a job, in the order in which it was opened. Three queries."""
    found = job.works.select_related("axis", "instrument").prefetch_related("pieces").order_by("pk")
    return tuple(work_of(row) for row in found)


def work_of(row: rows.AxisWork) -> rules.AxisWork:
    pieces = sorted(row.pieces.all(), key=lambda piece: piece.n)
    return rules.AxisWork(
        axis=row.axis.code,
        name=row.axis.name,
        state=rules.AxisState(row.state),
        tolerance=from_record(row.axis.tolerance),
        instrument=instrument_of(row.instrument),
        pieces=tuple(
            rules.Piece(
                from_record(piece.nominal),
                from_record(piece.measured),
                rules.Stage(piece.stage),
                piece.corrections,
            )
            for piece in pieces
        ),
        corrections=row.corrections,
        proven=row.proven,
    )


def instrument_of(row: rows.Instrument) -> Instrument:
    return Instrument(
        from_record(row.expanded_uncertainty).value,
        Fraction(row.coverage_factor),
        from_record(row.resolution).value,
    )
