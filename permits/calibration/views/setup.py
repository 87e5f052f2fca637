"""The officer's pages: a machine's axes, the site's instruments."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import now

from permits.calibration import actions, forms, queries
from permits.calibration.actions import Who
from permits.people.access import Role, SiteRequest, allow
from permits.plant import queries as plant
from permits.plant.models import Machine
from permits.work.views.answering import get_or_post


@allow(Role.OFFICER)
@get_or_post
def axes(request: SiteRequest, machine: str) -> HttpResponse:
    """The machine's axes in order; a form adds one, or changes the one with the same short name."""
    try:
        found = plant.machine_of(request.site, machine)
    except Machine.DoesNotExist:
        raise Http404(f"There is no machine {machine} at {request.site.name}.") from None
    form = forms.AxisForm(request.POST or None)
    if form.is_bound and form.is_valid():
        fields = {name: form.cleaned_data[name] for name in ("code", "name", "order", "tolerance")}
        who = Who(by=request.author, at=now(), key=form.cleaned_data["key"])
        actions.save_axis(machine=found, who=who, **fields)
        messages.success(request, f"{fields['name']} is saved.")
        return redirect("calibration:axes", machine)
    context = {"form": form, "machine": found, "axes": queries.axes_of(found)}
    return render(request, "calibration/axes.html", context, status=422 if form.is_bound else 200)


@allow(Role.OFFICER)
@get_or_post
def instruments(request: SiteRequest) -> HttpResponse:
    """The site's instruments; a form adds one, or enters the new certificate of the one with its number."""
    form = forms.InstrumentForm(request.POST or None)
    if form.is_bound and form.is_valid():
        fields = {
            name: form.cleaned_data[name]
            for name in ("number", "name", "expanded_uncertainty", "coverage_factor", "resolution", "due_on")
        }
        who = Who(by=request.author, at=now(), key=form.cleaned_data["key"])
        actions.save_instrument(site=request.site, who=who, **fields)
        messages.success(request, f"{fields['number']} is saved.")
        return redirect("calibration:instruments")
    today = request.site.day_of(now())
    context = {"form": form, "instruments": queries.instruments_of(request.site), "today": today}
    return render(request, "calibration/instruments.html", context, status=422 if form.is_bound else 200)
