"""Danger areas: who says they are clear of people, and for how long that is believed."""

from __future__ import annotations

from collections.abc import Iterator

from permits.plant.rules.energy import Kind
from permits.plant.rules.plan import isolates

from . import commands as c
from . import events as e
from .against import phase_is_not, the_permit
from .refusal import Unmet, refuse_if
from .state import Permit, Site
from .whom import FROM_THE_LIST, NOTHING_LEFT, comes_out, page_of
from .words import Phase, Seen

ASKED_IN = (Phase.ISOLATING, Phase.ISOLATED, Phase.TESTING, Phase.RESTORING)


def areas_to_confirm(site: Site, p: Permit) -> tuple[str, ...]:
    """Danger areas that energy can reach when this permit's freed points (or all, when restoring) are closed.

    Locks that stay on, of any permit, stop it. The outfeed of the permit's own machines is always among
    them: parts fly further than energy is drawn. Only where another permit's own locks keep that outfeed
    dead, while this machine goes back to service beside it, is there nothing to confirm.
    """
    sanction = p.sanction
    freed = frozenset(p.points if p.phase is Phase.RESTORING or sanction is None else sanction.points)
    others = frozenset().union(*(o.locked for o in site.others(p)))
    reached = site.danger_areas(freed - others, locked=still_locked(site, p, freed))
    mine = set(site.machines_of(p.zones))
    outfeeds = {
        node.id
        for node in site.graph.danger_areas
        if node.outfeed
        and node.machine in mine
        and not (p.phase is Phase.RESTORING and kept_dead(site, p, node.id))
    }
    return tuple(area.id for area in site.graph.danger_areas if area.id in reached or area.id in outfeeds)


def kept_dead(site: Site, p: Permit, area: str) -> bool:
    """Does another permit keep the area proven dead by its own locks?"""
    return any(
        other.phase is Phase.ISOLATED
        and area in other.zones
        and not isolates(site.graph, (area,), other.locked, other.released)
        for other in site.others(p)
    )


def still_locked(site: Site, p: Permit, freed: frozenset[str]) -> frozenset[str]:
    """Points that stay locked when this permit takes its own locks off the freed ones."""
    others = frozenset().union(*(o.locked for o in site.others(p)))
    return (p.locked - freed) | others


def confirm_clear(site: Site, ask: c.ConfirmClear) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_confirming(site, p, ask))
    left = {} if ask.one_place else walked_on_from(site, ask)
    return [
        e.ConfirmedClear(
            permit=p.id,
            by=ask.by,
            at=ask.at,
            areas=tuple(dict.fromkeys(ask.areas)),
            how=ask.how,
            watching=ask.watching,
            elsewhere=left.pop(p.id, ()),
            seen_by=ask.seen_by,
        ),
        *(e.ConfirmationsVoided(permit=id, by=ask.by, at=ask.at, areas=areas) for id, areas in left.items()),
    ]


def walked_on_from(site: Site, ask: c.ConfirmClear) -> dict[str, tuple[str, ...]]:
    """Areas, by permit, that whoever sees these ones saw from where they no longer stand."""
    eyes, found = ask.seen_by or ask.by, {}
    for permit in site.open:
        areas = (s.area for s in permit.confirmations if s.eyes == eyes and s.void_at is None)
        if left := tuple(dict.fromkeys(area for area in areas if area not in ask.areas)):
            found[permit.id] = left
    return found


def against_confirming(site: Site, p: Permit, ask: c.ConfirmClear) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, *ASKED_IN, asked="confirming an area clear")
    if not ask.areas:
        yield Unmet("no-area", "No area is named.", "You name the areas that you see now, on this page.")
    for area in ask.areas:
        node = site.graph.nodes.get(area)
        if node is None or node.kind is not Kind.ZONE:
            yield Unmet("no-such-area", f"{area} is not an area of this site.", FROM_THE_LIST)
    if len(set(ask.areas)) > 1 and not ask.one_place:
        yield Unmet(
            "not-one-place",
            "Several areas can be confirmed by one person only if all are seen from one place.",
            "You confirm that you see them all from where you stand; or someone who sees the others confirms "
            "those.",
        )
    if ask.watching and ask.how is Seen.RADIO:
        yield Unmet(
            "watch-by-radio",
            "An area is watched by someone who sees it, not by radio.",
            "Whoever keeps watch confirms it themselves, at their own phone; or you confirm it for now, "
            "without a watch.",
        )
    yield from nobody_sees(site, ask)
    for permit in site.open:
        for on in permit.signed_on:
            for area in permit.zones:
                if area in ask.areas and area in site.graph.nodes:
                    yield Unmet(
                        "someone-inside",
                        f"{site.name(on.person)} is signed on in {site.graph.name(area)} under {permit.id}; "
                        "it is not clear.",
                        comes_out(site, permit, on),
                    )
            if on.person == ask.by and ask.watching:
                yield Unmet(
                    "watcher-inside",
                    f"{site.name(ask.by)} is signed on under {permit.id}; a watcher stays outside.",
                    f"You come out and sign off first, {page_of(permit)}; or someone outside keeps watch.",
                )


def nobody_sees(site: Site, ask: c.ConfirmClear) -> Iterator[Unmet]:
    """What is told by radio is seen by somebody else, and the record says by whom (design §5.9)."""
    told = ask.how is Seen.RADIO
    if told and (ask.seen_by not in site.people or ask.seen_by == ask.by):
        yield Unmet(
            "seen-by-nobody",
            "It is not said who sees the areas and told you by radio.",
            "You name that person of this site, on this page; or they confirm it themselves, at their own "
            "phone.",
        )
    for permit in site.open if told and not ask.one_place else ():
        theirs = (s for s in permit.confirmations if s.by == ask.seen_by and s.watching and s.void_at is None)
        for area in (s.area for s in theirs if s.area not in ask.areas):
            yield Unmet(
                "watches-elsewhere",
                f"{site.name(ask.seen_by)} keeps watch on {site.graph.name(area)} for {permit.id}, and is "
                "not said to see these areas from there.",
                f"{site.name(ask.seen_by)} leaves that watch first, {page_of(permit)}; or you name someone "
                "else, on this page.",
            )
    if not told and ask.seen_by:
        yield Unmet(
            "seen-by-two",
            f"{site.name(ask.seen_by)} is named as seeing the areas, but not as telling it by radio.",
            "You say on this page whether you see the areas yourself, or are told by radio.",
        )


def others_inside(site: Site, p: Permit) -> Iterator[Unmet]:
    """Nobody is in the zones of a test, whatever keeps the energy from them (design §5, *testing*)."""
    for other in site.others(p):
        for zone in (zone for zone in p.zones if zone in other.zones and zone in site.graph.nodes):
            for on in other.signed_on:
                yield Unmet(
                    "someone-inside",
                    f"{site.name(on.person)} is signed on in {site.graph.name(zone)} under {other.id}.",
                    comes_out(site, other, on),
                )


def under_test(site: Site, p: Permit) -> Iterator[Unmet]:
    """Zones and danger areas of another permit's test: nobody goes in there, locked for them or not."""
    for other in site.others(p):
        if other.phase is not Phase.TESTING:
            continue
        kept_clear = {*other.zones, *areas_to_confirm(site, other)}
        for zone in (zone for zone in p.zones if zone in kept_clear and zone in site.graph.nodes):
            yield Unmet(
                "under-test",
                f"{site.graph.name(zone)} is kept clear for the test under power of {other.id}.",
                f"{site.name(other.holder)} isolates again when that test is over, {page_of(other)}.",
            )


def leave_watch(site: Site, ask: c.LeaveWatch) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    if not any(s.by == ask.by and s.watching and s.void_at is None for s in p.confirmations):
        refuse_if(
            [
                Unmet(
                    "not-watching",
                    f"{site.name(ask.by)} is not posted as a watcher.",
                    NOTHING_LEFT,
                )
            ]
        )
    return [e.WatchLeft(permit=p.id, by=ask.by, at=ask.at)]
