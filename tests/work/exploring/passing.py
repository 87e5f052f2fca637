"""What time does, one thing at a time, as moves: a wait is over, a word goes stale, a deadline passes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta

from permits.plant.rules.energy import Graph
from permits.work.rules.due import plant_changed
from permits.work.rules.evolve import fold
from permits.work.rules.state import Permit, Site

from .moving import Move
from .places import IDA, NOW


def changing(permit: str, change: Callable[[Permit], Permit]) -> Callable[[Site], Site]:
    """The site with one permit changed."""
    return lambda site: replace(site, permits={**site.permits, permit: change(site.permits[permit])})


def waits(p: Permit) -> Iterator[Move]:
    """The start comes; the wait after a release is over."""
    if p.starts_at > NOW:
        yield Move(f"{p.id} may start", passing=changing(p.id, lambda p: replace(p, starts_at=NOW)))
    for release in p.releases:
        if release.undone_at is None and release.counts_from > NOW:
            yield Move(f"wait at {release.point} is over", passing=changing(p.id, waited(release.point)))


def waited(point: str) -> Callable[[Permit], Permit]:
    def change(p: Permit) -> Permit:
        over = (replace(r, counts_from=NOW) if r.point == point else r for r in p.releases)
        return replace(p, releases=tuple(over))

    return change


def deadlines(p: Permit, clear_minutes: int, *, expires: bool = True) -> Iterator[Move]:
    """Confirmations go stale, a re-check is missed, the sanction's and the permit's time run out."""
    for said in p.confirmations:
        if said.void_at is None and not said.watching and said.at > NOW - timedelta(minutes=clear_minutes):
            old = goes_stale(said.area, clear_minutes)
            yield Move(f"{said.area} goes stale", passing=changing(p.id, old), awaited=False)
    for test in p.verifications:
        stands = test.passed and test.void_at is None and test is p.verification(test.point)
        if stands and test.lapses_at is not None and test.lapses_at > NOW:
            missed = lapses(test.point)
            yield Move(f"re-check of {test.point} is missed", passing=changing(p.id, missed), awaited=False)
    if p.sanction is not None:
        yield Move(f"sanction of {p.id} runs out", passing=changing(p.id, sanction_over), awaited=False)
    if expires and p.expired_at is None and p.ends_at > NOW:
        over = changing(p.id, lambda p: replace(p, ends_at=NOW))
        yield Move(f"{p.id} runs out", passing=over, awaited=False)


def goes_stale(area: str, clear_minutes: int) -> Callable[[Permit], Permit]:
    then = NOW - timedelta(minutes=clear_minutes)

    def change(p: Permit) -> Permit:
        said = (replace(s, at=then) if s.area == area and s.void_at is None else s for s in p.confirmations)
        return replace(p, confirmations=tuple(said))

    return change


def lapses(point: str) -> Callable[[Permit], Permit]:
    def change(p: Permit) -> Permit:
        tests = (
            replace(v, lapses_at=NOW) if v.point == point and v.lapses_at is not None else v
            for v in p.verifications
        )
        return replace(p, verifications=tuple(tests))

    return change


def sanction_over(p: Permit) -> Permit:
    return replace(p, sanctions=(*p.sanctions[:-1], replace(p.sanctions[-1], until=NOW)))


def plant_grows(to: Graph, found: str) -> Move:
    """Another look at the plant finds what the model lacked."""

    def change(site: Site) -> Site:
        site = replace(site, graph=to)
        return fold(site, plant_changed(site, NOW, IDA))

    return Move(found, passing=change, awaited=False)
