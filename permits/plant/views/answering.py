"""How a page of the plant asks and answers: look up, ask by form, carry out once, go where it shows."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils.timezone import now
from django.views.decorators.http import require_http_methods

from permits.ledger.sent import Key, SentOtherwise
from permits.people.access import SiteRequest
from permits.people.repeats import NotTaken, give_fresh_key, not_taken, sent_with, was_done
from permits.plant import actions, queries
from permits.plant.forms import KeyedForm
from permits.plant.models import Machine, Node
from permits.plant.pages.procedures import broken_procedures
from permits.plant.rules.plantfile import PlantFileErrors

get_or_post = require_http_methods(["GET", "HEAD", "POST"])


@dataclass(frozen=True, slots=True)
class Refusal:
    """What was asked and what stands against it, as components/refusal.html takes it."""

    asked: str
    unmet: tuple[dict[str, Any], ...]

    @classmethod
    def of(cls, asked: str, reasons: Iterable[str], path: Iterable[str] = ()) -> Refusal:
        return cls(asked, tuple({"what": reason, "path": tuple(path)} for reason in reasons))


@dataclass(frozen=True, slots=True)
class Page:
    """The page that asks. `back`: address and words of the way back; `more`: what its template needs."""

    title: str
    back: tuple[str, str]
    template: str = "plant/ask.html"
    more: dict[str, Any] | None = None


def posted(request: HttpRequest) -> QueryDict | None:
    """What was posted, or None when the form is only asked for."""
    return request.POST if request.method == "POST" else None


def machine_or_404(request: SiteRequest, code: str) -> Machine:
    """The machine of the open site; one of another site is not found."""
    try:
        return queries.machine_of(request.site, code)
    except Machine.DoesNotExist:
        raise Http404(f"There is no machine {code} at {request.site.name}.") from None


def node_or_404(request: SiteRequest, code: str) -> Node:
    """The node of the open site; one of another site is not found."""
    try:
        return queries.node_of(request.site, code)
    except Node.DoesNotExist:
        raise Http404(f"There is no node {code} at {request.site.name}.") from None


def answer(
    request: SiteRequest,
    form: KeyedForm,
    act: Callable[[datetime, Key], object],
    page: Page,
    *,
    to: Callable[[], str],
    done: str,
    asked: str = "",
    path: Callable[[], Iterable[str]] = tuple,
) -> HttpResponse:
    """Asks by the form; when it was answered, calls `act` once with the time and its key, and goes to `to`.

    Refused, the page comes again as typed, with every reason, and with the path where there is one.
    """
    refusal: Refusal | NotTaken | None = None
    try:
        if form.is_bound and was_done(request):
            return redirect(to())
        if form.is_bound and form.is_valid() and (sent := sent_with(request)):
            broken = broken_procedures(request.site)
            act(now(), sent)
            messages.success(request, done)
            tell_broken(request, broken)
            return redirect(to())
    except actions.AlreadyDone:
        return redirect(to())
    except SentOtherwise as other:
        refusal = not_taken(request, other, asked)
        give_fresh_key(form)
    except PlantFileErrors as errors:
        form.show_errors(errors)
    except actions.PlantRefused as refused:
        refusal = Refusal.of(asked, refused.reasons, path())
    context = {"form": form, "page": page, "refusal": refusal, **(page.more or {})}
    status = 409 if refusal else 422 if form.is_bound else 200
    return render(request, page.template, context, status=status)


def tell_broken(request: SiteRequest, before: dict[int, str]) -> None:
    """Says which approved procedures the change has just broken."""
    for row, procedure in broken_procedures(request.site).items():
        if row not in before:
            messages.warning(
                request,
                f"{procedure}, no longer holds: no permit can be issued from it. Write a new revision.",
            )
