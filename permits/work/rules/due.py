"""What time and the plant did: expiry, lapses, a sanction that ran out, a graph that changed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from . import events as e
from .evolve import fold
from .proving import isolated_now
from .reaching import carries_lock, fed_again, names, plan_falls_short, reached_zones, recharged, truly_locked
from .state import Permit, Site
from .words import AT_WORK, HaltKind, Phase


def due(site: Site, now: datetime) -> list[e.Event]:
    """Every event that fell due by now and is not yet in the state, oldest first, each with its due time."""
    events: list[e.Event] = []
    for event in sorted(fell_due(site, now), key=lambda event: event.at):
        if still_due(site.permits[event.permit], event):
            events.append(event)
            site = fold(site, [event])
            called_out = lost_isolation(site, site.permits[event.permit], event.at)
            events += called_out
            site = fold(site, called_out)
    return events


def fell_due(site: Site, now: datetime) -> Iterator[e.Event]:
    for p in site.open:
        if p.expired_at is None and now >= p.ends_at and p.phase is not Phase.REQUESTED:
            crew = tuple(on.person for on in p.signed_on)
            yield e.PermitExpired(permit=p.id, by="", at=p.ends_at, crew=crew)
            if p.sanction is not None:
                yield e.SanctionEnded(permit=p.id, by="", at=p.ends_at, why="the permit expired")
        if p.sanction is not None and now >= p.sanction.until:
            yield e.SanctionEnded(permit=p.id, by="", at=p.sanction.until, why="its time was over")
        for point in p.points:
            test = p.verification(point)
            if p.phase is not Phase.ISOLATED or test is None or test.void_at is not None:
                continue
            if test.lapses_at is not None and now >= test.lapses_at:
                yield e.VerificationLapsed(permit=p.id, by="", at=test.lapses_at, point=point)


def still_due(p: Permit, event: e.Event) -> bool:
    """An earlier event of the same batch may have settled this one."""
    match event:
        case e.SanctionEnded():
            return p.sanction is not None
        case e.VerificationLapsed():
            return p.phase is Phase.ISOLATED
        case _:
            return True


def lost_isolation(site: Site, p: Permit, now: datetime, by: str = "") -> list[e.Event]:
    """The event that says isolation is lost, when an isolated permit is no longer proven; or nothing."""
    if p.phase is not Phase.ISOLATED:
        return []
    for zone, path in reached_zones(site, p).items():
        return [lost(site, p, now, by, f"energy reaches {names(site, (zone,))[0]}", path)]
    bare = set(carries_lock(site, p)) - truly_locked(site, p)
    for point in p.points:
        if not p.is_verified(point, now) or not p.is_held(point) or point in bare:
            return [lost(site, p, now, by, f"{site.graph.name(point)} is not proven dead any more")]
    return []


def lost(
    site: Site, p: Permit, now: datetime, by: str, why: str, path: tuple[str, ...] = ()
) -> e.IsolationLost:
    crew = tuple(on.person for on in p.signed_on)
    return e.IsolationLost(permit=p.id, by=by, at=now, why=why, path=names(site, path), crew=crew)


def plant_changed(site: Site, now: datetime, by: str) -> list[e.Event]:
    """What a change of the graph does to the open permits; `site` has the new graph.

    One whose plan no longer isolates its zones is stopped: its sanction ends, its verifications are void, its
    crew is called out; the event carries the new path. A test that was made with nothing upstream is void
    where something feeds its point now, and so is the release of a store that is fed again. A plant that was
    mended may make a permit isolated that waited for nothing else.
    """
    events: list[e.Event] = []
    for p in site.open:
        if p.phase not in AT_WORK:
            continue
        happened = [e.ReleaseUndone(permit=p.id, by=by, at=now, point=point) for point in recharged(site, p)]
        events += happened
        site = fold(site, happened)
        for zone, path in plan_falls_short(site, p).items():
            if p.phase is Phase.ISOLATING and p.stopped_path == names(site, path):
                break  # it is stopped for this already
            stop = list(stopped(site, site.permits[p.id], now, by, zone, path))
            events += stop
            site = fold(site, stop)
            break
    for p, point, _ in list(fed_again(site)):
        why = f"the plant changed and {site.graph.name(point)} is fed from upstream"
        events.append(e.VerificationVoided(permit=p.id, by=by, at=now, point=point, why=why))
        site = fold(site, events[-1:])
    for p in site.open:
        events += lost_isolation(site, p, now, by) or isolated_now(site, p, now, by)
    return events


def stopped(
    site: Site, p: Permit, now: datetime, by: str, zone: str, path: tuple[str, ...]
) -> Iterator[e.Event]:
    """A stop because the permit's plan does not isolate this zone any more."""
    why = f"the plant changed and energy can reach {names(site, (zone,))[0]}"
    if p.sanction is not None:
        yield e.SanctionEnded(permit=p.id, by=by, at=now, why=why)
    for point in p.points:
        test = p.verification(point)
        if test is not None and test.void_at is None:
            yield e.VerificationVoided(permit=p.id, by=by, at=now, point=point, why=why)
    yield lost(site, p, now, by, why, path)
    crew = tuple(on.person for on in p.signed_on)
    yield e.WorkStopped(permit=p.id, by=by, at=now, kind=HaltKind.PLANT, why=why, crew=crew)
