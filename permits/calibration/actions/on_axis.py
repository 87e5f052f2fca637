"""The work on one axis of a job: opened with an instrument, read, corrected, judged, ended."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from datetime import date

from permits.calibration import models as rows
from permits.calibration.actions.who import Who, writing_for
from permits.calibration.rules import against, instruments, owing
from permits.calibration.rules import job as rules
from permits.calibration.rules.deciding import Assessment
from permits.calibration.rules.facts import Fact
from permits.calibration.rules.lengths import Measure, Unit, recorded
from permits.calibration.rules.parameters import Change, Parameter, Setting, setting_recorded
from permits.calibration.rules.reasons import reason as words_of
from permits.calibration.store import is_overdue, on_hand, owed_by, policy_of, whole, work_of, works_of
from permits.ledger.pen import AlreadyDone, Pen
from permits.people.models import Site
from permits.work import actions as work
from permits.work.rules import commands as c
from permits.work.rules.refusal import refuse_if


def open_axis(*, site: Site, job: rows.Job, axis: rows.Axis, instrument: rows.Instrument, who: Who) -> None:
    """Begin work on an axis with one instrument; certificate and tolerance are kept as they are now."""
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        command = c.AskJob(permit=job.permit.reference, by=who.ref, at=who.at, job=job.number)
        work.apply(pen, site, command, seen=who.seen)
        begin_axis(pen, site, job, axis, instrument)


def begin_axis(
    pen: Pen, site: Site, job: rows.Job, axis: rows.Axis, instrument: rows.Instrument
) -> None:
    """Open the axis in an action that holds the pen and has asked the permit."""
    day = site.day_of(pen.at)
    axis.refresh_from_db()
    instrument.refresh_from_db()
    refuse_if(
        [
            *against.against_opening_axis(works_of(job)),
            *against.against_withdrawn(axis.name, withdrawn=axis.removed_at is not None),
            *instruments.against_instrument(
                on_hand(instrument),
                axis=axis.name,
                unit=Unit(axis.unit),
                allowed=tuple(axis.instruments.order_by("number").values_list("number", flat=True)),
                day=day,
                policy=policy_of(site),
            ),
        ]
    )
    made = rows.AxisWork.objects.create(
        job=job,
        axis=axis,
        instrument=instrument,
        tolerance=axis.tolerance,
        expanded_uncertainty=instrument.expanded_uncertainty,
        coverage_factor=instrument.coverage_factor,
        resolution=instrument.resolution,
        state=rules.AxisState.OPEN.value,
        owed_at_opening=owed_by(axis),
        opened_at=pen.at,
    )
    data = {
        "job": job.number,
        "axis": axis.code,
        "name": axis.name,
        "tolerance": made.tolerance,
        "instrument": instrument.number,
        "expanded_uncertainty": made.expanded_uncertainty,
        "coverage_factor": format(made.coverage_factor, "f"),
        "resolution": made.resolution,
        "overdue_since": overdue_since(instrument, day),
        "owed": made.owed_at_opening,
    }
    pen.write(Fact.AXIS_OPENED, job.permit.about, data)


def read_pieces(
    *,
    site: Site,
    row: rows.AxisWork,
    pieces: Sequence[tuple[Measure, Measure]],
    judging: bool = False,
    who: Who,
) -> None:
    """Readings of test pieces, (nominal, measured), under power; as found until something is corrected.

    Each has an entry of its own. With an instrument that is out of date they are refused or, by site policy,
    taken and marked as exceptions. `judging`: these are the last fresh pieces, so the correction is judged,
    unless they do not settle it.
    """
    job = row.job
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        asked = c.TakeReading(permit=job.permit.reference, by=who.ref, at=who.at, job=job.number)
        work.apply(pen, site, asked, seen=who.seen)
        now, day = fresh(row), site.day_of(pen.at)
        unmet = [one for sizes in pieces for one in against.against_piece(now, *sizes)]
        unmet += instruments.against_overdue(on_hand(row.instrument), day, policy_of(site))
        refuse_if(dict.fromkeys(unmet))  # what stands against two pieces alike is said once
        for nominal, measured in pieces:
            piece = rows.Piece.objects.create(
                work=row,
                n=row.pieces.count() + 1,
                stage=now.stage.value,
                corrections=now.corrections,
                nominal=recorded(nominal),
                measured=recorded(measured),
                overdue=is_overdue(row.instrument, day),
                by=who.ref,
                at=pen.at,
            )
            data = {
                "job": job.number, "axis": row.axis.code, "piece": piece.n, "stage": piece.stage,
                "nominal": piece.nominal, "measured": piece.measured,
                "overdue_since": overdue_since(row.instrument, day),
            }  # fmt: skip
            pen.write(Fact.PIECE_READ, job.permit.about, data)
        if judging and rules.is_settled(fresh(row)):
            judge_now(pen, site, row, who, seen=None)


def overdue_since(instrument: rows.Instrument, day: date) -> str:
    """The day its calibration was due, where that is past; "" for one in date."""
    return instrument.due_on.isoformat() if is_overdue(instrument, day) else ""


def strike_piece(*, site: Site, row: rows.AxisWork, n: int, why: str, who: Who) -> None:
    """Take back a reading that was entered wrong: it stays in the record and counts for nothing."""
    job = row.job
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        command = c.AskJob(permit=job.permit.reference, by=who.ref, at=who.at, job=job.number)
        work.apply(pen, site, command, seen=who.seen)
        refuse_if(against.against_striking(fresh(row), n, why))
        piece = row.pieces.get(n=n)
        piece.struck_at, piece.struck_why = pen.at, why.strip()
        piece.save(update_fields=["struck_at", "struck_why"])
        data = {
            "job": job.number, "axis": row.axis.code, "piece": n, "stage": piece.stage,
            "nominal": piece.nominal, "measured": piece.measured, "why": piece.struck_why,
        }  # fmt: skip
        pen.write(Fact.PIECE_STRUCK, job.permit.about, data)


def correct(
    *,
    site: Site,
    row: rows.AxisWork,
    parameter: Parameter,
    old: Setting,
    new: Setting,
    reason: str,
    who: Who,
) -> None:
    """A changed parameter, within its limits. Against the readings it needs a reason, and is an exception."""
    job, change = row.job, Change(parameter, old, new)
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        now = fresh(row)
        refuse_if(against.against_correction(now, change, reason))
        command = c.CorrectAxis(
            permit=job.permit.reference, by=who.ref, at=who.at, job=job.number, axis=row.axis.code
        )
        work.apply(pen, site, command, seen=who.seen)
        override = reason.strip() if rules.is_override(now, change) else ""
        row.corrections += 1
        row.save(update_fields=["corrections"])
        made = rows.Correction.objects.create(
            work=row, n=row.corrections, parameter=parameter.value, old=setting_recorded(old),
            new=setting_recorded(new), override=override, by=who.ref, at=pen.at,
        )  # fmt: skip
        found = now.assessed(now.stage)
        data = {
            "job": job.number, "axis": row.axis.code, "parameter": made.parameter, "old": made.old,
            "new": made.new, "override": override, "back": rules.goes_back(now, change),
            "decision": found.decision.value if found else "", "grounds": words_of(found) if found else "",
        }  # fmt: skip
        pen.write(Fact.CORRECTION_ENTERED, job.permit.about, data)


def judge(*, site: Site, row: rows.AxisWork, who: Who) -> None:
    """The as-left check of the last correction; its decision is recorded whatever it is."""
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        judge_now(pen, site, row, who, seen=who.seen)


def judge_now(pen: Pen, site: Site, row: rows.AxisWork, who: Who, *, seen: int | None) -> None:
    """Judge in an action that holds the pen; `seen` is None where it has asked the permit already."""
    now = fresh(row)
    refuse_if(against.against_judging(now))
    prove(pen, site, row, who, seen=seen, lifts=not owing.was_opened_before(now))
    row.proven = row.corrections
    row.save(update_fields=["proven"])
    left = now.assessed(rules.Stage.AS_LEFT)
    assert left is not None
    write_result(pen, row, left, worse=rules.went_worse(now))


def prove(
    pen: Pen, site: Site, row: rows.AxisWork, who: Who, *, seen: int | None, lifts: bool = True
) -> None:
    """Tell the permit that the axis has its as-left check; `lifts`: and that a machine out of use has it."""
    job = row.job
    command = c.ProveAxis(
        permit=job.permit.reference, by=who.ref, at=who.at, job=job.number, axis=row.axis.code, lifts=lifts
    )
    work.apply(pen, site, command, seen=seen)


def write_result(pen: Pen, row: rows.AxisWork, found: Assessment, *, worse: bool, owed: str = "") -> None:
    """What the pieces of an as-left check say. `owed`: since which permit, where they are those as found."""
    data = {
        "job": row.job.number, "axis": row.axis.code, "pieces": found.n, "decision": found.decision.value,
        "grounds": words_of(found), "worse": worse, "owed": owed,
    }  # fmt: skip
    pen.write(Fact.RESULT_JUDGED, row.job.permit.about, data)


def end_axis(*, site: Site, row: rows.AxisWork, abandon: bool, who: Who) -> None:
    """Close an axis, or abandon it: then another may open. Closed as it was found it may be proven by it."""
    job = row.job
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        command = c.AskJob(permit=job.permit.reference, by=who.ref, at=who.at, job=job.number)
        work.apply(pen, site, command, seen=who.seen)
        now = fresh(row)
        refuse_if(against.against_closing_axis(now, abandon=abandon))
        state = rules.AxisState.ABANDONED if abandon else rules.AxisState.CLOSED
        stage = now.stage
        found = now.assessed(stage)
        proven_as_found = not abandon and owing.proves_as_found(now)
        if proven_as_found and found is not None:
            prove(pen, site, row, who, seen=None)
            write_result(pen, row, found, worse=False, owed=now.owed)
        row.state, row.ended_at, row.proven_as_found = state.value, pen.at, proven_as_found
        row.save(update_fields=["state", "ended_at", "proven_as_found"])
        data = {
            "job": job.number, "axis": row.axis.code, "state": state.value, "corrections": row.corrections,
            "stage": stage.value, "decision": found.decision.value if found else "",
            "grounds": words_of(found) if found else "",
        }  # fmt: skip
        pen.write(Fact.AXIS_ENDED, job.permit.about, data)


def fresh(row: rows.AxisWork) -> rules.AxisWork:
    """The work as the rows say it under the pen, not as a page read it before."""
    row.refresh_from_db()
    return work_of(whole(rows.AxisWork.objects.all()).get(pk=row.pk))
