"""How the pages about one person ask and answer: look the person up at the open site, ask, do it, go back."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils.timezone import now
from django.views.decorators.http import require_http_methods

from permits.people import forms, queries
from permits.people.access import SiteRequest
from permits.people.models import Person
from permits.people.rules.declined import Declined

get_or_post = require_http_methods(["GET", "HEAD", "POST"])


def posted(request: HttpRequest) -> QueryDict | None:
    """What was posted, or None when the form is only asked for."""
    return request.POST if request.method == "POST" else None


def person_or_404(request: SiteRequest, ref: str) -> Person:
    """The person with this reference at the open site; someone of another site is not found."""
    person = queries.person_at(request.site, ref)
    if person is None:
        raise Http404(f"Nobody at {request.site.name} has the reference {ref}.")
    return person


def ask(
    request: SiteRequest,
    form: Form,
    title: str,
    *,
    who: Person | None = None,
    template: str = "people/ask.html",
) -> HttpResponse:
    """The page with one form, as typed when it was posted."""
    context = {"form": form, "title": title, "who": who}
    return render(request, template, context, status=422 if form.is_bound else 200)


def answer(
    request: SiteRequest,
    who: Person,
    form: Form,
    *,
    title: str,
    done: str,
    act: Callable[..., object],
    what: dict[str, Any] | None = None,
) -> HttpResponse:
    """Asks by `form`; when it was answered, calls `act` once and goes back to the person's page.

    `what` is whom or what the act is about: the person, unless given.
    """
    if form.is_valid():
        try:
            act(
                site=request.site,
                by=request.author,
                at=now(),
                **(what or {"person": who}),
                **form.cleaned_data,
            )
        except Declined as declined:
            forms.show_declined(form, declined)
        else:
            messages.success(request, done)
            return redirect("people:person", who.ref)
    return ask(request, form, title, who=who)
