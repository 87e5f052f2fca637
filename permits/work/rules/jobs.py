"""Calibration jobs as the permit sees them: is one open, what waits for its as-left check."""

from __future__ import annotations

from collections.abc import Iterator

from . import commands as c
from . import events as e
from .against import has_expired, not_working_under, phase_is_not, the_permit
from .refusal import Unmet, refuse_if
from .state import Permit, Site
from .whom import job_of, page_of, sanctions, the_crew, the_holder
from .words import Job, Phase


def open_job(site: Site, ask: c.OpenJob) -> list[e.Event]:
    p = the_permit(site, ask.permit)

    def against() -> Iterator[Unmet]:
        yield from phase_is_not(site, p, Phase.ISOLATED, Phase.TESTING, asked="opening a calibration job")
        yield from not_working_under(site, ask.by, p)
        yield from has_expired(site, p, ask.at)
        if p.sanction is None:
            yield Unmet(
                "no-sanction",
                "A calibration job opens only under a sanction for test.",
                sanctions(site, p),
            )
        if ask.machine not in site.machines_of(p.zones):
            yield Unmet(
                "not-in-scope",
                f"{ask.machine} is not a machine of {p.id}.",
                "You choose a machine of the permit, on this page.",
            )
        for _, job in p.open_jobs:
            yield Unmet(
                "job-open",
                f"Job {job.number} is open already.",
                f"{the_crew(site, p)} closes it first, {job_of(p.id)}.",
            )

    refuse_if(against())
    return [e.JobOpened(permit=p.id, by=ask.by, at=ask.at, job=len(p.jobs) + 1, machine=ask.machine)]


def the_job(p: Permit, number: int) -> Job | None:
    return next((job for _, job in p.open_jobs if job.number == number), None)


def against_job(site: Site, p: Permit, by: str, number: int) -> Iterator[Unmet]:
    yield from not_working_under(site, by, p)
    if the_job(p, number) is None:
        yield Unmet(
            "job-not-open",
            f"Job {number} is not open on {p.id}.",
            f"{the_crew(site, p)} opens a job first, {page_of(p)}.",
        )


def not_under_power(site: Site, p: Permit) -> Iterator[Unmet]:
    """Test pieces run only in a cycle whose holder has signed ready."""
    if p.phase is not Phase.TESTING or p.sanction is None or p.sanction.ready_at is None:
        yield Unmet(
            "not-under-test",
            "Test pieces are run and read only in a test cycle, "
            "after the holder has signed ready to energise.",
            f"{the_holder(site, p)} begins a test cycle and signs ready, {page_of(p)}.",
        )


def ask_job(site: Site, ask: c.AskJob) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_job(site, p, ask.by, ask.job))
    return []


def take_reading(site: Site, ask: c.TakeReading) -> list[e.Event]:
    p = the_permit(site, ask.permit)

    def against() -> Iterator[Unmet]:
        yield from against_job(site, p, ask.by, ask.job)
        yield from not_under_power(site, p)

    refuse_if(against())
    return []


def correct_axis(site: Site, ask: c.CorrectAxis) -> list[e.Event]:
    """A changed parameter is entered in a test cycle; a change by hand in the machine, while isolated."""
    p = the_permit(site, ask.permit)

    def against() -> Iterator[Unmet]:
        yield from against_job(site, p, ask.by, ask.job)
        yield from phase_is_not(site, p, Phase.ISOLATED, Phase.TESTING, asked="correcting an axis")

    refuse_if(against())
    return [e.AxisCorrected(permit=p.id, by=ask.by, at=ask.at, job=ask.job, axis=ask.axis)]


def prove_axis(site: Site, ask: c.ProveAxis) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_job(site, p, ask.by, ask.job))
    return [
        e.AxisProven(permit=p.id, by=ask.by, at=ask.at, job=ask.job, axis=ask.axis, lifts=ask.lifts)
    ]


def close_job(site: Site, ask: c.CloseJob) -> list[e.Event]:
    p = the_permit(site, ask.permit)

    def against() -> Iterator[Unmet]:
        yield from against_job(site, p, ask.by, ask.job)
        job = the_job(p, ask.job)
        for axis in job.unproven if job else ():
            yield Unmet(
                "correction-unproven",
                f"The correction of {axis} has no as-left check.",
                f"{the_crew(site, p)} runs fresh pieces under power and reads them, {job_of(p.id)}.",
            )

    refuse_if(against())
    return [e.JobClosed(permit=p.id, by=ask.by, at=ask.at, job=ask.job)]
