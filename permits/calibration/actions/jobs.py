"""A calibration job as a whole: opened under a sanction, pre-checked, closed when all in it is done."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from typing import Any

from permits.calibration import models as rows
from permits.calibration.actions.on_axis import begin_axis
from permits.calibration.actions.who import Who, writing_for
from permits.calibration.rules import prechecks
from permits.calibration.rules.against import against_opening_axis
from permits.calibration.rules.axes import Ranking
from permits.calibration.rules.copies import Copy, against_copy_after
from permits.calibration.rules.facts import Fact
from permits.calibration.rules.job import AxisState
from permits.calibration.rules.lengths import Measure, recorded
from permits.calibration.rules.ranking_answers import reason
from permits.calibration.store import live_axes, measured_in, works_of
from permits.ledger.pen import AlreadyDone
from permits.people.models import Site
from permits.plant.models import Machine
from permits.work import actions as work
from permits.work.models import Permit
from permits.work.rules import commands as c
from permits.work.rules.refusal import refuse_if


def open_job(
    *,
    site: Site,
    permit: Permit,
    machine: Machine,
    settings_before: Copy | str,
    reference_board: str,
    test_piece: str,
    first: tuple[rows.Axis, rows.Instrument] | None = None,
    who: Who,
) -> None:
    """Open a job under a sanction. Raises Refused, as every action here does.

    `first`: the axis that opens with it, and what it is read with.
    """
    before = Copy(settings_before) if isinstance(settings_before, str) else settings_before
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        command = c.OpenJob(permit=permit.reference, by=who.ref, at=who.at, machine=machine.code)
        opened = work.apply(pen, site, command, seen=who.seen)
        number = rows.Job.objects.filter(permit=permit).count() + 1
        assert any(getattr(event, "job", None) == number for event in opened)
        job = rows.Job.objects.create(
            permit=permit,
            number=number,
            machine=machine,
            settings_before=before.reference,
            settings_before_sha256=before.sha256,
            settings_before_size=before.size,
            reference_board=reference_board,
            test_piece=test_piece,
            opened_by=who.ref,
            opened_at=pen.at,
        )
        data = {
            "job": number,
            "machine": machine.code,
            "settings_before": before.words,
            "settings_before_file": before.data,
            "reference_board": reference_board,
            "test_piece": test_piece,
        }
        pen.write(Fact.JOB_DESCRIBED, permit.about, data)
        if first is not None:
            asked = c.AskJob(permit=permit.reference, by=who.ref, at=who.at, job=number)
            work.apply(pen, site, asked)
            begin_axis(pen, site, job, *first)


def pre_check(
    *,
    site: Site,
    job: rows.Job,
    measured: Sequence[tuple[rows.Feature, Measure, Measure]],
    instrument: rows.Instrument | None = None,
    who: Who,
) -> None:
    """What the features of first pieces say, under power, before an axis is opened: (feature, deviation, its
    standard uncertainty), each kept with what the feature depended on when it was asked.

    `instrument`: where they name one axis, it is opened to be read with this.
    """
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        asked = c.TakeReading(permit=job.permit.reference, by=who.ref, at=who.at, job=job.number)
        work.apply(pen, site, asked, seen=who.seen)
        axes = live_axes(job.machine)
        row = rows.PreCheck(
            job=job,
            n=job.pre_checks.count() + 1,
            axes=[{"axis": axis.code, "name": axis.name} for axis in axes],
            features=[
                {
                    "feature": feature.name,
                    "deviation": recorded(deviation),
                    "standard_uncertainty": recorded(uncertainty),
                    "depends": dict(feature.depends),
                }
                for feature, deviation, uncertainty in measured
            ],
            by=who.ref,
            at=pen.at,
        )
        values = measured_in(row)
        now_open = [one.name for one in works_of(job) if one.state is AxisState.OPEN]
        refuse_if(prechecks.against_pre_check(now_open, values))
        row.save()
        ranking = prechecks.ranked(values, [axis.name for axis in axes])
        codes = {axis.name: axis.code for axis in axes}
        data = {"job": job.number, "features": row.features, "axes": row.axes, **verdict(ranking, codes)}
        pen.write(Fact.PRE_CHECKED, job.permit.about, data)
        named = next((axis for axis in axes if axis.name == ranking.verdict), None)
        if instrument is not None and named is not None:
            work.apply(pen, site, c.AskJob(permit=asked.permit, by=who.ref, at=who.at, job=job.number))
            begin_axis(pen, site, job, named, instrument)


def verdict(ranking: Ranking, codes: Mapping[str, str]) -> dict[str, Any]:
    """A ranking for the ledger: figures as digits, axes by code."""
    fits = [
        {
            "axis": codes[fit.axis],
            "error": "" if fit.error is None else f"{float(fit.error):.6g}",
            "standard_uncertainty": "" if fit.uncertainty is None else f"{float(fit.uncertainty):.6g}",
            "chi2": f"{float(fit.chi2):.6g}",
            "p": "" if fit.p is None else f"{fit.p:.6g}",
        }
        for fit in ranking.fits
    ]
    return {
        "ranked": fits,
        "verdict": codes.get(ranking.verdict, ranking.verdict),
        "pair": [codes[name] for name in ranking.pair.axes] if ranking.pair else [],
        "try_first": [codes[name] for name in ranking.try_first or ()],
        "grounds": reason(ranking),
    }


def close_job(*, site: Site, job: rows.Job, settings_after: Copy | str, who: Who) -> None:
    """Close a job whose axes have ended and whose corrections are checked; the settings are saved again."""
    after = Copy(settings_after) if isinstance(settings_after, str) else settings_after
    with suppress(AlreadyDone), writing_for(site, who) as pen:
        job.refresh_from_db()
        works = works_of(job)
        made = sum(one.corrections for one in works)
        refuse_if([*against_opening_axis(works), *against_copy_after(job.before, after, corrections=made)])
        command = c.CloseJob(permit=job.permit.reference, by=who.ref, at=who.at, job=job.number)
        work.apply(pen, site, command, seen=who.seen)
        job.settings_after, job.settings_after_sha256 = after.reference, after.sha256
        job.settings_after_size, job.closed_at = after.size, pen.at
        job.save(
            update_fields=["settings_after", "settings_after_sha256", "settings_after_size", "closed_at"]
        )
        data = {"job": job.number, "settings_after": after.words, "settings_after_file": after.data}
        pen.write(Fact.SETTINGS_SAVED, job.permit.about, data)
