"""How a page of this room asks and answers: look up, carry out once, or show what is missing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.timezone import now

from permits.calibration import models as rows
from permits.calibration import queries
from permits.calibration.actions import Who
from permits.calibration.forms import KeyedForm, OnPermitForm
from permits.ledger.sent import SentOtherwise
from permits.people.access import Role, SiteRequest
from permits.people.repeats import NotTaken, give_fresh_key, is_repeat, not_taken, sent_with, was_done
from permits.plant import queries as plant
from permits.plant.models import Machine
from permits.work import queries as work
from permits.work.models import Permit
from permits.work.rules.moved_on import PageStale
from permits.work.rules.refusal import Refused
from permits.work.views.answering import look_or_404

READERS = (Role.OFFICER, Role.AUDITOR, Role.TECHNICIAN)
"""Who may read how an axis has gone over time."""


def posted(request: SiteRequest) -> QueryDict | None:
    """What was posted, or None when the form is only asked for."""
    return request.POST if request.method == "POST" else None


def machine_or_404(request: SiteRequest, code: str) -> Machine:
    """The machine of the open site; one of another site is not found."""
    try:
        return plant.machine_of(request.site, code)
    except Machine.DoesNotExist:
        raise Http404(f"There is no machine {code} at {request.site.name}.") from None


def axis_or_404(request: SiteRequest, machine: str, pk: int) -> rows.Axis:
    found = queries.axis_of(machine_or_404(request, machine), pk)
    if found is None:
        raise Http404(f"{machine} has no such axis.")
    return found


def permit_row(request: SiteRequest, reference: str) -> Permit:
    found = Permit.objects.filter(site=request.site, reference=reference).select_related("site").first()
    if found is None:
        raise Http404(f"There is no permit {reference} at {request.site.name}.")
    return found


def who(request: SiteRequest, form: KeyedForm) -> Who:
    """Who acts by this form; one that does not say what its page showed came from a stale one."""
    seen = (form.cleaned_data["seen"] or 0) if isinstance(form, OnPermitForm) else None
    return Who(by=request.author, at=now(), key=sent_with(request), seen=seen)


def sent_otherwise(request: SiteRequest, form: KeyedForm, asked: str) -> NotTaken | None:
    """Why it is not done where its key was used for another request; the form can be sent again then."""
    try:
        was_done(request)
    except SentOtherwise as other:
        give_fresh_key(form)
        return not_taken(request, other, asked)
    return None


def refused(
    request: SiteRequest, form: KeyedForm, act: Callable[[], None], asked: str
) -> Refused | NotTaken | None:
    """Carry out one act; what stands against it, where something does."""
    try:
        act()
    except Refused as refusal:
        refusal.asked = asked
        return refusal
    except SentOtherwise:  # while this one was on its way
        return sent_otherwise(request, form, asked)
    return None


def status_of(form: KeyedForm, refusal: Refused | NotTaken | None) -> int:
    return 409 if refusal else 422 if form.is_bound else 200


def answer(
    request: SiteRequest,
    form: KeyedForm,
    act: Callable[[], None],
    *,
    template: str,
    context: dict[str, Any],
    to: Callable[[], HttpResponse],
    done: str,
    asked: str,
) -> HttpResponse:
    """Asks by a form; carries it out once when it was answered, and goes where it shows."""
    if form.is_bound and is_repeat(request):
        return to()
    refusal: Refused | NotTaken | None = None
    if form.is_bound:
        refusal = sent_otherwise(request, form, asked)
    if form.is_bound and not refusal and form.is_valid():
        refusal = refused(request, form, act, asked)
        if refusal is None:
            messages.success(request, done)
            return to()
    found = {"form": form, "refusal": refusal, **context}
    if isinstance(refusal, PageStale) and isinstance(form, OnPermitForm):
        found |= up_to_date(request, form, refusal, context["page"].id)
    return render(request, template, found, status=status_of(form, refusal))


def up_to_date(request: SiteRequest, form: OnPermitForm, refusal: PageStale, permit: str) -> dict[str, Any]:
    """What happened since the form's page was shown, and the permit as it is now: the form has seen it."""
    seen = look_or_404(request, permit, now())
    form.shows(seen.seen)
    return {"since": work.since(seen.site, refusal), "page": work.permit_page(seen, request.person.ref)}


def take_out(
    request: SiteRequest,
    act: Callable[[Who], None],
    *,
    title: str,
    say: str,
    to: str,
    args: list[Any],
    done: str,
) -> HttpResponse:
    """Asks before something is taken out of use; what it did stays in the record."""
    form = KeyedForm(posted(request))
    return answer(
        request,
        form,
        lambda: act(who(request, form)),
        template="calibration/take_out.html",
        context={"title": title, "say": say, "back": reverse(to, args=args)},
        to=lambda: redirect(to, *args),
        done=done,
        asked=title[0].lower() + title[1:],
    )
