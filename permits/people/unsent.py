"""What was sent and reached nobody: the session had ended, no site was open, the page's token was too old.

Silence would look like success. So the next page says that nothing was recorded, and leads to the form.
"""

import inspect
import logging
from collections.abc import Callable, Iterator
from typing import Any, Final
from urllib.parse import urlencode, urlsplit

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import Resolver404, resolve, reverse
from django.utils.http import url_has_allowed_host_and_scheme

logger = logging.getLogger("permits.access")

SAFE: Final = frozenset({"GET", "HEAD", "OPTIONS", "TRACE"})
NOT_RECORDED: Final = "Not recorded: {why}. If it was a STOP, shout first; then {then} and send it again."


def say_not_recorded(request: HttpRequest, why: str, then: str) -> None:
    """For the next page, where something was sent: why nothing came of it, and what to do."""
    if request.method not in SAFE:
        messages.error(request, NOT_RECORDED.format(why=why, then=then))


def page_with_form(request: HttpRequest) -> str:
    """Where to go on: the page that was asked for; where something was sent, the page that has its form."""
    if request.method in SAFE:
        return request.get_full_path()
    return next((path for path in _candidates(request) if _shows_a_page(path)), "/")


def _candidates(request: HttpRequest) -> Iterator[str]:
    """The page that it was sent from, as the browser says; its own address; then what lies above that."""
    came_from = request.headers.get("Referer", "")
    if url_has_allowed_host_and_scheme(came_from, {request.get_host()}, require_https=request.is_secure()):
        parts = urlsplit(came_from)
        yield parts.path + (f"?{parts.query}" if parts.query else "")
    yield request.get_full_path()
    above = request.path.rstrip("/")
    while above:
        above = above.rpartition("/")[0]
        yield f"{above}/"


def _shows_a_page(address: str) -> bool:
    try:
        view = resolve(urlsplit(address).path).func
    except Resolver404:
        return False
    return "GET" in _methods(view)


def _methods(view: Callable[..., Any] | None) -> list[str]:
    """What Django's require_http_methods lets through to this view; it keeps them in its closure."""
    while view is not None:
        kept = inspect.getclosurevars(view).nonlocals.get("request_method_list")
        if kept is not None:
            return list(kept)
        view = getattr(view, "__wrapped__", None)
    return ["GET"]


def csrf_failed(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Django's CSRF_FAILURE_VIEW: the form's token is not this session's, mostly because its page is old."""
    logger.warning("%s %r came with a token of no session: %s", request.method, request.path, reason)
    there = page_with_form(request)
    if not getattr(request, "person", None) and not there.startswith(reverse("people:sign-in")):
        there = reverse("people:sign-in") + "?" + urlencode({"next": there})
    return render(request, "people/not_recorded.html", {"page": there}, status=403)
