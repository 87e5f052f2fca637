"""Energy and people: whom it would reach, which tests it would undo, which stores it would fill again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime

from permits.plant.rules.exposure import fed
from permits.plant.rules.plan import isolates

from .against import name_of
from .refusal import Unmet
from .state import Permit, Site
from .whom import comes_out, spot, the_crew
from .words import Phase, Verification

NOTHING: frozenset[str] = frozenset()
RELIES = (Phase.ISOLATING, Phase.ISOLATED)  # phases in which a verification is leant on


def names(site: Site, path: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(site.graph.name(id) if id in site.graph.nodes else id for id in path)


def through(path: tuple[str, ...]) -> str:
    return " → ".join(path)


def reached_zones(
    site: Site, permit: Permit, opening: frozenset[str] = NOTHING
) -> dict[str, tuple[str, ...]]:
    """The permit's zones that energy reaches through its own locks and releases alone, each with the path.

    What hangs at the `opening` points does not count. A lock on what the plant no longer takes for a lockable
    isolator stops nothing, and a zone that is gone from the plant can't be proven.
    """
    return isolates(site.graph, permit.zones, permit.locked - opening, permit.released - opening)


def plan_falls_short(site: Site, permit: Permit) -> dict[str, tuple[str, ...]]:
    """The permit's zones that its whole plan, carried out, would not isolate in the plant as it is now."""
    return isolates(site.graph, permit.zones, permit.plan_lock, permit.plan_release)


def reached_crew(site: Site, permit: Permit, opening: frozenset[str] = NOTHING) -> Iterator[Unmet]:
    """Everyone signed on under the permit whom energy would reach with the `opening` points closed."""
    if not permit.signed_on:
        return
    for path in reached_zones(site, permit, opening).values():
        way = names(site, path)
        for on in permit.signed_on:
            yield Unmet(
                "exposes-crew",
                f"{site.name(on.person)}, signed on under {permit.id} in {way[-1]}, "
                f"would be reached through {through(way)}.",
                f"{comes_out(site, permit, on)} Or you leave out the points on this path.",
                (*way, site.name(on.person)),
            )


def made_worse(before: Site, after: Site) -> Iterator[Permit]:
    """Permits that lost a lock or a release, or have someone more inside."""
    for permit in after.open:
        was = before.permits.get(permit.id)
        if (
            was is None
            or not (was.locked <= permit.locked and was.released <= permit.released)
            or {on.person for on in permit.signed_on} - {on.person for on in was.signed_on}
        ):
            yield permit


# ── tests that rely on nothing upstream ─────────────────────────────────────────────────────────────────


def fed_again(site: Site) -> Iterator[tuple[Permit, str, tuple[str, ...]]]:
    """Standing tests that were made with nothing upstream, at points which something feeds now; and the path.

    Upstream is what really stands there: every lock and release at the site counts, of any permit.
    """
    for permit in site.open:
        if permit.phase not in RELIES:
            continue
        for point in permit.points:
            test = permit.verification(point)
            if test is None or not relies_on_dead_upstream(test) or point not in site.graph.nodes:
                continue
            path = fed(site.graph, point, locked=site.locked, released=site.released)
            if path is not None:
                yield permit, point, names(site, path)


def relies_on_dead_upstream(test: Verification) -> bool:
    return test.passed and test.void_at is None and not test.fed


def is_proven(site: Site, permit: Permit, point: str, now: datetime) -> bool:
    """Is the point's test good, and does what it was made on still stand?

    While someone may lean on a test, whatever feeds its point again voids it by an entry. Under a sanction
    and when restoring nobody does, and nothing is written; a test that was made with nothing upstream proves
    nothing there all the same.
    """
    test = permit.verification(point)
    if test is None or not test.is_good(now):
        return False
    if permit.phase in RELIES or not relies_on_dead_upstream(test) or point not in site.graph.nodes:
        return True
    return fed(site.graph, point, locked=site.locked, released=site.released) is None


def protects_less(before: Site, after: Site) -> bool:
    """Did any point lose its last lock, or any store its last release?"""
    return not (before.locked <= after.locked and before.released <= after.released)


def relied_on(site: Site) -> Iterator[Unmet]:
    """Everyone signed on who relies on a test that was made with nothing upstream, where something is now."""
    for permit, point, way in fed_again(site):
        for on in permit.signed_on:
            yield Unmet(
                "relies-on-dead-upstream",
                f"{site.name(on.person)}, signed on under {permit.id}, relies on {name_of(site, point)}, "
                f"which was tested with nothing upstream; it would be fed again through {through(way)}.",
                f"{comes_out(site, permit, on)} Then {the_crew(site, permit)} tests {spot(site, point)} "
                "again.",
                way,
            )


def opened(site: Site, permit: Permit, points: frozenset[str]) -> Site:
    """The site as if the permit's own locks and releases at the points were gone."""
    locks = tuple(lock for lock in permit.locks if lock.where not in points)
    releases = tuple(r for r in permit.releases if r.point not in points)
    without = replace(permit, locks=locks, releases=releases, phase=Phase.TESTING)
    site = replace(site, permits={**site.permits, permit.id: without})
    gone = recharged(site, without)
    without = replace(without, releases=tuple(r for r in releases if r.point not in gone))
    return replace(site, permits={**site.permits, permit.id: without})


# ── stores that fill again ──────────────────────────────────────────────────────────────────────────────


def recharged(site: Site, permit: Permit) -> tuple[str, ...]:
    """Stores released for the permit that energy fills again past its own locks, in the plan's order.

    What a prop, pin, bleed or earth holds stays released while it is there. While a plan is carried out its
    stores, still to be released, do not count as feeding each other: the plan's order sees to that.
    """
    nodes = site.graph.nodes
    held = set(permit.released)
    while True:
        empty = held if permit.phase not in RELIES else held | set(permit.plan_release)
        filled = {
            point
            for point in held
            if point in nodes
            and not is_undoable(site, point)
            and fed(site.graph, point, locked=permit.locked, released=empty) is not None
        }
        if not filled:
            break
        held -= filled
    return tuple(point for point in permit.points if point in permit.released - held)


def is_undoable(site: Site, point: str) -> bool:
    """Is the store held by a prop, pin, open bleed or earth that someone could take away?"""
    node = site.graph.nodes.get(point)
    return node is not None and node.release is not None and node.release.undoable


def truly_locked(site: Site, permit: Permit) -> frozenset[str]:
    """Points that carry a padlock of the permit, or a tag where the plant still takes a tag for one."""
    nodes = site.graph.nodes
    return frozenset(
        lock.where
        for lock in permit.hanging
        if not lock.is_tag or (lock.where in nodes and nodes[lock.where].tag_only is not None)
    )


def carries_lock(site: Site, permit: Permit) -> tuple[str, ...]:
    """The plan's points that a padlock hangs on: isolators, and stores whose release can be undone."""
    return tuple(
        point
        for point in permit.points
        if point in permit.plan_lock or (point in permit.plan_release and is_undoable(site, point))
    )
