"""The work on one axis of a job: each form stands on the job's page, which comes again until it is right."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from permits.calibration import actions, forms, queries
from permits.calibration import models as rows
from permits.calibration.rules.parameters import Parameter
from permits.calibration.views.answering import permit_row, refused, sent_otherwise, who
from permits.calibration.views.jobs import job_or_404, open_axis_form, show_job, strikable
from permits.people.access import Role, SiteRequest, allow
from permits.people.repeats import is_repeat


def work_or_404(request: SiteRequest, reference: str) -> rows.AxisWork:
    """The axis that the form was about, open or over; where it does not say, the one that is open."""
    about = request.POST.get("work", "")
    found = rows.AxisWork.objects.filter(job__permit=permit_row(request, reference))
    wanted = found.filter(pk=about) if about.isdecimal() and len(about) < 18 else found.filter(ended_at=None)
    row = wanted.select_related("axis", "instrument", "job__permit").first()
    if row is None:
        raise Http404(f"No axis is open in the job of {reference}.")
    return row


def done(
    request: SiteRequest,
    reference: str,
    name: str,
    form: forms.OnPermitForm,
    act: Callable[[], None],
    asked: str,
    *,
    about: rows.AxisWork | None = None,
) -> HttpResponse:
    """Carry out one act of the job, or show its page again with what is missing.

    A form about an axis that is over is not shown again: the page's own forms are about the one that is open.
    """
    if is_repeat(request):
        return redirect("calibration:job", reference)
    is_over = about is not None and about.ended_at is not None
    shown = {} if is_over else {name: form}
    if other := sent_otherwise(request, form, asked):
        return show_job(request, reference, refusal=other, bound=shown)
    if not form.is_valid():
        return show_job(request, reference, bound={name: form})
    if refusal := refused(request, form, act, asked):
        return show_job(request, reference, refusal=refusal, bound=shown)
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

    return done(request, reference, "open_axis", form, act, "open an axis")


@allow(Role.TECHNICIAN)
@require_POST
def read_pieces(request: SiteRequest, reference: str) -> HttpResponse:
    row = work_or_404(request, reference)
    at = queries.work_page(row)
    form = forms.PieceForm(request.POST, unit=at.unit, unproven=at.unproven)

    def act() -> None:
        judging = form.cleaned_data.get("judging", False)
        actions.read_pieces(
            site=request.site,
            row=row,
            pieces=form.cleaned_data["pieces"],
            judging=judging,
            who=who(request, form),
        )
        row.refresh_from_db()
        if judging and row.proven < row.corrections:
            messages.info(request, "Recorded. They do not settle it yet: nothing is judged.")

    return done(request, reference, "piece", form, act, "read a test piece", about=row)


@allow(Role.TECHNICIAN)
@require_POST
def strike_piece(request: SiteRequest, reference: str) -> HttpResponse:
    row = work_or_404(request, reference)
    form = forms.StrikeForm(request.POST, pieces=strikable(queries.work_page(row)))

    def act() -> None:
        actions.strike_piece(
            site=request.site,
            row=row,
            n=form.cleaned_data["piece"],
            why=form.cleaned_data["why"],
            who=who(request, form),
        )

    return done(request, reference, "strike", form, act, "take a reading back", about=row)


@allow(Role.TECHNICIAN)
@require_POST
def correct(request: SiteRequest, reference: str) -> HttpResponse:
    row = work_or_404(request, reference)
    page = queries.work_page(row)
    form = forms.CorrectionForm(request.POST, unit=page.unit, limits=page.limits)

    def act() -> None:
        actions.correct(
            site=request.site,
            row=row,
            parameter=Parameter(form.cleaned_data["parameter"]),
            old=form.cleaned_data["old_read"],
            new=form.cleaned_data["new_read"],
            reason=form.cleaned_data["reason"],
            who=who(request, form),
        )

    return done(request, reference, "correction", form, act, "correct this axis", about=row)


@allow(Role.TECHNICIAN)
@require_POST
def judge(request: SiteRequest, reference: str) -> HttpResponse:
    row = work_or_404(request, reference)
    form = forms.WorkForm(request.POST)

    def act() -> None:
        actions.judge(site=request.site, row=row, who=who(request, form))

    return done(request, reference, "judge", form, act, "judge the result", about=row)


@allow(Role.TECHNICIAN)
@require_POST
def end_axis(request: SiteRequest, reference: str) -> HttpResponse:
    row = work_or_404(request, reference)
    form = forms.EndAxisForm(request.POST)

    def act() -> None:
        abandon = form.cleaned_data["how"] == "abandon"
        actions.end_axis(site=request.site, row=row, abandon=abandon, who=who(request, form))
        row.refresh_from_db()
        if row.proven_as_found:
            messages.success(request, f"{row.axis.name} is proven as it was found.")
        elif permit := queries.owed_by(row.axis):
            messages.info(request, f"{row.axis.name} still owes its as-left check, since {permit}.")

    return done(request, reference, "end_axis", form, act, "end this axis", about=row)
