"""What can be done in a calibration job; the only writer of this room. The permit is asked first, each time."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from uuid import UUID

from permits.calibration import models as rows
from permits.calibration.rules import job as rules
from permits.calibration.rules.facts import Fact
from permits.calibration.rules.lengths import Measure, recorded
from permits.calibration.rules.reasons import reason as words_of
from permits.calibration.store import work_of, works_of
from permits.ledger.pen import AlreadyDone, Author, Pen, writing
from permits.people.models import Site
from permits.plant.models import Machine
from permits.work import actions as work
from permits.work.models import Permit
from permits.work.rules import commands as c
from permits.work.rules.refusal import Unmet, refuse_if


@dataclass(frozen=True, slots=True, kw_only=True)
class Who:
    """Who acts, when, and the request's key: the same for every action."""

    by: Author
    at: datetime
    key: UUID | None = None

    @property
    def ref(self) -> str:
        return self.by.ref.removeprefix("person:")


@contextmanager
def writing_for(site: Site, who: Who) -> Iterator[Pen]:
    with writing(site.head_id, by=who.by, at=who.at, key=who.key) as pen:
        yield pen


# ── axes and instruments: the officer's ─────────────────────────────────────────────────────────────────


def save_axis(*, machine: Machine, code: str, name: str, order: int, tolerance: Measure, who: Who) -> None:
    """Add an axis, or change the one with this code."""
    with suppress(AlreadyDone), writing_for(machine.site, who) as pen:
        rows.Axis.objects.update_or_create(
            machine=machine,
            code=code,
            removed_at=None,
            defaults={
                "name": name, "order": order, "unit": tolerance.unit.value, "tolerance": recorded(tolerance),
            },
        )  # fmt: skip
        data = {"axis": code, "name": name, "order": order, "tolerance": recorded(tolerance)}
        pen.write(Fact.AXIS_SAVED, machine.about, data)


def save_instrument(
    *,
    site: Site,
    number: str,
    name: str,
    expanded_uncertainty: Measure,
    coverage_factor: Decimal,
    resolution: Measure,
    due_on: date,
    who: Who,
) -> None:
    """Add an instrument, or enter its new certificate."""
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        rows.Instrument.objects.update_or_create(
            site=site,
            number=number,
            removed_at=None,
            defaults={
                "name": name,
                "unit": expanded_uncertainty.unit.value,
                "expanded_uncertainty": recorded(expanded_uncertainty),
                "coverage_factor": coverage_factor,
                "resolution": recorded(resolution),
                "due_on": due_on,
            },
        )
        data = {
            "name": name,
            "expanded_uncertainty": recorded(expanded_uncertainty),
            "coverage_factor": format(coverage_factor, "f"),
            "resolution": recorded(resolution),
            "due_on": due_on.isoformat(),
        }
        pen.write(Fact.INSTRUMENT_SAVED, f"instrument:{number}", data)


# ── the job ─────────────────────────────────────────────────────────────────────────────────────────────


def open_job(
    *,
    site: Site,
    permit: Permit,
    machine: Machine,
    settings_before: str,
    reference_board: str,
    test_piece: str,
    who: Who,
) -> None:
    """Open a job under a sanction. Raises Refused, as every action here does."""
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        command = c.OpenJob(permit=permit.reference, by=who.ref, at=who.at, machine=machine.code)
        opened = work.apply(pen, site, command)
        number = rows.Job.objects.filter(permit=permit).count() + 1
        assert any(getattr(event, "job", None) == number for event in opened)
        rows.Job.objects.create(
            permit=permit,
            number=number,
            machine=machine,
            settings_before=settings_before,
            reference_board=reference_board,
            test_piece=test_piece,
            opened_by=who.ref,
            opened_at=pen.at,
        )
        data = {
            "job": number,
            "machine": machine.code,
            "settings_before": settings_before,
            "reference_board": reference_board,
            "test_piece": test_piece,
        }
        pen.write(Fact.JOB_DESCRIBED, permit.about, data)


def open_axis(*, site: Site, job: rows.Job, axis: rows.Axis, instrument: rows.Instrument, who: Who) -> None:
    """Begin work on an axis with one instrument."""
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        work.apply(pen, site, c.AskJob(permit=job.permit.reference, by=who.ref, at=who.at, job=job.number))
        refuse_if(
            [
                *rules.against_opening_axis(works_of(job)),
                *out_of_date(site, instrument, pen.at),
                *misfit(axis, instrument),
            ]
        )
        rows.AxisWork.objects.create(
            job=job, axis=axis, instrument=instrument, state=rules.AxisState.OPEN.value, opened_at=pen.at
        )
        data = {
            "job": job.number,
            "axis": axis.code,
            "name": axis.name,
            "tolerance": axis.tolerance,
            "instrument": instrument.number,
            "expanded_uncertainty": instrument.expanded_uncertainty,
            "coverage_factor": format(instrument.coverage_factor, "f"),
            "resolution": instrument.resolution,
        }
        pen.write(Fact.AXIS_OPENED, job.permit.about, data)


def out_of_date(site: Site, instrument: rows.Instrument, at: datetime) -> Iterator[Unmet]:
    if instrument.due_on < site.day_of(at):
        yield Unmet(
            "instrument-overdue",
            f"{instrument} was due for calibration on {instrument.due_on:%d %B %Y}.",
            "Take an instrument that is in date.",
        )


def misfit(axis: rows.Axis, instrument: rows.Instrument) -> Iterator[Unmet]:
    if axis.unit != instrument.unit:
        yield Unmet(
            "wrong-unit",
            f"{instrument} reads {instrument.unit}; {axis.name} is judged in {axis.unit}.",
            f"Take an instrument that reads {axis.unit}.",
        )


def read_piece(*, site: Site, row: rows.AxisWork, nominal: Measure, measured: Measure, who: Who) -> None:
    """One reading on one test piece, under power; as found until something is corrected."""
    job = row.job
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        work.apply(
            pen, site, c.TakeReading(permit=job.permit.reference, by=who.ref, at=who.at, job=job.number)
        )
        now = fresh(row)
        refuse_if(rules.against_piece(now, nominal, measured))
        piece = rows.Piece.objects.create(
            work=row,
            n=row.pieces.count() + 1,
            stage=now.stage.value,
            corrections=now.corrections,
            nominal=recorded(nominal),
            measured=recorded(measured),
            by=who.ref,
            at=pen.at,
        )
        data = {
            "job": job.number, "axis": row.axis.code, "piece": piece.n, "stage": piece.stage,
            "nominal": piece.nominal, "measured": piece.measured,
        }  # fmt: skip
        pen.write(Fact.PIECE_READ, job.permit.about, data)


def correct(
    *,
    site: Site,
    row: rows.AxisWork,
    parameter: rules.Parameter,
    old: Measure,
    new: Measure,
    reason: str,
    who: Who,
) -> None:
    """A changed parameter. Against what the readings say it needs a reason, and is an exception."""
    job = row.job
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        now = fresh(row)
        refuse_if(rules.against_correction(now, old, new, reason))
        command = c.CorrectAxis(
            permit=job.permit.reference, by=who.ref, at=who.at, job=job.number, axis=row.axis.code
        )
        work.apply(pen, site, command)
        override = reason.strip() if rules.is_override(now) else ""
        row.corrections += 1
        row.save(update_fields=["corrections"])
        made = rows.Correction.objects.create(
            work=row, n=row.corrections, parameter=parameter.value, old=recorded(old), new=recorded(new),
            override=override, by=who.ref, at=pen.at,
        )  # fmt: skip
        found = now.assessed(now.stage)
        data = {
            "job": job.number, "axis": row.axis.code, "parameter": made.parameter, "old": made.old, "new": made.new,
            "override": override, "decision": found.decision.value if found else "",
            "grounds": words_of(found) if found else "",
        }  # fmt: skip
        pen.write(Fact.CORRECTION_ENTERED, job.permit.about, data)


def judge(*, site: Site, row: rows.AxisWork, who: Who) -> None:
    """The as-left check of the last correction; its decision is recorded whatever it is."""
    job = row.job
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        now = fresh(row)
        refuse_if(rules.against_judging(now))
        command = c.ProveAxis(
            permit=job.permit.reference, by=who.ref, at=who.at, job=job.number, axis=row.axis.code
        )
        work.apply(pen, site, command)
        row.proven = row.corrections
        row.save(update_fields=["proven"])
        left = now.assessed(rules.Stage.AS_LEFT)
        assert left is not None
        data = {
            "job": job.number, "axis": row.axis.code, "pieces": left.n, "decision": left.decision.value,
            "grounds": words_of(left), "worse": rules.went_worse(now),
        }  # fmt: skip
        pen.write(Fact.RESULT_JUDGED, job.permit.about, data)


def end_axis(*, site: Site, row: rows.AxisWork, abandon: bool, who: Who) -> None:
    """Close an axis, or abandon it: then another may open."""
    job = row.job
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        work.apply(pen, site, c.AskJob(permit=job.permit.reference, by=who.ref, at=who.at, job=job.number))
        now = fresh(row)
        refuse_if(rules.against_closing_axis(now, abandon=abandon))
        state = rules.AxisState.ABANDONED if abandon else rules.AxisState.CLOSED
        row.state, row.ended_at = state.value, pen.at
        row.save(update_fields=["state", "ended_at"])
        stage = now.stage
        found = now.assessed(stage)
        data = {
            "job": job.number, "axis": row.axis.code, "state": state.value, "corrections": row.corrections,
            "stage": stage.value, "decision": found.decision.value if found else "",
            "grounds": words_of(found) if found else "",
        }  # fmt: skip
        pen.write(Fact.AXIS_ENDED, job.permit.about, data)


def close_job(*, site: Site, job: rows.Job, settings_after: str, who: Who) -> None:
    """Close a job whose axes have ended and whose corrections are checked; the settings are saved again."""
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        refuse_if(rules.against_opening_axis(works_of(job)))
        work.apply(pen, site, c.CloseJob(permit=job.permit.reference, by=who.ref, at=who.at, job=job.number))
        job.settings_after, job.closed_at = settings_after, pen.at
        job.save(update_fields=["settings_after", "closed_at"])
        pen.write(
            Fact.SETTINGS_SAVED, job.permit.about, {"job": job.number, "settings_after": settings_after}
        )


def fresh(row: rows.AxisWork) -> rules.AxisWork:
    """The work as the rows say it under the pen, not as a page read it before."""
    row.refresh_from_db()
    return work_of(
        rows.AxisWork.objects.select_related("axis", "instrument").prefetch_related("pieces").get(pk=row.pk)
    )
