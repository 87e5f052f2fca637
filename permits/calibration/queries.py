"""Reads for a calibration job's page and for the officer's lists; complete when they leave here."""

from __future__ import annotations

from dataclasses import dataclass

from permits.calibration import models as rows
from permits.calibration.rules import job as rules
from permits.calibration.rules.lengths import Unit, deviation, from_record, printed
from permits.calibration.rules.reasons import reason, size
from permits.calibration.store import work_of
from permits.people.models import Site
from permits.plant.models import Machine
from permits.work.models import Permit

LOOKS = {"leave": "dead", "adjust": "unproven", "measure again": "info"}


@dataclass(frozen=True, slots=True)
class PieceLine:
    """One reading in the digits that were typed."""

    n: int
    stage: str
    nominal: str
    measured: str
    deviation: str
    counts: bool


@dataclass(frozen=True, slots=True)
class Judgement:
    """What the pieces of a stage say so far, for the page. `correction`: what would bring it to zero."""

    stage: str
    n: int
    mean: str
    decision: str
    look: str
    reason: str
    correction: str


@dataclass(frozen=True, slots=True)
class WorkPage:
    """The work on one axis."""

    row: rows.AxisWork
    name: str
    unit: Unit
    tolerance: str
    instrument: str
    state: str
    stage: str
    is_open: bool
    unproven: bool
    worse: bool
    pieces: list[PieceLine]
    found: Judgement | None
    left: Judgement | None
    corrections: list[rows.Correction]
    last_nominal: str


@dataclass(frozen=True, slots=True)
class JobPage:
    row: rows.Job
    machine: str
    works: list[WorkPage]
    open: WorkPage | None
    axes: list[rows.Axis]


def open_job(permit: Permit) -> rows.Job | None:
    return rows.Job.objects.filter(permit=permit, closed_at=None).select_related("machine", "permit").first()


def jobs_of(permit: Permit) -> list[JobPage]:
    """Every job of a permit with its axes, readings and corrections, in order."""
    found = rows.Job.objects.filter(permit=permit).select_related("machine", "permit").order_by("number")
    return [job_page(job) for job in found]


def job_page(job: rows.Job) -> JobPage:
    found = job.works.select_related("axis", "instrument", "job").prefetch_related("pieces", "changes")
    works = [work_page(row) for row in found.order_by("pk")]
    return JobPage(
        row=job,
        machine=job.machine.name,
        works=works,
        open=next((w for w in works if w.is_open), None),
        axes=list(axes_of(job.machine)),
    )


def work_page(row: rows.AxisWork) -> WorkPage:
    work = work_of(row)
    pieces = sorted(row.pieces.all(), key=lambda piece: piece.n)
    return WorkPage(
        row=row,
        name=work.name,
        unit=work.tolerance.unit,
        tolerance=f"±{printed(work.tolerance)}",
        instrument=str(row.instrument),
        state=work.state.value,
        stage=work.stage.value,
        is_open=work.state is rules.AxisState.OPEN,
        unproven=work.unproven,
        worse=rules.went_worse(work),
        pieces=[piece_line(piece, work) for piece in pieces],
        found=judgement(work, rules.Stage.AS_FOUND),
        left=judgement(work, rules.Stage.AS_LEFT),
        corrections=sorted(row.changes.all(), key=lambda change: change.n),
        last_nominal=pieces[-1].nominal.rpartition(" ")[0] if pieces else "",
    )


def piece_line(piece: rows.Piece, work: rules.AxisWork) -> PieceLine:
    nominal, measured = from_record(piece.nominal), from_record(piece.measured)
    return PieceLine(
        n=piece.n,
        stage=piece.stage,
        nominal=printed(nominal),
        measured=printed(measured),
        deviation=printed(deviation(measured, nominal), plus=True),
        counts=piece.stage == rules.Stage.AS_FOUND.value or piece.corrections == work.corrections,
    )


def judgement(work: rules.AxisWork, stage: rules.Stage) -> Judgement | None:
    answer = work.assessed(stage)
    if answer is None:
        return None
    unit, by = work.tolerance.unit, answer.correction
    correction = "" if by.offset is None else f"add {size(by.offset, unit, plus=True)}"
    if by.scale_significant and by.scale is not None:
        correction = f"multiply by {float(by.scale):.6g}, then {correction}"
    return Judgement(
        stage=stage.value,
        n=answer.n,
        mean=size(answer.mean, unit, plus=True),
        decision=answer.decision.value,
        look=LOOKS[answer.decision.value],
        reason=reason(answer),
        correction=correction,
    )


def axes_of(machine: Machine) -> list[rows.Axis]:
    """The machine's axes in the officer's order."""
    return list(rows.Axis.objects.filter(machine=machine, removed_at=None).order_by("order", "code"))


def instruments_of(site: Site) -> list[rows.Instrument]:
    return list(rows.Instrument.objects.filter(site=site, removed_at=None).order_by("number"))
