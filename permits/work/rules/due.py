"""What time and the plant did: expiry, lapses, a sanction that ran out, a graph that changed. Pure: now is given."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from permits.plant.rules.exposure import exposed

from . import events as e
from .evolve import fold
from .state import Permit, Site
from .words import Phase

AT_WORK = (Phase.ISOLATING, Phase.ISOLATED, Phase.TESTING)


def due(site: Site, now: datetime) -> list[e.Event]:
    """Every event that fell due by now and is not yet in the state, oldest first, each with its due time."""
    events: list[e.Event] = []
    for event in sorted(fell_due(site, now), key=lambda event: event.at):
        if still_due(site.permits[event.permit], event):
            events.append(event)
            site = fold(site, [event])
            lost = lost_isolation(site, site.permits[event.permit], event.at)
            events += lost
            site = fold(site, lost)
    return events


def fell_due(site: Site, now: datetime) -> Iterator[e.Event]:
    for p in site.permits.values():
        if p.phase.is_over:
            continue
        if p.expired_at is None and now >= p.ends_at and p.phase is not Phase.REQUESTED:
            crew = tuple(on.person for on in p.signed_on)
            yield e.PermitExpired(permit=p.id, by="", at=p.ends_at, crew=crew)
            if p.sanction is not None:
                yield e.SanctionEnded(permit=p.id, by="", at=p.ends_at, why="the permit expired")
        if p.sanction is not None and now >= p.sanction.until:
            yield e.SanctionEnded(permit=p.id, by="", at=p.sanction.until, why="its time was over")
        for point in p.points:
            test = p.verification(point)
            if p.phase is Phase.ISOLATED and test is not None and test.lapses_at and test.void_at is None:
                if now >= test.lapses_at:
                    yield e.VerificationLapsed(permit=p.id, by="", at=test.lapses_at, point=point)


def still_due(p: Permit, event: e.Event) -> bool:
    """An earlier event of the same batch may have settled this one."""
    return not isinstance(event, e.SanctionEnded) or p.sanction is not None


def lost_isolation(site: Site, p: Permit, now: datetime, by: str = "") -> list[e.Event]:
    """The event that says isolation is lost, when an isolated permit is no longer proven; otherwise nothing."""
    if p.phase is not Phase.ISOLATED:
        return []
    crew = tuple(on.person for on in p.signed_on)
    for zone, path in exposed(site.graph, p.zones, locked=p.locked, released=p.released).items():
        why = f"energy reaches {site.graph.name(zone)}"
        names = tuple(site.graph.name(id) for id in path)
        return [e.IsolationLost(permit=p.id, by=by, at=now, why=why, path=names, crew=crew)]
    for point in p.points:
        if not p.is_verified(point, now):
            why = f"{site.graph.name(point)} is not proven dead any more"
            return [e.IsolationLost(permit=p.id, by=by, at=now, why=why, path=(), crew=crew)]
    return []


def plant_changed(site: Site, now: datetime, by: str) -> list[e.Event]:
    """After a change of the graph: stop every open permit whose own locks and plan no longer isolate its zones.

    Its sanction ends, its verifications are void, its crew is called out; the event carries the new path.
    """
    events: list[e.Event] = []
    for p in site.permits.values():
        if p.phase not in AT_WORK:
            continue
        hits = exposed(site.graph, p.zones, locked=frozenset(p.plan_lock), released=frozenset(p.plan_release))
        for zone, path in hits.items():
            why = f"the plant changed and energy can reach {site.graph.name(zone)}"
            names = tuple(site.graph.name(id) for id in path)
            if p.sanction is not None:
                events.append(e.SanctionEnded(permit=p.id, by=by, at=now, why=why))
            events += [
                e.VerificationVoided(permit=p.id, by=by, at=now, point=point, why=why)
                for point in p.points
                if (test := p.verification(point)) is not None and test.void_at is None
            ]
            crew = tuple(on.person for on in p.signed_on)
            events.append(e.IsolationLost(permit=p.id, by=by, at=now, why=why, path=names, crew=crew))
            break
    return events
