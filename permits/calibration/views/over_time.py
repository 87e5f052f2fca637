"""An axis over time: charts with their limits, what they say, every visit; earlier results from paper."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import now

from permits.calibration import actions, charts, forms, queries
from permits.calibration.rules.lengths import Unit
from permits.calibration.views.answering import READERS, answer, axis_or_404, posted, who
from permits.people.access import Role, SiteRequest, allow
from permits.work.views.answering import get_only, get_or_post


@allow(*READERS)
@get_only
def axis(request: SiteRequest, machine: str, axis: int) -> HttpResponse:
    """As found and as left, drift, needless adjustments, and every visit in a table."""
    row = axis_or_404(request, machine, axis)
    page = queries.history(row, today=request.site.day_of(now()))
    context = {
        "axis": page,
        "line": queries.axis_line(row, queries.policy_of(request.site)),
        "figures": charts.figures(page),
        "signals": [
            f"{series.stage.capitalize()}: {told.words}"
            for series in (page.found, page.left)
            for told in series.signals
        ],
        "officer": Role.OFFICER in request.roles,
    }
    return render(request, "calibration/axis.html", context)


@allow(Role.OFFICER)
@get_or_post
def earlier(request: SiteRequest, machine: str, axis: int) -> HttpResponse:
    """Enter a result from before this record was kept."""
    row = axis_or_404(request, machine, axis)
    form = forms.EarlierForm(posted(request), unit=Unit(row.unit))

    def act() -> None:
        read = form.cleaned_data
        actions.enter_earlier(
            axis=row,
            on=read["on"],
            as_found=read["as_found"],
            as_left=read["as_left"],
            source=read["source"],
            who=who(request, form),
        )

    return answer(
        request,
        form,
        act,
        template="calibration/describe.html",
        context={
            "title": f"Enter an earlier result of {row.name}",
            "say": "From before this record was kept: what the axis was found at and left at.",
            "machine": row.machine,
            "button": "Save the result",
        },
        to=lambda: redirect("calibration:axis", row.machine.code, row.pk),
        done="The earlier result is saved.",
        asked="enter an earlier result",
    )
