"""What pieces are measured with: instruments, their certificates, taken out of use."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils.timezone import now

from permits.calibration import actions, forms, queries
from permits.calibration import models as rows
from permits.calibration.views.answering import answer, posted, take_out, who
from permits.people.access import Role, SiteRequest, allow
from permits.work.views.answering import get_or_post


@allow(Role.OFFICER)
@get_or_post
def instruments(request: SiteRequest) -> HttpResponse:
    """The site's instruments; a form adds one, or enters the new certificate of the one with its number."""
    form = forms.InstrumentForm(posted(request), initial=chosen(request, request.GET.get("number", "")))

    def act() -> None:
        read = form.cleaned_data
        actions.save_instrument(
            site=request.site,
            number=read["number"],
            name=read["name"],
            expanded_uncertainty=read["expanded_uncertainty_read"],
            coverage_factor=read["coverage_factor"],
            resolution=read["resolution_read"],
            due_on=read["due_on"],
            who=who(request, form),
        )

    lines = queries.instrument_lines(request.site, request.site.day_of(now()))
    return answer(
        request,
        form,
        act,
        template="calibration/instruments.html",
        context={"instruments": lines, "policy": queries.policy_of(request.site)},
        to=lambda: redirect("calibration:instruments"),
        done="The instrument is saved.",
        asked="save the instrument",
    )


def chosen(request: SiteRequest, number: str) -> dict[str, Any]:
    """An instrument that is there, for its new certificate; nothing where none was chosen."""
    row = next((one for one in queries.instruments_of(request.site) if one.number == number), None)
    if row is None:
        return {}
    texts = {name: getattr(row, name).rpartition(" ")[0] for name in ("expanded_uncertainty", "resolution")}
    return {
        "number": number,
        "name": row.name,
        "unit": row.unit,
        "coverage_factor": row.coverage_factor,
        **texts,
    }


@allow(Role.OFFICER)
@get_or_post
def remove_instrument(request: SiteRequest, instrument: int) -> HttpResponse:
    row = rows.Instrument.objects.filter(site=request.site, pk=instrument).select_related("site").first()
    if row is None:
        raise Http404(f"{request.site.name} has no such instrument.")
    return take_out(
        request,
        lambda by: actions.remove_instrument(instrument=row, who=by),
        title=f"Take {row} out of use",
        say="It can be taken up in no job any more. What was read with it stays as it was.",
        to="calibration:instruments",
        args=[],
        done=f"{row} is out of use.",
    )
