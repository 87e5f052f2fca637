"""Danger areas: who says they are clear of people, and for how long that is believed."""

from __future__ import annotations

from collections.abc import Iterator

from permits.plant.rules.energy import Kind

from . import commands as c
from . import events as e
from .against import phase_is_not, the_permit
from .refusal import Unmet, refuse_if
from .state import Permit, Site
from .words import Phase


def areas_to_confirm(site: Site, p: Permit) -> tuple[str, ...]:
    """Danger areas that energy can reach when this permit's freed points (or all, when restoring) are closed.

    Locks that stay on, of any permit, stop it.
    """
    sanction = p.sanction
    freed = frozenset(p.points if p.phase is Phase.RESTORING or sanction is None else sanction.points)
    return site.danger_areas(freed, locked=still_locked(site, p, freed))


def still_locked(site: Site, p: Permit, freed: frozenset[str]) -> frozenset[str]:
    """Points that stay locked when this permit takes its own locks off the freed ones."""
    others = frozenset().union(*(o.locked for o in site.permits.values() if o.id != p.id))
    return (p.locked - freed) | others


def confirm_clear(site: Site, ask: c.ConfirmClear) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_confirming(site, p, ask))
    elsewhere = tuple(
        standing.area
        for standing in p.confirmations
        if standing.by == ask.by and standing.void_at is None and standing.area not in ask.areas
    )
    return [
        e.ConfirmedClear(
            permit=p.id,
            by=ask.by,
            at=ask.at,
            areas=tuple(dict.fromkeys(ask.areas)),
            how=ask.how,
            watching=ask.watching,
            elsewhere=() if ask.one_place else elsewhere,
        )
    ]


def against_confirming(site: Site, p: Permit, ask: c.ConfirmClear) -> Iterator[Unmet]:
    yield from phase_is_not(
        p, Phase.ISOLATED, Phase.TESTING, Phase.RESTORING, asked="confirming an area clear"
    )
    if not ask.areas:
        yield Unmet("no-area", "No area is named.", "Name the areas that you see now.")
    for area in ask.areas:
        node = site.graph.nodes.get(area)
        if node is None or node.kind is not Kind.ZONE:
            yield Unmet("no-such-area", f"{area} is not an area of this site.", "Choose from the list.")
    if len(set(ask.areas)) > 1 and not ask.one_place:
        yield Unmet(
            "not-one-place",
            "Several areas can be confirmed by one person only if all are seen from one place.",
            "Confirm that you see them all from where you stand, or let another person confirm the others.",
        )
    for permit in site.permits.values():
        for on in permit.signed_on:
            for area in set(ask.areas) & set(permit.zones):
                yield Unmet(
                    "someone-inside",
                    f"{site.name(on.person)} is signed on in {site.graph.name(area)} under {permit.id}; it is not clear.",
                    f"{site.name(on.person)} signs off first.",
                )


def leave_watch(site: Site, ask: c.LeaveWatch) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    if not any(s.by == ask.by and s.watching and s.void_at is None for s in p.confirmations):
        refuse_if(
            [
                Unmet(
                    "not-watching",
                    f"{site.name(ask.by)} is not posted as a watcher.",
                    "Nothing is left to do.",
                )
            ]
        )
    return [e.WatchLeft(permit=p.id, by=ask.by, at=ask.at)]
