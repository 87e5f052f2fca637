"""What every page's header says of a person's unread messages."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from permits.work.queries import Unread, unread_of


def page_context(request: HttpRequest) -> dict[str, Any]:
    """`unread` for every template; one query, and only where a template asks."""
    site, person = getattr(request, "site", None), getattr(request, "person", None)
    if not (site and person):
        return {"unread": Unread()}
    return {"unread": SimpleLazyObject(lambda: unread_of(site, person.ref))}
