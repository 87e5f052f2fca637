"""Trying a plan before anyone needs it, and the report on what the plant's description says."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from permits.people.access import Role, SiteRequest, allow, signed_in
from permits.plant import forms, queries
from permits.plant.pages.plans import keepable, try_plan
from permits.plant.pages.report import report
from permits.plant.store import graph_of
from permits.plant.views.answering import machine_or_404
from permits.plant.views.machines import is_officer


@allow(Role.OFFICER)
@require_safe
def try_out(request: SiteRequest, code: str) -> HttpResponse:
    """The plan for some zones (`zone`) with some nodes kept live (`keep`); first for all zones."""
    machine = machine_or_404(request, code)
    graph = graph_of(request.site)
    zones = [zone.id for zone in graph.zones_of(code)]
    asked = "asked" in request.GET or "zone" in request.GET
    form = forms.PlanForm(
        request.GET if asked else None,
        graph=graph,
        machine=code,
        keepable=keepable(graph, code),
        names=dict(queries.machine_codes(request.site)),
    )
    tried = None
    if form.is_bound and form.is_valid():
        tried = try_plan(graph, machine, form.cleaned_data["zone"], form.cleaned_data["keep"])
    elif not form.is_bound and zones:
        tried = try_plan(graph, machine, zones, [])
    context = {"machine": machine, "form": form, "tried": tried, "zones": zones}
    status = 422 if form.is_bound and not form.is_valid() else 200
    return render(request, "plant/plan.html", context, status=status)


@signed_in
@require_safe
def check(request: SiteRequest) -> HttpResponse:
    found = report(request.site)
    return render(request, "plant/check.html", {"report": found, "officer": is_officer(request)})
