"""The machines of a site: the list, one machine, what belongs to none; adding, changing, removing one."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.timezone import now
from django.views.decorators.http import require_safe

from permits.ledger.sent import Key
from permits.people.access import Role, SiteRequest, allow, signed_in
from permits.people.repeats import is_repeat
from permits.plant import actions, forms, queries
from permits.plant.models import Machine
from permits.plant.pages import machines as pages
from permits.plant.views.answering import Page, answer, get_or_post, machine_or_404, posted

ALL = "Machines"


@signed_in
@require_safe
def machines(request: SiteRequest) -> HttpResponse:
    lines = pages.machine_lines(request.site, at=now())
    context = {"lines": lines, "shared": pages.shared_nodes(request.site), "officer": is_officer(request)}
    return render(request, "plant/machines.html", context)


@signed_in
@require_safe
def machine(request: SiteRequest, code: str) -> HttpResponse:
    page = pages.machine_page(request.site, machine_or_404(request, code), at=now())
    return render(request, "plant/machine.html", {"page": page, "officer": is_officer(request)})


@signed_in
@require_safe
def shared(request: SiteRequest) -> HttpResponse:
    page = pages.shared_page(request.site, at=now())
    return render(request, "plant/shared.html", {"page": page, "officer": is_officer(request)})


@allow(Role.OFFICER)
@get_or_post
def add(request: SiteRequest) -> HttpResponse:
    taken = dict(queries.machine_codes(request.site))
    form = forms.MachineForm(posted(request), taken=taken, button="Add the machine")
    page = Page("Add a machine", (reverse("plant:machines"), ALL))

    def act(at: datetime, key: Key) -> object:
        row = form.row()
        return actions.save_machine(
            site=request.site, machine=row, only_new=True, by=request.author, at=at, key=key
        )

    return answer(
        request,
        form,
        act,
        page,
        to=lambda: reverse("plant:machine", args=[form.data["id"].strip()]),
        done="The machine is added. Next come its zones, its points and what feeds them.",
    )


@allow(Role.OFFICER)
@get_or_post
def edit(request: SiteRequest, code: str) -> HttpResponse:
    found = machine_or_404(request, code)
    form = forms.MachineForm(posted(request), row=row_of(found), button="Save")
    here = reverse("plant:machine", args=[code])

    def act(at: datetime, key: Key) -> object:
        return actions.save_machine(site=request.site, machine=form.row(), by=request.author, at=at, key=key)

    page = Page(f"Edit {found.name}", (here, found.name))
    return answer(request, form, act, page, to=lambda: here, done="Saved.")


@allow(Role.OFFICER)
@get_or_post
def remove(request: SiteRequest, code: str) -> HttpResponse:
    if is_repeat(request):
        return redirect("plant:machines")
    found = machine_or_404(request, code)
    form = forms.SendForm(posted(request), button="Take it out of the plant")
    here = reverse("plant:machine", args=[code])

    def act(at: datetime, key: Key) -> object:
        return actions.remove_machine(site=request.site, code=code, by=request.author, at=at, key=key)

    say = (
        "Its zones, points and other nodes have to go first, or to another machine. What the ledger says of "
        "it stays."
    )
    page = Page(f"Take {found.name} out of the plant", (here, found.name), more={"say": say})
    done = f"{found.name} is no longer in the plant."
    return answer(
        request, form, act, page, to=lambda: reverse("plant:machines"), done=done, asked="take it out"
    )


def row_of(machine: Machine) -> dict[str, str]:
    """The machine as a row of the plant file."""
    row = {field: getattr(machine, field) for field in ("name", "designation", "place", "hazards")}
    return {"id": machine.code} | {field: value for field, value in row.items() if value}


def is_officer(request: SiteRequest) -> bool:
    """Whether the page offers what only a safety officer may do; each of those pages asks for itself."""
    return Role.OFFICER in request.roles
