"""What a person was told, and that they have read it."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import now
from django.views.decorators.http import require_POST

from permits.people.access import SiteRequest, safe_next, signed_in
from permits.work import queries
from permits.work.reading import mark_read
from permits.work.views.answering import get_only
from permits.work.views.ways import address


@signed_in
@get_only
def messages(request: SiteRequest) -> HttpResponse:
    """Mine, unread and urgent first, with the way to the permit."""
    lines = queries.messages_of(request.site, request.person.ref)
    told = [(line, address(line.permit, "acknowledge") if line.to_acknowledge else "") for line in lines]
    newest = max((line.number for line in lines), default=0)
    return render(request, "work/messages.html", {"told": told, "newest": newest})


@signed_in
@require_POST
def read(request: SiteRequest) -> HttpResponse:
    """One message, or every one up to the newest that the page showed; a second time changes nothing."""
    one, up_to = (request.POST.get(name, "") for name in ("message", "up_to"))
    mark_read(
        site=request.site,
        person=request.person.ref,
        message=int(one) if one.isdecimal() else None,
        up_to=int(up_to) if up_to.isdecimal() else 0,
        at=now(),
    )
    return redirect(safe_next(request, request.POST.get("next") or "/messages/"))
