"""Ask for a permit: choose the machine and its zones, see the plan, then ask."""

from __future__ import annotations

from datetime import datetime

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import now

from permits.ledger.sent import SentOtherwise
from permits.people.access import Role, SiteRequest, allow
from permits.people.repeats import NotTaken, give_fresh_key, not_taken, sent_with, was_done
from permits.plant import queries as plant
from permits.plant.models import Machine
from permits.work import pictures, queries
from permits.work.actions import perform
from permits.work.forms.requesting import NO_WISH, KeptLive, RequestForm, ZonesForm
from permits.work.rules import state
from permits.work.rules.in_service import not_in_service
from permits.work.rules.refusal import Refused
from permits.work.views.answering import get_only, get_or_post

ASKED = "ask for a permit"


@allow(Role.TECHNICIAN, Role.ISSUER, Role.OFFICER)
@get_only
def choose_machine(request: SiteRequest) -> HttpResponse:
    return render(request, "work/choose_machine.html", {"machines": plant.machines(request.site)})


@allow(Role.TECHNICIAN, Role.ISSUER, Role.OFFICER)
@get_or_post
def ask_for_permit(request: SiteRequest, machine: str) -> HttpResponse:
    """GET: the zones, or, once they are named, the plan that they need. POST: ask for it."""
    at = now()
    found = next((m for m in plant.machines(request.site) if m.code == machine), None)
    if found is None:
        raise Http404(f"There is no machine {machine} at {request.site.name}.")
    site = queries.settled(request.site, at)
    if request.method == "POST":
        return ask(request, site, found, at)
    if "show" in request.GET:
        return show_plan(request, site, found, at)
    kept = kept_live(found)
    form = ZonesForm(site=site, machine=found.code, kept=kept, initial=named_in(request, kept))
    return render(request, "work/choose_zones.html", {"form": form} | about(site, found))


def about(site: state.Site, machine: Machine) -> dict[str, object]:
    """The machine, and why it is not in service."""
    return {"machine": machine, "service": not_in_service(site).get(machine.code, ())}


def kept_live(machine: Machine) -> KeptLive:
    """What the machine's approved procedure wants to stay live."""
    found = plant.approved_procedure(machine)
    return KeptLive(tuple(found.keep_live), found.revision) if found and found.keep_live else NO_WISH


def named_in(request: SiteRequest, kept: KeptLive) -> dict[str, list[str]]:
    """What an address names already, so that a change of mind keeps what was ticked, and what was cleared.

    Before anything was chosen it is what the procedure keeps live.
    """
    named = {name: request.GET.getlist(name) for name in ("zones", "keep_live")}
    return named if any(named.values()) else {"zones": [], "keep_live": list(kept.nodes)}


def show_plan(request: SiteRequest, site: state.Site, machine: Machine, at: datetime) -> HttpResponse:
    """The plan for the zones of the address, with the rest of the request to be filled in below it."""
    kept = kept_live(machine)
    form = ZonesForm(request.GET, site=site, machine=machine.code, kept=kept)
    if not form.is_valid():
        context = {"form": form} | about(site, machine)
        return render(request, "work/choose_zones.html", context, status=422)
    try:
        seen = queries.planned(site, **form.wanted(), by=request.person.ref, at=at)
    except Refused as refused:
        refused.asked = ASKED
        context = {"form": form, "refusal": refused} | about(site, machine)
        return render(request, "work/choose_zones.html", context, status=409)
    rest = RequestForm(site=site, machine=machine.code, kept=kept, initial=form.wanted())
    return page(request, rest, about(site, machine), seen)


def ask(request: SiteRequest, site: state.Site, machine: Machine, at: datetime) -> HttpResponse:
    """Ask for the permit whose plan was shown; a repeated request leads to what the first one made."""
    form = RequestForm(request.POST, site=site, machine=machine.code, kept=kept_live(machine))
    refusal: Refused | NotTaken | None = None
    sent, is_valid = sent_with(request), form.is_valid()
    try:
        if sent and was_done(request):
            return asked(request, queries.permit_asked_for(request.site, sent.key))
        if sent and is_valid:
            command = form.command(by=request.person.ref, at=at)
            perform(site=request.site, command=command, by=request.author, key=sent)
            return asked(request, queries.permit_asked_for(request.site, sent.key))
    except Refused as refused:
        refusal, refused.asked = refused, ASKED
    except SentOtherwise as other:
        refusal = not_taken(request, other, ASKED)
        give_fresh_key(form)
    return page(request, form, about(site, machine), plan_of(request, site, form, at), refusal)


def asked(request: SiteRequest, permit: str) -> HttpResponse:
    messages.success(request, "Asked for. An issuer signs it out.")
    return redirect("work:permit", permit)


def plan_of(request: SiteRequest, site: state.Site, form: RequestForm, at: datetime) -> queries.Look | None:
    """The plan that a posted form is for; None where its zones make none."""
    wanted = form.wanted()
    if not wanted["zones"]:
        return None
    try:
        return queries.planned(site, **wanted, by=request.person.ref, at=at)
    except Refused:
        return None


def page(
    request: SiteRequest,
    form: RequestForm,
    machine: dict[str, object],
    seen: queries.Look | None,
    refusal: Refused | NotTaken | None = None,
) -> HttpResponse:
    """The plan as a list and as a picture, and the form; without a plan the zones are part of the form."""
    context: dict[str, object] = {"form": form, "refusal": refusal} | machine
    if seen is not None:
        form.for_this_plan()
        context |= {
            "plan": queries.plan_page(request.site, seen),
            "picture": pictures.of_permit(seen, title="Energy picture of the plan"),
            "wanted": [
                *(("zones", zone) for zone in seen.permit.zones),
                *(("keep_live", node) for node in seen.permit.keep_live),
            ],
        }
    status = 409 if refusal else 422 if form.is_bound else 200
    return render(request, "work/ask_for_permit.html", context, status=status)
