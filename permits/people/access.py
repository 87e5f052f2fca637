"""Who may open which page: every view carries a mark, and the middleware enforces it.

`@allow(Role.OFFICER, …)`   one of these roles at the site that is open
`@signed_in`                anyone with any role at the site that is open
`@signed_in_anywhere`       anyone signed in, also before a site is chosen
`@public`                   everyone

A view without a mark is an error, never a default. Access is which pages a role may open; what a person may
do to one permit is for the rules.
"""

import logging
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar
from urllib.parse import urlencode

from django.contrib.auth import SESSION_KEY
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import ImproperlyConfigured
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import add_never_cache_headers
from django.utils.http import url_has_allowed_host_and_scheme

from permits.ledger.author import Author
from permits.people.models import Membership, Person, Site
from permits.people.rules.roles import Role
from permits.people.unsent import page_with_form, say_not_recorded

__all__ = [
    "AccessMiddleware",
    "Door",
    "Role",
    "SiteRequest",
    "allow",
    "open_site",
    "page_context",
    "public",
    "safe_next",
    "signed_in",
    "signed_in_anywhere",
]

logger = logging.getLogger("permits.access")

SITE_KEY = "site"

View = TypeVar("View", bound=Callable[..., HttpResponseBase])


class SiteRequest(HttpRequest):
    """A request as views behind `@allow` and `@signed_in` see it."""

    site: Site  # type: ignore[assignment]
    person: Person
    roles: frozenset[Role]
    sites: tuple[Site, ...]
    author: Author


@dataclass(frozen=True, slots=True)
class Door:
    """What a view asks of whoever opens it; `roles` is every role where any will do."""

    person: bool = True
    site: bool = True
    roles: frozenset[Role] = frozenset(Role)


def allow(*roles: Role) -> Callable[[View], View]:
    """Marks a view for people who have one of `roles` at the site that is open."""
    if not roles:
        raise ImproperlyConfigured(
            "allow() names no role; @signed_in would be right for any member of the site"
        )
    return _marked(Door(roles=frozenset(Role(role) for role in roles)))


def signed_in(view: View) -> View:
    """Marks a view for anyone with any role at the site that is open."""
    return _marked(Door())(view)


def signed_in_anywhere(view: View) -> View:
    """Marks a view for anyone signed in, even before a site is chosen or the first password is changed."""
    return _marked(Door(site=False))(view)


def public(view: View) -> View:
    """Marks a view for everyone, signed in or not."""
    return _marked(Door(person=False, site=False))(view)


def _marked(door: Door) -> Callable[[View], View]:
    def mark(view: View) -> View:
        view.who_may = door  # type: ignore[attr-defined]
        return view

    return mark


def open_site(request: HttpRequest, site: Site) -> None:
    """Makes `site` the one that this session works at."""
    request.session[SITE_KEY] = site.pk


def safe_next(request: HttpRequest, target: str | None) -> str:
    """`target` if it is a page of this server, else the start page."""
    if target and url_has_allowed_host_and_scheme(
        target, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    ):
        return target
    return "/"


class AccessMiddleware:
    """Knows who asks, at which site, with which roles, and opens or refuses the door of the view."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: SiteRequest) -> HttpResponseBase:
        _recognise(request)
        # Pages show the time at the plant.
        with timezone.override(request.site.timezone if request.site else None):
            response = self.get_response(request)
        if request.person and not response.has_header("Cache-Control"):
            add_never_cache_headers(response)  # a shared phone must not show the last person's pages
        return response

    def process_view(
        self, request: SiteRequest, view: Callable[..., Any], args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> HttpResponseBase | None:
        door = getattr(view, "who_may", None)
        if not isinstance(door, Door):
            raise ImproperlyConfigured(
                f"{view.__module__}.{getattr(view, '__name__', view)} does not say who may open it; "
                "@allow(…), @signed_in or @public would be right"
            )
        if not door.person:
            return None
        if not request.person:
            logger.info("nobody signed in asked for %s %r", request.method, request.path)
            say_not_recorded(request, "your session had ended", "sign in")
            return redirect_to_login(page_with_form(request))
        if not door.site:
            return None
        if request.person.password_is_first:
            say_not_recorded(request, "your first password has to be changed", "change it")
            return redirect("people:password")
        if not request.site:
            say_not_recorded(request, "no site is open", "choose the site")
            return redirect(reverse("people:site") + "?" + urlencode({"next": page_with_form(request)}))
        if not request.roles & door.roles:
            return _refused(request, door)
        return None


def _recognise(request: SiteRequest) -> None:
    """Sets person, sites, site and roles; a session that lost its person (disabled, say) ends here."""
    user = request.user
    request.person = user if isinstance(user, Person) else None  # type: ignore[assignment]
    request.sites, request.site, request.roles = (), None, frozenset()  # type: ignore[assignment]
    if not request.person:
        if SESSION_KEY in request.session:
            logger.warning("a session was ended: its person may no longer sign in")
            request.session.flush()
        return
    request.author = request.person.author
    live = list(
        Membership.objects.live().filter(person=request.person).select_related("site").order_by("site__name")
    )
    request.sites = tuple({one.site_id: one.site for one in live}.values())
    chosen = request.session.get(SITE_KEY)
    found = [site for site in request.sites if site.pk == chosen] or (
        list(request.sites) if len(request.sites) == 1 else []
    )
    if found:
        request.site = found[0]
        request.roles = frozenset(one.kind for one in live if one.site_id == request.site.pk)


def _refused(request: SiteRequest, door: Door) -> HttpResponse:
    """The page that says which roles may open this, and who here has one; the refusal is logged."""
    logger.warning(
        "%s at site %s was refused %s %r: has %s, needs one of %s",
        request.person.about,
        request.site.code,
        request.method,
        request.path,
        ", ".join(sorted(request.roles)),
        ", ".join(sorted(door.roles)),
    )
    rows = (
        Membership.objects.live()
        .filter(site=request.site, role__in=door.roles, person__is_active=True)
        .select_related("person")
        .order_by("person__name")
    )
    names: dict[Role, list[str]] = {role: [] for role in Role if role in door.roles}
    for row in rows:
        names[row.kind].append(row.person.name)
    own = [role for role in Role if role in request.roles]
    return render(request, "people/forbidden.html", {"who_may": list(names.items()), "own": own}, status=403)


def page_context(request: HttpRequest) -> dict[str, Any]:
    """For every template: the person, the open site, their roles there and the sites to switch to."""
    return {
        "site": getattr(request, "site", None),
        "person": getattr(request, "person", None),
        "roles": getattr(request, "roles", frozenset()),
        "sites": getattr(request, "sites", ()),
    }
