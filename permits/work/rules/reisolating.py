"""Back to isolating after a test: every verification is void, and the freed points are locked again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from . import commands as c
from . import events as e
from . import isolating
from .against import not_authorised, not_working_under, phase_is_not, the_permit
from .evolve import fold
from .refusal import Refused, Unmet, refuse_if
from .state import Permit, Site
from .words import Phase


def reisolate(site: Site, ask: c.Reisolate) -> list[e.Event]:
    """Isolating again; with the locks and releases of the same page, each by its own conditions, or none."""
    p = the_permit(site, ask.permit)
    refuse_if(against_reisolating(site, p, ask))
    events: list[e.Event] = [e.Reisolating(permit=p.id, by=ask.by, at=ask.at)]
    if p.sanction is not None and p.sanction.cycle >= p.sanction.cycles:
        events.append(e.SanctionEnded(permit=p.id, by=ask.by, at=ask.at, why="all its cycles are used"))
    return [*events, *made_safe_again(fold(site, events), p, ask)]


def against_reisolating(site: Site, p: Permit, ask: c.Reisolate) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, Phase.TESTING, Phase.RESTORING, asked="re-isolating")
    yield from not_working_under(site, ask.by, p)
    yield from not_authorised(site, ask.by, p, ask.at)


def made_safe_again(site: Site, p: Permit, ask: c.Reisolate) -> list[e.Event]:
    """What the locks and releases of the page cause, one after the other; Refused names every flaw of all."""
    events: list[e.Event] = []
    unmet: dict[Unmet, None] = {}
    page: tuple[c.ApplyLock | c.ReleaseStore, ...] = (*ask.locks, *ask.releases)
    for each in page:
        try:
            caused = made_safe(site, p, ask, each)
        except Refused as refused:
            unmet |= dict.fromkeys(refused.unmet)
            continue
        events += caused
        site = fold(site, caused)
    refuse_if(unmet)
    return events


def made_safe(site: Site, p: Permit, ask: c.Reisolate, each: c.ApplyLock | c.ReleaseStore) -> list[e.Event]:
    if isinstance(each, c.ApplyLock):
        return isolating.lock(site, replace(each, permit=p.id, by=ask.by, at=ask.at))
    return isolating.release(site, replace(each, permit=p.id, by=ask.by, at=ask.at))


def freed(p: Permit) -> tuple[str, ...]:
    """The plan's points that carry no lock of the permit any more and want one, in the plan's order."""
    return tuple(point for point in p.points if point in p.plan_lock and point not in p.locked)


def emptied(p: Permit) -> tuple[str, ...]:
    """Stores of the plan that have to be released again, in the plan's order."""
    return tuple(point for point in p.points if point in p.plan_release and point not in p.released)
