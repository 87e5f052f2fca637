"""How a command's page asks and answers: the permit, its form, one call, and back to the permit."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import now
from django.views.decorators.http import require_http_methods

from permits.ledger.author import Author
from permits.ledger.sent import SentOtherwise
from permits.people.access import SiteRequest
from permits.people.actions import PinRefused, sign_again, signer
from permits.people.repeats import NotTaken, give_fresh_key, not_taken, sent_with, was_done
from permits.people.rules.sign_in_names import tidy_sign_in
from permits.work import queries
from permits.work.actions import perform
from permits.work.forms.asking import AskForm, CommandForm, Outcome
from permits.work.rules import state
from permits.work.rules.refusal import Refused

COUNTS_ONCE = "This page was sent before, and counts once; below is what holds now."

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
    tried = attempt(request, form, seen.at)
    if tried.outcome:
        return done(request, seen, tried.outcome, tried.by)
    return show(request, seen, form, tried.refusal, template=template, status=tried.status)


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of a form: it was carried out, it was refused, or (neither) it stays on its page."""

    status: int
    outcome: Outcome | None = None
    by: Author | None = None
    refusal: Refused | NotTaken | None = None


def attempt(request: SiteRequest, form: AskForm, at: datetime) -> Tried:
    """Carries out what a valid form asks for, once; otherwise the form, or the refusal, says what is missing.

    What holds work up is asked for whatever its key says: it may have been lifted since.
    """
    if not form.is_bound:
        return Tried(200)
    asked = form.title[0].lower() + form.title[1:]
    try:
        if not form.holds_up and was_done(request):
            return Tried(302, Outcome(f"{form.done} {COUNTS_ONCE}"))
        if form.is_valid():
            by, outcome = carry_out(request, form, at)
            return Tried(302, outcome, by)
    except PinRefused as refused:
        form.add_error(refused.field if refused.field in form.fields else None, refused.message)
    except Refused as refused:
        refused.asked = asked
        return Tried(409, refusal=refused)
    except SentOtherwise as other:
        give_fresh_key(form)
        return Tried(409, refusal=not_taken(request, other, asked))
    return Tried(422)


def done(
    request: SiteRequest, seen: queries.Look, outcome: Outcome, by: Author | None = None
) -> HttpResponse:
    """Back to the permit, which says what came of it."""
    say(request, seen.site, outcome, by)
    return redirect("work:permit", seen.permit.id)


def say(request: SiteRequest, site: state.Site, outcome: Outcome, by: Author | None = None) -> None:
    """What came of it, for the next page; and, where another acted on this device, in whose name."""
    whose = f" Written for {site.name(ref_of(by))}." if by and by.ref != request.author.ref else ""
    level = messages.WARNING if outcome.bad else messages.SUCCESS
    messages.add_message(request, level, outcome.text + whose)


def show(
    request: SiteRequest,
    seen: queries.Look,
    form: CommandForm,
    refusal: Refused | NotTaken | None,
    *,
    template: str,
    status: int,
) -> HttpResponse:
    """The form's page. After a stale page it says what happened since, and then counts as up to date."""
    if since := queries.since(seen.site, refusal):
        seen = look_or_404(request, seen.permit.id, seen.at)
        form.shows(seen.seen)
    context = {
        "form": form,
        "page": queries.permit_page(seen, request.person.ref),
        "plan": queries.plan_page(request.site, seen) if form.shows_plan else None,
        "refusal": refusal,
        "since": since,
    }
    return render(request, template, context, status=status)


def carry_out(request: SiteRequest, form: AskForm, at: datetime) -> tuple[Author, Outcome]:
    """One call to the rules: who signed, and what came of it. Raises PinRefused or Refused."""
    by = signing(request, form, at)
    if form.second_signed:
        form.cleaned_data["second_ref"] = second_signing(request, form, at)
    happened = perform(
        site=request.site,
        command=form.command(by=ref_of(by), at=at),
        by=by,
        key=sent_with(request),
        seen=form.cleaned_data.get("seen") or 0,  # a page that does not say what it showed is a stale one
    )
    return by, form.outcome(happened)


def ref_of(by: Author) -> str:
    return by.ref.removeprefix("person:")


def signing(request: SiteRequest, form: AskForm, at: datetime) -> Author:
    """Who acts: the person signed in, with their PIN where the step is signed, or another by name and PIN."""
    other = form.cleaned_data.get("sign_in", "")
    if not (form.signed or other):
        return request.author
    return sign_again(
        site=request.site, here=request.person, sign_in=other, pin=form.cleaned_data["pin"], at=at
    )


def second_signing(request: SiteRequest, form: AskForm, at: datetime) -> str:
    """Who the second person is, who signs on the same device by name and PIN. Raises PinRefused."""
    name, pin = form.cleaned_data["second_sign_in"], form.cleaned_data["second_pin"]
    first = form.cleaned_data.get("sign_in") or request.person.sign_in
    if tidy_sign_in(name) == tidy_sign_in(first):
        raise PinRefused(
            "This is the first person once more; someone else of this site would be right.",
            field="second_sign_in",
        )
    try:
        second = signer(request.site, name, pin, at, by=request.author)
    except PinRefused as refused:
        raise PinRefused(refused.message, field=f"second_{refused.field or 'sign_in'}") from refused
    return second.ref
