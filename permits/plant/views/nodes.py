"""Nodes of the energy graph and their links: one node; adding, changing, removing it; linking it."""

from __future__ import annotations

from datetime import datetime

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.timezone import now
from django.views.decorators.http import require_safe

from permits.ledger.sent import Key
from permits.people.access import Role, SiteRequest, allow, signed_in
from permits.people.repeats import is_repeat
from permits.plant import actions, forms, queries
from permits.plant.models import Node
from permits.plant.pages.nodes import node_page
from permits.plant.pages.words import KINDS, a_kind
from permits.plant.rules.energy import Graph, Kind
from permits.plant.rules.noderows import write_node
from permits.plant.store import graph_of, node_of
from permits.plant.views.answering import Page, answer, get_or_post, node_or_404, posted
from permits.plant.views.machines import is_officer


@signed_in
@require_safe
def node(request: SiteRequest, code: str) -> HttpResponse:
    page = node_page(request.site, node_or_404(request, code), at=now())
    if page is None:
        raise Http404(f"There is no node {code} at {request.site.name}.")
    return render(request, "plant/node.html", {"page": page, "officer": is_officer(request)})


@allow(Role.OFFICER)
@require_safe
def choose_kind(request: SiteRequest) -> HttpResponse:
    """What kind of node is to be added; `machine` in the address says to which machine."""
    context = {"kinds": [(kind, a_kind(kind), words) for kind, words in KINDS.items()]}
    return render(request, "plant/choose_kind.html", context | {"machine": request.GET.get("machine", "")})


@allow(Role.OFFICER)
@get_or_post
def add(request: SiteRequest, kind: str) -> HttpResponse:
    form = forms.NodeForm(
        posted(request),
        kind=kind_or_404(kind),
        machines=queries.machine_codes(request.site),
        machine=request.GET.get("machine", ""),
        taken={id: f"{node.name} ({node.kind})" for id, node in graph_of(request.site).nodes.items()},
        button=f"Add the {kind}",
    )

    def act(at: datetime, key: Key) -> object:
        row = form.row()
        return actions.save_node(
            site=request.site, node=row, only_new=True, by=request.author, at=at, key=key
        )

    meaning = KINDS[form.kind]
    page = Page(
        f"Add {a_kind(kind)}",
        (reverse("plant:choose-kind") + "?" + request.GET.urlencode(), "Another kind"),
        more={"say": f"{meaning[0].upper()}{meaning[1:]}."},
    )
    return answer(
        request,
        form,
        act,
        page,
        to=lambda: reverse("plant:node", args=[form.data["id"].strip()]),
        done=f"The {kind} is added. Link it: what feeds it, and what it feeds.",
    )


@allow(Role.OFFICER)
@get_or_post
def edit(request: SiteRequest, code: str) -> HttpResponse:
    """Changes a node; `kind` in the address makes it a node of another kind."""
    found = node_or_404(request, code)
    kind = kind_or_404(request.GET.get("kind", found.kind))
    form = forms.NodeForm(
        posted(request),
        kind=kind,
        machines=queries.machine_codes(request.site),
        row=write_node(node_of(found)),
        button="Save" if kind.value == found.kind else f"Make it {a_kind(kind)}",
    )
    here = reverse("plant:node", args=[code])

    def act(at: datetime, key: Key) -> object:
        return actions.save_node(site=request.site, node=form.row(), by=request.author, at=at, key=key)

    other = [(one.value, a_kind(one)) for one in Kind if one is not kind]
    becomes = "" if kind.value == found.kind else f"As {a_kind(kind)} it starts anew: its tag is withdrawn."
    page = Page(
        f"Edit {found.name}" if not becomes else f"Make {found.name} {a_kind(kind)}",
        (here, found.name),
        template="plant/edit_node.html",
        more={"say": becomes, "kinds": other, "code": code},
    )
    return answer(request, form, act, page, to=lambda: here, done="Saved.", asked="change it")


@allow(Role.OFFICER)
@get_or_post
def remove(request: SiteRequest, code: str) -> HttpResponse:
    if is_repeat(request):
        return redirect("plant:machines")
    found = node_or_404(request, code)
    graph = graph_of(request.site)
    form = forms.SendForm(posted(request), button="Take it out of the plant")

    def act(at: datetime, key: Key) -> object:
        return actions.remove_node(site=request.site, code=code, by=request.author, at=at, key=key)

    page = Page(
        f"Take {found.name} out of the plant",
        (reverse("plant:node", args=[code]), found.name),
        more={"say": "Its links go with it, and its tag is withdrawn.", "items": neighbours(graph, code)},
    )
    done = f"{found.name} is no longer in the plant."
    return answer(request, form, act, page, to=lambda: where(found), done=done, asked="take it out")


@allow(Role.OFFICER)
@get_or_post
def save_link(request: SiteRequest) -> HttpResponse:
    """Adds a link, or changes the one between the two nodes in the address (`from`, `to`)."""
    graph = graph_of(request.site)
    source, target = request.GET.get("from", ""), request.GET.get("to", "")
    there = next((link for link in graph.links if (link.source, link.target) == (source, target)), None)
    form = forms.LinkForm(
        posted(request),
        graph=graph,
        names=dict(queries.machine_codes(request.site)),
        initial={"source": source, "target": target, "both": bool(there and there.both)},
        button="Save the link" if there else "Add the link",
    )

    def act(at: datetime, key: Key) -> object:
        return actions.save_link(site=request.site, link=form.row(), by=request.author, at=at, key=key)

    known = next((id for id in (source, target) if id in graph.nodes), None)
    back = (reverse("plant:node", args=[known]), graph.name(known)) if known else way_to_all()
    page = Page("Change a link" if there else "Add a link", back)
    return answer(request, form, act, page, to=lambda: back[0], done="The link is saved.")


@allow(Role.OFFICER)
@get_or_post
def remove_link(request: SiteRequest) -> HttpResponse:
    """Takes the link between the two nodes in the address (`from`, `to`) out of the plant."""
    graph = graph_of(request.site)
    source, target = request.GET.get("from", ""), request.GET.get("to", "")
    back = (reverse("plant:node", args=[source]), source) if source in graph.nodes else way_to_all()
    if is_repeat(request):
        return redirect(back[0])
    if not any((link.source, link.target) == (source, target) for link in graph.links):
        raise Http404(f"There is no link from {source} to {target} at {request.site.name}.")
    form = forms.SendForm(posted(request), button="Take the link out")

    def act(at: datetime, key: Key) -> object:
        return actions.remove_link(
            site=request.site, source=source, target=target, by=request.author, at=at, key=key
        )

    names = f"{graph.name(source)} → {graph.name(target)}"
    say = "Only if no energy can pass there: where a link is missing, a plan may leave people unprotected."
    page = Page(f"Take out the link {names}", (back[0], graph.name(source)), more={"say": say})
    return answer(request, form, act, page, to=lambda: back[0], done="The link is no longer in the plant.")


def kind_or_404(kind: str) -> Kind:
    try:
        return Kind(kind)
    except ValueError:
        raise Http404(f"There is no kind of node {kind}; one of {', '.join(Kind)} would be right.") from None


def neighbours(graph: Graph, code: str) -> list[str]:
    """The node's links, in words."""
    return [
        f"{graph.name(link.source)} {'↔' if link.both else '→'} {graph.name(link.target)}"
        for link in graph.links
        if code in (link.source, link.target)
    ]


def where(row: Node) -> str:
    """The page that lists a node: its machine's, or the one of what is shared."""
    return reverse("plant:machine", args=[row.machine.code]) if row.machine else reverse("plant:shared")


def way_to_all() -> tuple[str, str]:
    return reverse("plant:machines"), "Machines"
