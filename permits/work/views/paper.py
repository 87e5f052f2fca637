"""The printed form that carries on when the server is down: of a permit, or for one that begins on paper."""

from __future__ import annotations

from django.conf import settings
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.timezone import now

from permits.people.access import SiteRequest, signed_in
from permits.plant import queries as plant
from permits.plant.models import Machine
from permits.work import queries
from permits.work.prints.form import paper_form
from permits.work.queries import paper
from permits.work.views.answering import get_only, look_or_404


@signed_in
@get_only
def of_permit(request: SiteRequest, reference: str) -> HttpResponse:
    """The permit's form as things stand now; none where the permit is over."""
    entry = queries.last_entry(request.site)
    seen = look_or_404(request, reference, now())
    if seen.permit.phase.is_over:
        return none(request, paper.over(seen), reverse("work:permit", args=[reference]), "Back to the permit")
    plates = paper.plates_of(request.site)
    form = paper.paper_form(seen, site_name=request.site.name, plates=plates, entry=entry)
    return as_pdf(form, reverse("work:permit", args=[reference]))


@signed_in
@get_only
def of_machine(request: SiteRequest, code: str) -> HttpResponse:
    """A blank form by the machine's approved procedure; none where there is none that holds."""
    at, entry = now(), queries.last_entry(request.site)
    try:
        machine = plant.machine_of(request.site, code)
    except Machine.DoesNotExist:
        raise Http404(f"There is no machine {code} at {request.site.name}.") from None
    found = plant.approved_procedure(machine)
    if found is None or not found.holds:
        back = reverse("plant:procedures", args=[code])
        reason = paper.no_procedure(machine.name, found.revision if found else 0)
        return none(request, reason, back, "To its procedures")
    form = paper.blank_form_of(request.site, queries.settled(request.site, at), found, at=at, entry=entry)
    return as_pdf(form, reverse("plant:machine", args=[code]))


def as_pdf(form: paper.PaperForm, leads_to: str) -> HttpResponse:
    pdf = paper_form(form, leads_to=settings.PUBLIC_URL + leads_to)
    answer = HttpResponse(pdf, content_type="application/pdf")
    answer["Content-Disposition"] = 'inline; filename="paper-form.pdf"'
    return answer


def none(request: SiteRequest, reason: dict[str, str], back: str, back_text: str) -> HttpResponse:
    """Why there is no form, and the way on."""
    refusal = {"asked": "print a paper form", "unmet": [reason]}
    context = {"refusal": refusal, "back_url": back, "back_text": back_text}
    return render(request, "work/no_paper_form.html", context, status=409)
