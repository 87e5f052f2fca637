"""Where calibration begins: the site's machines and their axes, and how the site measures."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import now

from permits.calibration import actions, forms, queries
from permits.calibration.views.answering import (
    READERS,
    answer,
    axis_or_404,
    machine_or_404,
    posted,
    take_out,
    who,
)
from permits.people.access import Role, SiteRequest, allow
from permits.work.views.answering import get_only, get_or_post


@allow(*READERS)
@get_only
def home(request: SiteRequest) -> HttpResponse:
    """Machines with their axes, instruments, how the site measures."""
    context = {
        "machines": queries.machines_with_axes(request.site),
        "instruments": queries.instrument_lines(request.site, request.site.day_of(now())),
        "policy": queries.policy_of(request.site),
        "officer": Role.OFFICER in request.roles,
    }
    return render(request, "calibration/home.html", context)


@allow(*READERS)
@get_only
def axes(request: SiteRequest, machine: str) -> HttpResponse:
    """The machine's axes in order, how each stands, and what its pieces tell of them."""
    found = machine_or_404(request, machine)
    lines = queries.axis_lines(found, queries.policy_of(request.site))
    context = {
        "machine": found,
        "axes": [(line, queries.history(line.row)) for line in lines],
        "listed": lines,
        "former": queries.former_axes(found),
        "features": queries.feature_lines(found),
        "officer": Role.OFFICER in request.roles,
    }
    return render(request, "calibration/axes.html", context)


@allow(Role.OFFICER)
@get_or_post
def add_axis(request: SiteRequest, machine: str) -> HttpResponse:
    found = machine_or_404(request, machine)
    form = forms.AxisForm(
        posted(request),
        instruments=queries.instruments_in_use(request.site),
        unit=queries.policy_of(request.site).lengths,
    )
    return save_axis(request, form, found, title=f"Add an axis of {found.name}")


@allow(Role.OFFICER)
@get_or_post
def change_axis(request: SiteRequest, machine: str, axis: int) -> HttpResponse:
    row = axis_or_404(request, machine, axis)
    if row.removed_at is not None:
        raise Http404(f"{row.name} was taken out.")
    form = forms.AxisForm(posted(request), instruments=queries.instruments_in_use(request.site), changing=row)
    return save_axis(request, form, row.machine, title=f"Change {row.name}", code=row.code)


def save_axis(
    request: SiteRequest, form: forms.AxisForm, machine: Any, *, title: str, code: str = ""
) -> HttpResponse:
    def act() -> None:
        read = form.cleaned_data
        actions.save_axis(
            machine=machine,
            code=code or read["code"],
            name=read["name"],
            order=read["order"],
            tolerance=read["tolerance_read"],
            nominal=read["nominal"],
            ranges=read["ranges"],
            instruments=read["instruments"],
            who=who(request, form),
        )

    return answer(
        request,
        form,
        act,
        template="calibration/describe.html",
        context={"title": title, "machine": machine, "button": "Save the axis"},
        to=lambda: redirect("calibration:axes", machine.code),
        done="The axis is saved.",
        asked="save the axis",
    )


@allow(Role.OFFICER)
@get_or_post
def remove_axis(request: SiteRequest, machine: str, axis: int) -> HttpResponse:
    row = axis_or_404(request, machine, axis)
    return take_out(
        request,
        lambda by: actions.remove_axis(axis=row, who=by),
        title=f"Take out {row.name}",
        say="It can be opened in no job any more. What it was found at and left at stays, and can be read.",
        to="calibration:axes",
        args=[row.machine.code],
        done=f"{row.name} is taken out.",
    )


@allow(Role.OFFICER)
@get_or_post
def policy(request: SiteRequest) -> HttpResponse:
    """How the site measures."""
    form = forms.PolicyForm(posted(request), policy=queries.policy_of(request.site))

    def act() -> None:
        actions.save_policy(site=request.site, policy=form.policy, who=who(request, form))

    return answer(
        request,
        form,
        act,
        template="calibration/describe.html",
        context={"title": "How this site measures", "button": "Save"},
        to=lambda: redirect("calibration:home"),
        done="Saved.",
        asked="save how the site measures",
    )
