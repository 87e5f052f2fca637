"""What must hold in every state, found from what hangs and who is inside, not by the rules' functions."""

from __future__ import annotations

from collections.abc import Iterator

from permits.plant.rules.energy import Kind
from permits.work.rules.state import Permit, Site
from permits.work.rules.words import BOX, Phase, Stage
from tests.work.physics import own_locks, own_releases, sources

from .charge import all_locks, energised, flow, inside, reached_past_own
from .moving import Stand
from .places import NOW, owner_of

PLANT_SAYS = "called out"  # why a permit may be reached: the plant turned out to be another


def in_danger(stand: Stand) -> set[tuple[str, str, str]]:
    """Everyone inside whom energy reaches, past their own permit's protection or really."""
    return reached_past_own(stand.site) | stand.charge.reached(stand.site)


def wrong_state(stand: Stand) -> Iterator[str]:
    site = stand.site
    for permit, person, zone in sorted(in_danger(stand)):
        p = site.permits[permit]
        if p.phase is not Phase.ISOLATING or not p.stopped_because:
            yield f"energy reaches {person} in {zone} under {permit}"
    hanging = [k for p in site.permits.values() for k in p.locks if k.removed_at is None]
    for k in hanging:
        if not k.padlock:
            yield f"a lock of {k.owner} on {k.where} is no padlock"
        elif owner_of(k.padlock) != k.owner:
            yield f"{k.owner} hangs {owner_of(k.padlock)}'s padlock"
    if len({k.padlock for k in hanging}) < len(hanging):
        yield "a padlock hangs in two places"
    for p in site.permits.values():
        yield from wrong_with(stand, p)


def wrong_with(stand: Stand, p: Permit) -> Iterator[str]:
    site, people = stand.site, inside(p)
    if p.phase.is_over:
        if own_locks(p) or people or own_releases(p):
            yield f"{p.id} is over and something hangs or someone is inside"
        return
    if people and p.phase not in (Phase.ISOLATING, Phase.ISOLATED):
        yield f"{people[0]} is inside while {p.id} is {p.phase.value}"
    if len(set(people)) < len(people):
        yield "someone is signed on twice"
    for on in p.signed_on:
        mine = {k.where for k in p.locks if k.owner == on.person and k.removed_at is None}
        if BOX not in mine and not set(p.plan_lock) <= mine:
            yield f"{on.person} is inside without a lock of their own"
    if own_locks(p) and not any(n.stage is Stage.BEFORE for n in p.notices):
        yield "locked before anyone was told"
    if p.holder and p.holder == p.issuer and not site.policy.own_issue:
        yield "issuer and holder are one person"
    if p.phase is Phase.ISOLATED:
        yield from not_isolated(stand, p)
    if p.phase in (Phase.ISOLATING, Phase.ISOLATED):
        yield from leans_on_nothing(site, p)


def not_isolated(stand: Stand, p: Permit) -> Iterator[str]:
    """Isolated: each planned point has this permit's own lock or release, and a standing test of its own."""
    site = stand.site
    for point in p.plan_lock:
        if point not in own_locks(p):
            yield f"isolated, and {point} carries no lock of {p.id}"
    for point in p.plan_release:
        if point not in own_releases(p):
            yield f"isolated, and {point} is not released for {p.id}"
        if point not in stand.charge.harmless:
            yield f"isolated, and {point} has filled again"
    live = energised(site.graph, frozenset(own_locks(p)), own_releases(p))
    for zone in p.zones:
        if zone in live:
            yield f"isolated, and energy reaches {zone}"
    for point in p.points:
        tests = [v for v in p.verifications if v.point == point and v.counts]
        if not tests or not tests[-1].passed or tests[-1].void_at is not None:
            yield f"isolated, and {point} is not proven dead"
        elif tests[-1].lapses_at is not None and tests[-1].lapses_at <= NOW:
            yield f"isolated, and the test of {point} has lapsed"


def leans_on_nothing(site: Site, p: Permit) -> Iterator[str]:
    """A test that was made with nothing upstream proves nothing once something is there."""
    for point in p.points:
        tests = [v for v in p.verifications if v.point == point and v.counts]
        if tests and tests[-1].passed and tests[-1].void_at is None and not tests[-1].fed:
            released = set().union(*(own_releases(o) for o in site.permits.values()))
            locked = all_locks(site) - {point}
            near = sources(site.graph, released) - {point}
            if any(point in flow(site.graph, locked, source) for source in near):
                yield f"{point} was tested with nothing upstream and is fed now"


def areas_reached(site: Site, points: tuple[str, ...]) -> list[str]:
    """Danger areas that a supply reaches through these points, past whatever hangs anywhere."""
    locked = all_locks(site)
    supplies = [n.id for n in site.graph.nodes.values() if n.kind is Kind.SUPPLY]
    live = frozenset().union(*(flow(site.graph, locked, supply) for supply in supplies))
    through = frozenset().union(*(flow(site.graph, locked, point) for point in points if point in live))
    return [n.id for n in site.graph.nodes.values() if n.danger_area and n.id in through]
