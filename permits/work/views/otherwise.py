"""When it goes otherwise: stop and lift, hand over, stand in for who is absent, add points, enter late."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import now

from permits.people.access import Role, SiteRequest, allow, signed_in
from permits.work import queries
from permits.work.forms import absent, amending, handing_over, issuing, late, stopping
from permits.work.views.answering import act, get_only, get_or_post, look_or_404


@signed_in  # whoever sees danger stops the work
@get_or_post
def stop_work(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, stopping.StopForm)


@allow(Role.TECHNICIAN, Role.ISSUER)
@get_or_post
def suspend(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, stopping.SuspendForm)


@allow(Role.TECHNICIAN, Role.ISSUER, Role.OFFICER)
@get_or_post
def lift_halt(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, stopping.LiftForm, template="work/lift.html")


@allow(Role.TECHNICIAN)
@get_or_post
def offer_handover(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, handing_over.OfferForm)


@allow(Role.TECHNICIAN)
@get_or_post
def accept_handover(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, handing_over.TakeOverForm, template="work/take_over.html")


@allow(Role.TECHNICIAN, Role.OFFICER)
@get_or_post
def withdraw_handover(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, handing_over.WithdrawForm)


@allow(Role.OFFICER)
@get_or_post
def name_holder(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, handing_over.NameHolderForm)


@allow(Role.ISSUER)
@get_or_post
def amend(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, amending.AmendForm, template="work/amend.html")


@allow(Role.OFFICER)
@get_or_post
def take_off_absent(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, absent.TakeOffForm)


@signed_in  # whoever was told says so
@get_or_post
def acknowledge(request: SiteRequest, reference: str) -> HttpResponse:
    return act(request, reference, issuing.AcknowledgeForm)


@allow(Role.TECHNICIAN, Role.ISSUER, Role.OFFICER)
@get_only
def choose_late(request: SiteRequest, reference: str) -> HttpResponse:
    """First what happened on paper; each kind has a page with its own fields."""
    seen = look_or_404(request, reference, now())
    if seen.permit.phase.is_over:
        return redirect("work:permit", seen.permit.id)
    if seen.site.paper is None:
        return not_on_paper(request, seen)
    context = {
        "page": queries.permit_page(seen, request.person.ref),
        "kinds": late.kinds_for(seen.permit),
        "since": seen.site.paper.at,
    }
    return render(request, "work/choose_late.html", context)


def not_on_paper(request: SiteRequest, seen: queries.Look) -> HttpResponse:
    """Nothing is entered late while the site is not on paper: what is missing, and who can declare it."""
    context = {"page": queries.permit_page(seen, request.person.ref), "refusal": queries.not_on_paper(seen)}
    return render(request, "work/choose_late.html", context, status=409)


@allow(Role.TECHNICIAN, Role.ISSUER, Role.OFFICER)
@get_or_post
def enter_late(request: SiteRequest, reference: str, kind: str) -> HttpResponse:
    if kind not in late.KINDS:
        raise Http404(f"Nothing on paper is called {kind}; choose from the list at {reference}.")
    if request.method != "POST" and (seen := look_or_404(request, reference, now())).site.paper is None:
        return not_on_paper(request, seen)
    return act(request, reference, late.EnterLateForm, kind=kind)
