"""Every address of the product, out of the routes themselves, for one permit, machine, point and person."""

from __future__ import annotations

from dataclasses import dataclass

from django.urls import URLPattern, URLResolver, get_resolver, reverse

from permits.work.forms.late import KINDS

MACHINES = ("CUT", "DRILL", "BOARD")


@dataclass(frozen=True)
class Route:
    """One named route. `parts`: what its address names."""

    name: str
    parts: tuple[str, ...]

    @property
    def of_a_permit(self) -> bool:
        return "reference" in self.parts


def routes(patterns=None, space: str = "", named: tuple[str, ...] = ()) -> list[Route]:
    """All routes, in the order in which they are tried."""
    found: list[Route] = []
    for one in get_resolver().url_patterns if patterns is None else patterns:
        parts = (*named, *one.pattern.regex.groupindex)
        if isinstance(one, URLResolver):
            found += routes(one.url_patterns, one.namespace or space, parts)
        elif isinstance(one, URLPattern):
            parts = tuple(part for part in parts if part not in (one.default_args or {}))
            found.append(Route(f"{space}:{one.name}", parts))
    return found


def address(route: Route, *, permit: str, machine: str, token: str, code: str, person: str) -> str:
    """The route's address for these; numbers are 1, what goes on paper is the first kind of it."""
    stands_for = {
        "reference": permit, "machine": machine, "token": token, "code": code, "ref": person,
        "kind": sorted(KINDS)[0],
    }  # fmt: skip
    if route.name.startswith("work:enter-late"):
        stands_for["kind"] = sorted(KINDS)[sum(map(ord, code + machine)) % len(KINDS)]
    return reverse(route.name, kwargs={part: stands_for.get(part, "1") for part in route.parts})
