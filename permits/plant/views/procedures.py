"""A machine's procedures: every revision, writing the next, one revision, approving it, two side by side."""

from __future__ import annotations

from datetime import datetime

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from permits.ledger.sent import Key
from permits.people.access import Role, SiteRequest, allow, signed_in
from permits.plant import actions, forms, queries
from permits.plant.models import Machine, Procedure
from permits.plant.pages import procedures as pages
from permits.plant.pages.words import badge_of_procedure
from permits.plant.rules.plan import NoPlan, plan
from permits.plant.rules.procedures import Choice
from permits.plant.store import graph_of
from permits.plant.views.answering import Page, answer, get_or_post, machine_or_404, posted
from permits.plant.views.machines import is_officer


@signed_in
@require_safe
def procedures(request: SiteRequest, code: str) -> HttpResponse:
    machine = machine_or_404(request, code)
    found = [(one, badge_of_procedure(one)) for one in queries.procedures(machine)]
    context = {"machine": machine, "revisions": found, "officer": is_officer(request)}
    return render(request, "plant/procedures.html", context)


@signed_in
@require_safe
def procedure(request: SiteRequest, code: str, revision: int) -> HttpResponse:
    found = revision_or_404(machine_or_404(request, code), revision)
    return render(request, "plant/procedure.html", page_of(request, found))


@allow(Role.OFFICER)
@get_or_post
def write(request: SiteRequest, code: str) -> HttpResponse:
    """The next revision; it begins with what the last one says.

    Where the address says `chosen`, its points are those in it (`lock`, `release`) instead of the computed
    ones, for its zones (`zone`) and nodes that stay live (`keep`); `pin` and `forbid` say what was asked for.
    """
    machine = machine_or_404(request, code)
    graph = graph_of(request.site)
    zones = [(zone.id, zone.name) for zone in graph.zones_of(code)]
    earlier = queries.procedures(machine)
    number = earlier[0].revision + 1 if earlier else 1
    chosen = chosen_in(request)
    first = {
        "zones": earlier[0].zones if earlier else [id for id, _ in zones],
        "keep_live": earlier[0].keep_live if earlier else [],
    }
    if chosen is not None:
        first = {"zones": request.GET.getlist("zone"), "keep_live": request.GET.getlist("keep")}
    kept = pages.keepable_nodes(graph, code, first["keep_live"])
    form = forms.ProcedureForm(
        posted(request),
        zones=zones,
        keepable=forms.node_choices(kept, dict(queries.machine_codes(request.site)), kinds=False),
        initial=(pages.texts_of(earlier[0]) if earlier else {}) | first,
        button="Keep as a draft",
    )
    made: list[Procedure] = []

    def act(at: datetime, key: Key) -> object:
        made.append(
            actions.draft_procedure(
                machine=machine,
                zones=form.cleaned_data["zones"],
                texts=form.texts,
                keep_live=form.cleaned_data["keep_live"],
                chosen=chosen,
                by=request.person,
                at=at,
                key=key,
            )
        )
        return made

    def where() -> str:
        if made:
            return reverse("plant:procedure", args=[code, made[0].revision])
        return reverse("plant:procedures", args=[code])

    def path() -> list[str]:
        if chosen is not None:
            return []  # each reason has its own
        found = plan(graph, form.cleaned_data["zones"], form.cleaned_data["keep_live"])
        return [graph.name(id) for id in found.path] if isinstance(found, NoPlan) else []

    page = Page(
        f"Write revision {number} for {machine.name}",
        (reverse("plant:machine", args=[code]), machine.name),
        template="plant/write_procedure.html",
        more={
            "zones": zones,
            "earlier": earlier[0] if earlier else None,
            "chosen": pages.chosen_lines(graph, chosen.lock, chosen.release) if chosen else None,
            "asked": pages.asked_lines(graph, chosen.choice)[1:] if chosen else [],
            "computed_url": request.path,
        },
    )
    done = "The draft is kept. Another safety officer approves it."
    return answer(request, form, act, page, to=where, done=done, asked="keep the draft", path=path)


@allow(Role.OFFICER)
@require_POST
def approve(request: SiteRequest, code: str, revision: int) -> HttpResponse:
    found = revision_or_404(machine_or_404(request, code), revision)
    form = forms.SendForm(request.POST, button="Approve")
    here = reverse("plant:procedure", args=[code, revision])

    def act(at: datetime, key: Key) -> None:
        actions.approve_procedure(procedure=found, by=request.person, at=at, key=key)

    more = page_of(request, found)
    page = Page(str(found), (here, str(found)), template="plant/procedure.html", more=more)
    return answer(
        request,
        form,
        act,
        page,
        to=lambda: here,
        done=f"Revision {revision} is approved. Permits are issued from it now.",
        asked=f"approve revision {revision}",
    )


@signed_in
@require_safe
def compare(request: SiteRequest, code: str) -> HttpResponse:
    """Revision `old` beside revision `new`; the last two when first opened."""
    machine = machine_or_404(request, code)
    revisions = {one.revision: one for one in queries.procedures(machine)}
    if len(revisions) < 2:
        raise Http404(f"{machine.name} has {len(revisions)} revision; two would be right to compare.")
    newest, before = list(revisions)[:2]
    data = request.GET if request.GET else {"old": before, "new": newest}
    choices = [(number, f"{number}, {one.state}") for number, one in revisions.items()]
    form = forms.CompareForm(data, revisions=choices)
    compared = None
    if form.is_valid():
        given = form.cleaned_data
        compared = pages.compare(machine, revisions[given["old"]], revisions[given["new"]])
    context = {"machine": machine, "form": form, "compared": compared}
    return render(request, "plant/compare.html", context, status=200 if compared else 422)


def chosen_in(request: SiteRequest) -> actions.Chosen | None:
    """The points in the address; None where the computed ones are meant."""
    if "chosen" not in request.GET:
        return None
    given = {name: tuple(request.GET.getlist(name)) for name in ("lock", "release", "pin", "forbid")}
    return actions.Chosen(given["lock"], given["release"], Choice(given["pin"], given["forbid"]))


def page_of(request: SiteRequest, found: Procedure) -> dict[str, object]:
    """What a revision's page shows. Once nothing is missing, an officer other than its author may approve."""
    shown = pages.procedure_page(request.site, found)
    author = found.author_id == request.person.pk
    may_approve = is_officer(request) and not author and shown.can_be_approved
    send = forms.SendForm(button=f"Approve revision {found.revision}") if may_approve else None
    if send is not None:
        send.helper.form_action = reverse(
            "plant:approve-procedure", args=[found.machine.code, found.revision]
        )
    return {
        "shown": shown,
        "machine": found.machine,
        "approve": send,
        "officer": is_officer(request),
        "is_author": author,
    }


def revision_or_404(machine: Machine, revision: int) -> Procedure:
    found = next((one for one in queries.procedures(machine) if one.revision == revision), None)
    if found is None:
        raise Http404(f"{machine.name} has no revision {revision} of its procedure.")
    return found
