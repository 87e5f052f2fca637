"""The whole site: an emergency, paper mode, and people who are to be told that their lock was taken off."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.functional import SimpleLazyObject
from django.utils.timezone import now

from permits.people.access import Role, SiteRequest, allow
from permits.work import queries
from permits.work.forms import whole_site as forms
from permits.work.forms.asking import SiteForm
from permits.work.rules import state
from permits.work.views.answering import attempt, get_only, get_or_post, say


def under(request: HttpRequest) -> dict[str, Any]:
    """For every template: what an officer declared for the site that is open, read where a page asks."""
    site = getattr(request, "site", None)
    return {"declared": SimpleLazyObject(lambda: queries.declared(site))} if site else {}


@allow(Role.OFFICER, Role.ISSUER)
@get_only
def whole_site(request: SiteRequest) -> HttpResponse:
    at, seen = now(), queries.last_entry(request.site)
    site = queries.settled(request.site, at)
    emergency = form_of(request, site, forms.DeclareEmergencyForm, seen, at)
    context = {"page": queries.whole_site_page(site), "emergency_form": emergency}
    return render(request, "work/whole_site.html", context)


def form_of(
    request: SiteRequest, site: state.Site, form_class: type[SiteForm], seen: int, at: datetime
) -> SiteForm:
    """The form, bound where it was posted. `seen`: the site's last entry, read before its state was."""
    posted = request.POST if request.method == "POST" else None
    return form_class(posted, site=site, person=request.person.ref, seen=seen, at=at)


def act(request: SiteRequest, form_class: type[SiteForm]) -> HttpResponse:
    """Asks for one command about the site by its form; carries it out, and goes back to the site's page."""
    at, seen = now(), queries.last_entry(request.site)
    site = queries.settled(request.site, at)
    form = form_of(request, site, form_class, seen, at)
    tried = attempt(request, form, at)
    if tried.outcome:
        say(request, site, tried.outcome, tried.by)
        return redirect("work:whole-site")
    if since := queries.since(site, tried.refusal):
        form.shows(seen)
    context = {"form": form, "refusal": tried.refusal, "since": since}
    return render(request, "work/act_on_site.html", context, status=tried.status)


@allow(Role.OFFICER)
@get_or_post
def declare_emergency(request: SiteRequest) -> HttpResponse:
    return act(request, forms.DeclareEmergencyForm)


@allow(Role.OFFICER)
@get_or_post
def end_emergency(request: SiteRequest) -> HttpResponse:
    return act(request, forms.EndEmergencyForm)


@allow(Role.OFFICER)
@get_or_post
def declare_paper(request: SiteRequest) -> HttpResponse:
    return act(request, forms.DeclarePaperForm)


@allow(Role.OFFICER)
@get_or_post
def end_paper(request: SiteRequest) -> HttpResponse:
    return act(request, forms.EndPaperForm)


@allow(Role.OFFICER, Role.ISSUER)
@get_or_post
def tell_returned(request: SiteRequest) -> HttpResponse:
    return act(request, forms.TellReturnedForm)
