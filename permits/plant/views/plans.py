"""Trying a plan before anyone needs it, and the report on what the plant's description says."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from permits.ledger.sent import Key
from permits.people.access import Role, SiteRequest, allow, signed_in
from permits.plant import actions, forms, queries
from permits.plant.pages.plans import Asked, keepable, pinnable, try_plan
from permits.plant.pages.report import report
from permits.plant.store import demands_of, graph_of, tag_out_of
from permits.plant.views.answering import Page, answer, get_or_post, machine_or_404, posted
from permits.plant.views.machines import is_officer


@allow(Role.OFFICER)
@require_safe
def try_out(request: SiteRequest, code: str) -> HttpResponse:
    """The plan for some zones (`zone`), and the next ones; first for all zones.

    Some nodes stay live (`keep`), some points are in every plan (`pin`), some in none (`forbid`).
    """
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
        points=pinnable(graph, code),
    )
    tried = None
    if form.is_bound and form.is_valid():
        given = form.cleaned_data
        what = Asked(given["zone"], given["keep"], given["pin"], given["forbid"])
        tried = try_plan(graph, machine, what, demands_of(request.site))
    elif not form.is_bound and zones:
        tried = try_plan(graph, machine, Asked(zones), demands_of(request.site))
    context = {"machine": machine, "form": form, "tried": tried, "zones": zones}
    status = 422 if form.is_bound and not form.is_valid() else 200
    return render(request, "plant/plan.html", context, status=status)


@allow(Role.OFFICER)
@get_or_post
def demands(request: SiteRequest) -> HttpResponse:
    """The grade of isolator that the site demands for each medium, and whether a tag may stand for a lock."""
    site = request.site
    form = forms.DemandsForm(posted(request), there=demands_of(site), tag_out=tag_out_of(site))

    def act(at: datetime, key: Key) -> object:
        tags = form.cleaned_data["tag_out"]
        return actions.save_demands(
            site=site, demands=form.demands(), tag_out=tags, by=request.author, at=at, key=key
        )

    here = reverse("plant:demands")
    say = (
        "An isolator of a lower grade than its energy demands, or without a stated grade, counts as unable "
        "to isolate. Every procedure and open permit is proven again when this is saved."
    )
    page = Page(
        "What counts as isolated", (reverse("plant:check"), "Check of the plant"), more={"say": say}
    )
    return answer(request, form, act, page, to=lambda: here, done="Saved.", asked="change the demands")


@signed_in
@require_safe
def check(request: SiteRequest) -> HttpResponse:
    found = report(request.site)
    return render(request, "plant/check.html", {"report": found, "officer": is_officer(request)})
