"""Which machines are not in service, and why: left out of use, or a permit holds a point that feeds them.

A machine that no permit is open for can be held by one on its neighbour; nobody finds that out by trying.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from permits.plant.rules.exposure import downstream

from .against import name_of
from .out_of_use import why_out_of_use
from .state import Permit, Site
from .words import AT_WORK, Phase

Held = Mapping[str, Mapping[str, tuple[str, ...]]]
"""Machine → the permits that hold it → the points that each holds, in its plan's order."""


def not_in_service(site: Site) -> dict[str, tuple[str, ...]]:
    """By machine, every reason in a sentence without its full stop; a machine in service is not there."""
    return reasons(site, held(site))


def not_in_service_beside(site: Site) -> dict[str, tuple[str, ...]]:
    """The same, but of permits on the machine itself nothing is said: whoever sees those sees it."""
    others = {
        machine: {p: points for p, points in permits.items() if not is_on(site, machine, site.permits[p])}
        for machine, permits in held(site).items()
    }
    return reasons(site, {machine: permits for machine, permits in others.items() if permits})


def is_on(site: Site, machine: str, p: Permit) -> bool:
    return machine in site.machines_of(p.zones)


def reasons(site: Site, held_by: Held) -> dict[str, tuple[str, ...]]:
    found: dict[str, list[str]] = {}
    for machine, one in site.out_of_use.items():
        found.setdefault(machine, []).append(why_out_of_use(one).rstrip("."))
    for machine, permits in held_by.items():
        by = " and ".join(how_held(site, permit, points) for permit, points in permits.items())
        found.setdefault(machine, []).append(f"{machine} is not in service: {by}")
    return {machine: tuple(said) for machine, said in found.items()}


def how_held(site: Site, permit: str, points: tuple[str, ...]) -> str:
    """One point by its name; of several their number, since the energy picture and the permit show them."""
    if not points:
        return f"{permit} is at work on it"
    return f"{permit} holds {name_of(site, points[0]) if len(points) == 1 else f'{len(points)} points of it'}"


def held(site: Site) -> Held:
    """Every machine with a zone that a held point can feed, and every machine that is worked on."""
    found: dict[str, dict[str, tuple[str, ...]]] = {}
    reach: dict[str, frozenset[str]] = {}
    for p in site.open:
        if is_at_work(p):
            for machine in site.machines_of(p.zones):
                found.setdefault(machine, {})[p.id] = ()
        for point in holds(p):
            if point not in site.graph.nodes:
                continue
            if point not in reach:
                reach[point] = frozenset(downstream(site.graph, (point,)))
            for machine in sorted(machines_in(site, reach[point])):
                of = found.setdefault(machine, {})
                of[p.id] = (*of.get(p.id, ()), point)
    return found


def machines_in(site: Site, nodes: frozenset[str]) -> set[str]:
    """The machines of the zones among these nodes."""
    return {zone.machine for zone in site.graph.zones if zone.machine and zone.id in nodes}


def holds(p: Permit) -> Iterator[str]:
    """The plan's points that keep power away for this permit: locked now, or not yet given back."""
    given_back = p.phase is not Phase.RESTORING or p.reenergised_at is not None
    for point in p.points:
        if point in p.locked or (not given_back and point in p.plan_lock):
            yield point


def is_at_work(p: Permit) -> bool:
    """From its acceptance until it gives power back."""
    return p.phase in (*AT_WORK, Phase.RESTORING) and p.reenergised_at is None


def returned(before: Site, after: Site, p: Permit) -> tuple[str, ...]:
    """Machines that this permit was the last to hold, and that nothing keeps out of service any more."""
    still, was = not_in_service(after), held(before)
    return tuple(machine for machine, permits in was.items() if p.id in permits and machine not in still)
