"""How a command's page asks and answers: the permit, its form, one call, and back to the permit."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import now
from django.views.decorators.http import require_http_methods

from permits.ledger.author import Author
from permits.people.access import SiteRequest
from permits.people.actions import PinRefused, sign_again
from permits.work import queries
from permits.work.actions import perform
from permits.work.forms.asking import CommandForm, Outcome, key_in
from permits.work.rules.refusal import Refused

get_or_post = require_http_methods(["GET", "HEAD", "POST"])
get_only = require_http_methods(["GET", "HEAD"])


def look_or_404(request: SiteRequest, reference: str, at: datetime) -> queries.Look:
    """The permit as it is now; one of another site is not found."""
    seen = queries.look(request.site, reference, at)
    if seen is None:
        raise Http404(f"There is no permit {reference} at {request.site.name}.")
    return seen


def form_of(
    request: SiteRequest, seen: queries.Look, form_class: type[CommandForm], **more: Any
) -> CommandForm:
    """The form, bound where it was posted."""
    return form_class(
        request.POST if request.method == "POST" else None,
        site=seen.site,
        permit=seen.permit,
        person=request.person.ref,
        seen=seen.seen,
        at=seen.at,
        **more,
    )


def act(
    request: SiteRequest,
    reference: str,
    form_class: type[CommandForm],
    *,
    template: str = "work/act.html",
    **more: Any,
) -> HttpResponse:
    """Asks for one command by its form; carries it out when it was answered, and goes back to the permit."""
    seen = look_or_404(request, reference, now())
    return answer(request, seen, form_of(request, seen, form_class, **more), template=template)


def answer(
    request: SiteRequest, seen: queries.Look, form: CommandForm, *, template: str = "work/act.html"
) -> HttpResponse:
    """Carries out what a valid form asks for; otherwise the page again, as typed, with what is missing."""
    if is_repeat(request):
        return done(request, seen, Outcome(form.done))
    refusal: Refused | None = None
    if form.is_bound and form.is_valid():
        try:
            by, outcome = carry_out(request, form, seen.at)
        except PinRefused as refused:
            form.add_error(refused.field if refused.field in form.fields else None, refused.message)
        except Refused as refused:
            refusal = refused
            refusal.asked = form.title[0].lower() + form.title[1:]
        else:
            return done(request, seen, outcome, by)
    status = 409 if refusal else 422 if form.is_bound else 200
    return show(request, seen, form, refusal, template=template, status=status)


def is_repeat(request: SiteRequest) -> bool:
    """Was this very request carried out before? Then its form need not make sense any more."""
    key = key_in(request.POST)
    return key is not None and queries.was_carried_out(request.site, key)


def done(
    request: SiteRequest, seen: queries.Look, outcome: Outcome, by: Author | None = None
) -> HttpResponse:
    """Back to the permit; where another acted on this device, the page says in whose name it was written."""
    whose = f" Written for {seen.name(ref_of(by))}." if by and by.ref != request.author.ref else ""
    level = messages.WARNING if outcome.bad else messages.SUCCESS
    messages.add_message(request, level, outcome.text + whose)
    return redirect("work:permit", seen.permit.id)


def show(
    request: SiteRequest,
    seen: queries.Look,
    form: CommandForm,
    refusal: Refused | None,
    *,
    template: str,
    status: int,
) -> HttpResponse:
    """The form's page. After a stale page it says what happened since, and then counts as up to date."""
    since: list[queries.Since] = []
    if refusal and "page-stale" in refusal.codes:
        seen = look_or_404(request, seen.permit.id, seen.at)
        since = queries.since(request.site, seen, form.cleaned_data["seen"])
        form.shows(seen.seen)
    context = {
        "form": form,
        "page": queries.permit_page(seen, request.person.ref),
        "plan": queries.plan_page(request.site, seen) if form.shows_plan else None,
        "refusal": refusal,
        "since": since,
    }
    return render(request, template, context, status=status)


def carry_out(request: SiteRequest, form: CommandForm, at: datetime) -> tuple[Author, Outcome]:
    """One call to the rules: who signed, and what came of it. Raises PinRefused or Refused."""
    by = signing(request, form, at)
    happened = perform(
        site=request.site,
        command=form.command(by=ref_of(by), at=at),
        by=by,
        key=form.request_key,
        seen=form.cleaned_data.get("seen"),
    )
    return by, form.outcome(happened)


def ref_of(by: Author) -> str:
    return by.ref.removeprefix("person:")


def signing(request: SiteRequest, form: CommandForm, at: datetime) -> Author:
    """Who acts: the person signed in, with their PIN where the step is signed, or another by name and PIN."""
    other = form.cleaned_data.get("sign_in", "")
    if not (form.signed or other):
        return request.author
    return sign_again(
        site=request.site, here=request.person, sign_in=other, pin=form.cleaned_data["pin"], at=at
    )
