"""The calibration job on the phone: one axis at a time, the decision after each piece."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import now
from django.views.decorators.http import require_POST

from permits.calibration import actions, forms, queries
from permits.calibration import models as rows
from permits.calibration.actions import Who
from permits.calibration.rules.job import Parameter
from permits.people.access import Role, SiteRequest, allow, signed_in
from permits.plant import queries as plant
from permits.work import queries as work
from permits.work.models import Permit
from permits.work.rules.refusal import Refused
from permits.work.views.answering import get_only, get_or_post, look_or_404


def permit_row(request: SiteRequest, reference: str) -> Permit:
    found = Permit.objects.filter(site=request.site, reference=reference).first()
    if found is None:
        raise Http404(f"There is no permit {reference} at {request.site.name}.")
    return found


def job_or_404(request: SiteRequest, reference: str) -> rows.Job:
    job = queries.open_job(permit_row(request, reference))
    if job is None:
        raise Http404(f"No calibration job is open on {reference}.")
    return job


def axis_work_or_404(request: SiteRequest, reference: str) -> rows.AxisWork:
    page = queries.job_page(job_or_404(request, reference))
    if page.open is None:
        raise Http404(f"No axis is open in the job of {reference}.")
    return page.open.row


def who(request: SiteRequest, form: forms.KeyedForm) -> Who:
    return Who(by=request.author, at=now(), key=form.cleaned_data["key"])


@allow(Role.TECHNICIAN)
@get_or_post
def open_job(request: SiteRequest, reference: str) -> HttpResponse:
    seen = look_or_404(request, reference, now())
    codes = seen.site.machines_of(seen.permit.zones)
    machines = [(m.code, m.name) for m in plant.machines(request.site) if m.code in codes]
    form = forms.OpenJobForm(request.POST or None, machines=machines)
    refusal = None
    if form.is_bound and form.is_valid():
        texts = {
            name: form.cleaned_data[name] for name in ("settings_before", "reference_board", "test_piece")
        }
        try:
            actions.open_job(
                site=request.site,
                permit=permit_row(request, reference),
                machine=plant.machine_of(request.site, form.cleaned_data["machine"]),
                who=who(request, form),
                **texts,
            )
        except Refused as refused:
            refusal, refused.asked = refused, "open a calibration job"
        else:
            messages.success(request, "The job is open.")
            return redirect("calibration:job", reference)
    page = work.permit_page(seen, request.person.ref)
    context = {"form": form, "page": page, "refusal": refusal}
    return render(request, "calibration/open_job.html", context, status=status_of(form, refusal))


def status_of(form: forms.KeyedForm, refusal: Refused | None) -> int:
    return 409 if refusal else 422 if form.is_bound else 200


@signed_in
@get_only
def job(request: SiteRequest, reference: str) -> HttpResponse:
    """The open job: the open axis with its readings, or the axes to choose from."""
    return job_page(request, reference)


def job_page(
    request: SiteRequest, reference: str, *, refusal: Refused | None = None, **bound: forms.KeyedForm
) -> HttpResponse:
    """The page with its forms; the one that was posted comes back as typed."""
    seen = look_or_404(request, reference, now())
    page = queries.job_page(job_or_404(request, reference))
    shown: dict[str, Any] = {"close_job": forms.CloseJobForm()}
    if page.open is not None:
        nominal = {"nominal": page.open.last_nominal}
        shown |= {
            "piece": forms.PieceForm(unit=page.open.unit, initial=nominal),
            "correction": forms.CorrectionForm(unit=page.open.unit),
            "judge": forms.JustKeyForm(),
            "end_axis": forms.EndAxisForm(),
        }
    else:
        shown["open_axis"] = open_axis_form(request, page)
    context = {
        "job": page,
        "page": work.permit_page(seen, request.person.ref),
        "forms": shown | bound,
        "refusal": refusal,
    }
    status = 409 if refusal else 422 if bound else 200
    return render(request, "calibration/job.html", context, status=status)


def open_axis_form(request: SiteRequest, page: queries.JobPage, data: Any = None) -> forms.OpenAxisForm:
    axes = rows.Axis.objects.filter(machine=page.row.machine, removed_at=None).order_by("order", "code")
    instruments = rows.Instrument.objects.filter(site=request.site, removed_at=None).order_by("number")
    return forms.OpenAxisForm(data, axes=axes, instruments=instruments)


def posted(
    request: SiteRequest,
    reference: str,
    name: str,
    form: forms.KeyedForm,
    act: Callable[[], None],
    asked: str,
) -> HttpResponse:
    """Carry out one act of the job, or show its page again with what is missing."""
    if not form.is_valid():
        return job_page(request, reference, **{name: form})
    try:
        act()
    except Refused as refused:
        refused.asked = asked
        return job_page(request, reference, refusal=refused, **{name: form})
    return redirect("calibration:job", reference)


@allow(Role.TECHNICIAN)
@require_POST
def open_axis(request: SiteRequest, reference: str) -> HttpResponse:
    page = queries.job_page(job_or_404(request, reference))
    form = open_axis_form(request, page, request.POST)

    def act() -> None:
        actions.open_axis(
            site=request.site,
            job=page.row,
            axis=form.cleaned_data["axis"],
            instrument=form.cleaned_data["instrument"],
            who=who(request, form),
        )

    return posted(request, reference, "open_axis", form, act, "open an axis")


@allow(Role.TECHNICIAN)
@require_POST
def read_piece(request: SiteRequest, reference: str) -> HttpResponse:
    row = axis_work_or_404(request, reference)
    form = forms.PieceForm(request.POST, unit=queries.work_page(row).unit)

    def act() -> None:
        actions.read_piece(
            site=request.site,
            row=row,
            nominal=form.cleaned_data["nominal"],
            measured=form.cleaned_data["measured"],
            who=who(request, form),
        )

    return posted(request, reference, "piece", form, act, "read a test piece")


@allow(Role.TECHNICIAN)
@require_POST
def correct(request: SiteRequest, reference: str) -> HttpResponse:
    row = axis_work_or_404(request, reference)
    form = forms.CorrectionForm(request.POST, unit=queries.work_page(row).unit)

    def act() -> None:
        actions.correct(
            site=request.site,
            row=row,
            parameter=Parameter(form.cleaned_data["parameter"]),
            old=form.cleaned_data["old"],
            new=form.cleaned_data["new"],
            reason=form.cleaned_data["reason"],
            who=who(request, form),
        )

    return posted(request, reference, "correction", form, act, "correct this axis")


@allow(Role.TECHNICIAN)
@require_POST
def judge(request: SiteRequest, reference: str) -> HttpResponse:
    row = axis_work_or_404(request, reference)
    form = forms.JustKeyForm(request.POST)
    return posted(
        request,
        reference,
        "judge",
        form,
        lambda: actions.judge(site=request.site, row=row, who=who(request, form)),
        "judge the result",
    )


@allow(Role.TECHNICIAN)
@require_POST
def end_axis(request: SiteRequest, reference: str) -> HttpResponse:
    row = axis_work_or_404(request, reference)
    form = forms.EndAxisForm(request.POST)

    def act() -> None:
        abandon = form.cleaned_data["how"] == "abandon"
        actions.end_axis(site=request.site, row=row, abandon=abandon, who=who(request, form))

    return posted(request, reference, "end_axis", form, act, "end this axis")


@allow(Role.TECHNICIAN)
@require_POST
def close_job(request: SiteRequest, reference: str) -> HttpResponse:
    found = job_or_404(request, reference)
    form = forms.CloseJobForm(request.POST)
    if form.is_valid():
        try:
            actions.close_job(
                site=request.site,
                job=found,
                settings_after=form.cleaned_data["settings_after"],
                who=who(request, form),
            )
        except Refused as refused:
            refused.asked = "close the job"
            return job_page(request, reference, refusal=refused, close_job=form)
        messages.success(request, "The job is closed.")
        return redirect("work:permit", reference)
    return job_page(request, reference, close_job=form)
