"""The calibration job on the phone: opened, pre-checked, shown, closed. Work on its axes: on_axis.py."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import now

from permits.calibration import actions, forms, queries
from permits.calibration import models as rows
from permits.calibration.rules.lengths import Unit, exact_digits
from permits.calibration.views.answering import (
    READERS,
    answer,
    permit_row,
    posted,
    refused,
    sent_otherwise,
    who,
)
from permits.people.access import Role, SiteRequest, allow, signed_in
from permits.people.repeats import NotTaken, is_repeat
from permits.plant import queries as plant
from permits.work import queries as work
from permits.work.rules.refusal import Refused
from permits.work.views.answering import get_only, get_or_post, look_or_404

SIXTEENTHS = [exact_digits(Fraction(n, 16), Unit.INCH) for n in range(1, 16)]
"""The fraction keys, in lowest terms."""


def job_or_404(request: SiteRequest, reference: str) -> rows.Job:
    """The job that the form was about; where it does not say, the open one or the last one the permit had."""
    about = request.POST.get("job", "")
    number = int(about) if about.isdecimal() and len(about) < 6 else None
    job = queries.job_of(permit_row(request, reference), number)
    if job is None:
        raise Http404(f"No calibration job was opened on {reference}.")
    return job


@allow(Role.TECHNICIAN)
@get_or_post
def open_job(request: SiteRequest, reference: str) -> HttpResponse:
    seen = look_or_404(request, reference, now())
    codes = seen.site.machines_of(seen.permit.zones)
    machines = [m for m in plant.machines(request.site) if m.code in codes]
    owing, owes = queries.owing_axis(machines)
    form = forms.OpenJobForm(
        posted(request),
        request.FILES or None,
        machines=[(m.code, m.name) for m in machines],
        axes=[axis for machine in machines for axis in queries.axes_of(machine)],
        instruments=queries.instruments_in_use(request.site),
        initial=chosen(owing) | {"seen": seen.seen},
    )

    def act() -> None:
        axis = form.cleaned_data.get("axis")
        actions.open_job(
            site=request.site,
            permit=permit_row(request, reference),
            machine=plant.machine_of(request.site, form.cleaned_data["machine"]),
            settings_before=form.copy,
            reference_board=form.cleaned_data["reference_board"],
            test_piece=form.cleaned_data["test_piece"],
            first=(axis, form.cleaned_data["instrument"]) if axis else None,
            who=who(request, form),
        )

    return answer(
        request,
        form,
        act,
        template="calibration/open_job.html",
        context={"page": work.permit_page(seen, request.person.ref), "owes": owes},
        to=lambda: redirect("calibration:job", reference),
        done="The job is open.",
        asked="open a calibration job",
    )


@signed_in
@get_only
def job(request: SiteRequest, reference: str) -> HttpResponse:
    """The open job: the open axis with its readings, or the axes to choose from. A closed one only shows."""
    return show_job(request, reference)


def show_job(
    request: SiteRequest,
    reference: str,
    *,
    refusal: Refused | NotTaken | None = None,
    bound: dict[str, forms.OnPermitForm] | None = None,
) -> HttpResponse:
    """The page with its forms; the one that was posted comes back as typed."""
    seen = look_or_404(request, reference, now())
    page = queries.job_page(job_or_404(request, reference))
    if since := work.since(seen.site, refusal):
        for form in (bound or {}).values():
            form.shows(seen.seen)
    context = {
        "job": page,
        "page": work.permit_page(seen, request.person.ref),
        "forms": forms_of(request, page, seen.seen) | (bound or {}),
        "refusal": refusal,
        "since": since,
        "sixteenths": SIXTEENTHS,
        "step": step(page),
        "facts": facts(page),
        "readers": request.roles & set(READERS),
    }
    status = 409 if refusal else 422 if bound else 200
    return render(request, "calibration/job.html", context, status=status)


def forms_of(request: SiteRequest, page: queries.JobPage, seen: int) -> dict[str, Any]:
    """What may be asked now: about the open axis, or about the job. `seen`: the site's last entry."""
    if page.is_over:
        return {}
    about_job = {"job": page.row.number, "seen": seen}
    if page.open is None:
        return {
            "open_axis": open_axis_form(request, page, initial=about_job | preferred(page)),
            "close_job": forms.CloseJobForm(initial=about_job),
        }
    at, about = page.open, {"work": page.open.row.pk, "seen": seen}
    return {
        "piece": forms.PieceForm(
            unit=at.unit, unproven=at.unproven, initial=about | {"nominal": at.last_nominal}
        ),
        "correction": forms.CorrectionForm(
            unit=at.unit, limits=at.limits, justified=at.justified, initial=about
        ),
        "judge": forms.WorkForm(initial=about),
        "close_axis": forms.EndAxisForm(initial=about),
        "end_axis": forms.EndAxisForm(initial=about),
        "strike": forms.StrikeForm(pieces=strikable(at), initial=about),
    }


def step(page: queries.JobPage) -> str:
    """By how much a key moves a decimal reading: the smallest step that the instrument shows."""
    resolution = page.open.row.resolution.rpartition(" ")[0] if page.open else ""
    return resolution if any(digit in resolution for digit in "123456789") else "0.1"


def facts(page: queries.JobPage) -> list[tuple[str, str]]:
    row = page.row
    return [
        ("Settings before", row.before.words),
        ("Settings after", row.after.words),
        ("Reference board", row.reference_board),
        ("Test piece", row.test_piece),
    ]


def open_axis_form(
    request: SiteRequest, page: queries.JobPage, data: Any = None, initial: Any = None
) -> forms.OpenAxisForm:
    instruments = queries.instruments_in_use(request.site)
    return forms.OpenAxisForm(data, axes=page.axes, instruments=instruments, initial=initial)


def preferred(page: queries.JobPage) -> dict[str, Any]:
    """Chosen already: the axis that the pre-check names, else one that owes its check, else the first; an
    instrument that may read it."""
    wanted = page.pre_check.suggested if page.pre_check else ""
    named = [axis for axis in page.axes if axis.name == wanted]
    owing = [axis for axis in page.axes if axis.code in page.owed]
    return chosen(next(iter([*named, *owing, *page.axes]), None))


def chosen(axis: rows.Axis | None) -> dict[str, Any]:
    """What a form has chosen already: this axis, its machine, and an instrument that may read it."""
    if axis is None:
        return {}
    instrument = queries.instrument_for(axis, axis.machine.site)
    fitting = {"instrument": instrument.pk} if instrument else {}
    return {"machine": axis.machine.code, "axis": axis.pk} | fitting


def strikable(at: queries.WorkPage) -> list[tuple[int, str]]:
    """Pieces whose reading may be taken back, the last one first."""
    lines = {piece.n: piece for piece in at.pieces}
    return [
        (n, f"{n}: {lines[n].measured} of {lines[n].nominal}") for n in sorted(at.strikable, reverse=True)
    ]


@allow(Role.TECHNICIAN)
@get_or_post
def pre_check(request: SiteRequest, reference: str) -> HttpResponse:
    """Features of first pieces, before an axis is opened: which axis explains them?"""
    seen = look_or_404(request, reference, now())
    page = queries.job_page(job_or_404(request, reference))
    about = {"job": page.row.number, "seen": seen.seen}
    form = forms.PreCheckForm(
        posted(request),
        features=page.features,
        instruments=queries.instruments_in_use(request.site),
        initial=about,
    )

    def act() -> None:
        actions.pre_check(
            site=request.site,
            job=page.row,
            measured=form.cleaned_data["measured"],
            instrument=form.cleaned_data["instrument"],
            who=who(request, form),
        )

    return answer(
        request,
        form,
        act,
        template="calibration/pre_check.html",
        context={"page": work.permit_page(seen, request.person.ref), "job": page},
        to=lambda: redirect("calibration:job", reference),
        done="The pre-check is recorded.",
        asked="record a pre-check",
    )


@allow(Role.TECHNICIAN)
@get_or_post
def close_job(request: SiteRequest, reference: str) -> HttpResponse:
    """Its form is on the job's page; asked for by itself, that page comes."""
    found, asked = job_or_404(request, reference), "close the job"
    if request.method != "POST":
        return redirect("calibration:job", reference)
    if is_repeat(request):
        return redirect("work:permit", reference)
    form = forms.CloseJobForm(request.POST, request.FILES or None)
    if other := sent_otherwise(request, form, asked):
        return show_job(request, reference, refusal=other, bound={"close_job": form})
    if not form.is_valid():
        return show_job(request, reference, bound={"close_job": form})

    def act() -> None:
        actions.close_job(site=request.site, job=found, settings_after=form.copy, who=who(request, form))

    if refusal := refused(request, form, act, asked):
        return show_job(request, reference, refusal=refusal, bound={"close_job": form})
    messages.success(request, "The job is closed.")
    return redirect("work:permit", reference)
