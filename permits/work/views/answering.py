"""How a command's page asks and answers: look the permit up, ask by form, carry out once, go back to the permit."""

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
from permits.work.forms.asking import CommandForm
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
    request: SiteRequest, reference: str, form_class: type[CommandForm], *, template: str = "work/act.html", **more: Any
) -> HttpResponse:
    """Asks for one command by its form; carries it out when it was answered, and goes back to the permit."""
    seen = look_or_404(request, reference, now())
    return answer(request, seen, form_of(request, seen, form_class, **more), template=template)


def answer(
    request: SiteRequest, seen: queries.Look, form: CommandForm, *, template: str = "work/act.html"
) -> HttpResponse:
    """Carries out what a valid form asks for; otherwise the page again, as typed, with what is missing."""
    refusal: Refused | None = None
    if form.is_bound and form.is_valid():
        try:
            carry_out(request, form, seen.at)
        except PinRefused as refused:
            form.add_error(refused.field if refused.field in form.fields else None, refused.message)
        except Refused as refused:
            refusal = refused
            refusal.asked = form.title[0].lower() + form.title[1:]
        else:
            messages.success(request, form.done)
            return redirect("work:permit", seen.permit.id)
    status = 409 if refusal else 422 if form.is_bound else 200
    page = queries.permit_page(seen, request.person.ref)
    return render(request, template, {"form": form, "page": page, "refusal": refusal}, status=status)


def carry_out(request: SiteRequest, form: CommandForm, at: datetime) -> None:
    """One call to the rules, as whoever signs. Raises PinRefused or Refused."""
    by = signing(request, form, at)
    perform(
        site=request.site,
        command=form.command(by=by.ref.removeprefix("person:"), at=at),
        by=by,
        key=form.request_key,
        seen=form.cleaned_data.get("seen"),
    )


def signing(request: SiteRequest, form: CommandForm, at: datetime) -> Author:
    """Who acts: the person signed in, with their PIN where the step is signed, or another by name and PIN."""
    other = form.cleaned_data.get("sign_in", "")
    if not (form.signed or other):
        return request.author
    return sign_again(
        site=request.site, here=request.person, sign_in=other, pin=form.cleaned_data["pin"], at=at
    )
