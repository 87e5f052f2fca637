"""Stored energy: the figures of a store, and the lines above which a site takes stored energy to hurt."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from permits.ledger.sent import Key
from permits.people.access import Role, SiteRequest, allow
from permits.plant import actions, forms
from permits.plant.forms.asking import digest_of
from permits.plant.models import Node
from permits.plant.pages.stores import KIND_WORDS, kind_lines
from permits.plant.pages.words import a_kind
from permits.plant.rules.energy import Kind
from permits.plant.rules.noderows import write_node
from permits.plant.rules.stores.kinds import KINDS
from permits.plant.store import hazard_lines_of, node_of
from permits.plant.views.answering import Page, answer, get_or_post, node_or_404, posted


@allow(Role.OFFICER)
@get_or_post
def hazard_lines(request: SiteRequest) -> HttpResponse:
    """Where stored energy starts to hurt at the site: each line, published or drawn tighter."""
    form = forms.HazardLinesForm(posted(request), there=hazard_lines_of(request.site))

    def act(at: datetime, key: Key) -> object:
        return actions.save_hazard_lines(
            site=request.site, lines=form.lines(), by=request.author, at=at, key=key
        )

    here = reverse("plant:hazard-lines")
    say = (
        "Above these lines a store counts as able to hurt. The site may draw a line tighter than it is "
        "published, never looser. Empty: the published line. A store below every line still gets its test."
    )
    back = (reverse("plant:check"), "Check of the plant")
    page = Page("When stored energy can hurt", back, more={"say": say})
    return answer(request, form, act, page, to=lambda: here, done="Saved.", asked="change the lines")


@allow(Role.OFFICER)
@require_safe
def choose_physics(request: SiteRequest, code: str) -> HttpResponse:
    """What kind of store it is, before its figures are asked for."""
    node = node_of(store_or_404(request, code))
    return render(request, "plant/choose_physics.html", {"node": node, "kinds": kind_lines(node)})


@allow(Role.OFFICER)
@get_or_post
def physics(request: SiteRequest, code: str, store: str) -> HttpResponse:
    """The figures of a store as one of a kind."""
    found = store_or_404(request, code)
    if store not in KINDS:
        raise Http404(f"There is no kind of store {store}; one of {', '.join(KINDS)} would be right.")
    form = forms.PhysicsForm(posted(request), store=store, row=row_of(found), button="Save")

    def act(at: datetime, key: Key) -> object:
        return actions.save_node(site=request.site, node=form.row(), by=request.author, at=at, key=key)

    here = reverse("plant:node", args=[code])
    words, meaning = KIND_WORDS[store]
    more = {"words": words, "meaning": meaning, "code": code, "described": found.physics is not None}
    page = Page(f"Physics of {found.name}", (here, found.name), template="plant/physics.html", more=more)
    done = "Saved. What it comes to stands under “Stored energy”."
    return answer(request, form, act, page, to=lambda: here, done=done, asked="save it")


@allow(Role.OFFICER)
@get_or_post
def remove_physics(request: SiteRequest, code: str) -> HttpResponse:
    """Takes the figures of a store out of its description."""
    found = store_or_404(request, code)
    row = row_of(found)
    form = forms.SendForm(posted(request), button="Take its physics out", seen=digest_of(row))

    def act(at: datetime, key: Key) -> object:
        rest = {name: value for name, value in row.items() if name != "physics"}
        return actions.save_node(site=request.site, node=rest, by=request.author, at=at, key=key)

    here = reverse("plant:node", args=[code])
    say = (
        "Then neither its energy nor a wait is computed, and its permit's timer runs for the wait that its "
        "release states, or not at all. Its release and its test stay."
    )
    page = Page(f"Take the physics of {found.name} out", (here, found.name), more={"say": say})
    done = "Its physics is no longer described."
    return answer(request, form, act, page, to=lambda: here, done=done, asked="take it out")


def store_or_404(request: SiteRequest, code: str) -> Node:
    """The store of the open site; a node of another kind holds no energy of its own."""
    found = node_or_404(request, code)
    if found.kind != Kind.STORE.value:
        raise Http404(f"{found.name} is {a_kind(found.kind)}; only a store has physics.")
    return found


def row_of(found: Node) -> dict[str, Any]:
    """The node as a row of the plant file."""
    return write_node(node_of(found))
