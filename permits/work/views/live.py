"""How a page stays live: its version travels as an entity tag, with the plant's clock beside it."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpResponse
from django.utils.timezone import localtime

from permits.people.access import SiteRequest
from permits.work import queries

CLOCK = "Plant-Clock"  # the time at the plant as the answer was made, for "not live since"


def is_unchanged(request: SiteRequest, entry: int, at: datetime) -> bool:
    """Does the browser show the page as it is? `entry`: the site's last one."""
    shown = request.headers.get("If-None-Match", "")
    return bool(shown) and queries.still_holds(shown, request.site, entry, at)


def unchanged(at: datetime) -> HttpResponse:
    return clocked(HttpResponse(status=304), at)


def kept_live(page: HttpResponse, version: queries.Version, at: datetime) -> HttpResponse:
    """The page with its version, for the browser to send back."""
    page["ETag"] = version.tag
    return clocked(page, at)


def clocked(page: HttpResponse, at: datetime) -> HttpResponse:
    page[CLOCK] = f"{localtime(at):%H:%M:%S}"
    return page
