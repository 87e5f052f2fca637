"""The placard of a machine as a PDF, or the page that says why there is none."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.timezone import now
from django.views.decorators.http import require_safe

from permits.people.access import SiteRequest, signed_in
from permits.plant.models import Machine
from permits.plant.pages.placard import NoPlacard, placard_of
from permits.plant.prints.page import Paper
from permits.plant.prints.placard import placard as as_pdf
from permits.plant.rules.codes import CodeError
from permits.plant.views.answering import Refusal, machine_or_404


@signed_in
@require_safe
def placard(request: SiteRequest, code: str) -> HttpResponse:
    """The approved procedure, to hang at the machine: `paper` A4 or Letter. Never one that does not hold."""
    machine = machine_or_404(request, code)
    wanted = request.GET.get("paper", Paper.A4.value)
    if wanted not in tuple(Paper):
        what = f"There is no paper {wanted[:20]!r}; right would be {' or '.join(Paper)}."
        return refused(request, machine, [{"what": what}])
    try:
        shown = placard_of(
            request.site,
            machine,
            public_url=settings.PUBLIC_URL,
            address_of=lambda revision: reverse("plant:procedure", args=[machine.code, revision]),
        )
    except NoPlacard as none:
        return refused(request, machine, none.reasons)
    except CodeError as error:
        return refused(request, machine, [{"what": str(error)}])
    pdf = as_pdf(shown, paper=Paper(wanted), printed_at=now().astimezone(request.site.zone))
    answer = HttpResponse(pdf, content_type="application/pdf")
    answer["Content-Disposition"] = 'inline; filename="placard.pdf"'
    return answer


def refused(request: SiteRequest, machine: Machine, reasons: list[dict[str, object]]) -> HttpResponse:
    refusal = Refusal("print the placard", tuple(reasons))
    context = {"machine": machine, "refusal": refusal}
    return render(request, "plant/placard_refused.html", context, status=409)
