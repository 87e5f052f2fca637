"""Explorations with one permit: the whole job, and what goes otherwise."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from permits.work.rules.state import Site
from permits.work.rules.words import OutOfUse

from . import asking as a
from . import asking_otherwise as o
from . import passing as t
from .beginning import (
    BARE_CELL,
    BOTH,
    CELL,
    HELPS,
    PROPPED_CELL,
    begun,
    clear_minutes,
    first,
    issued,
    requested,
)
from .moving import Move, Stand, forgotten, moved
from .places import IDA, MAKES, ODO, ONE_JOB, ONE_SWITCH, PIA, PROPPED, SECOND_FEED, site

# ── one job from request to close ───────────────────────────────────────────────────────────────────────


def whole_start() -> Stand:
    at = site(ONE_JOB, pia=(), procedures={MAKES: CELL})
    return begun(at, requested(ODO, "CUT"))


def whole_moves(at: Site) -> Iterator[Move]:
    if (p := first(at)) is None:
        return
    yield from a.papers(p)
    yield from a.notices(p)
    yield from a.locks(p, ODO)
    yield from a.locks(p, PIA, *p.points[:1])
    yield from a.wrong_locks(p, ODO, PIA)
    yield from a.releases(at, p, ODO)
    yield from a.removals(p, ODO, PIA)
    yield from a.proofs(at, p, ODO, failing=True)
    yield from a.going_in(p, ODO, bare=True)
    yield from a.going_in(p, PIA)
    yield from a.looking_over(p, ODO)
    yield from a.sanctions(p, "Q1", by_whom=(IDA, ODO))
    yield from a.cycles(p, ODO, PIA)
    yield from a.careless_cycles(p, ODO)
    yield from a.clearing(at, p, IDA, watching=(False,))
    yield from a.restoring(p, ODO, PIA)
    yield from a.careless_restoring(p, ODO)
    yield from a.more_time(p)
    yield from t.waits(p)
    yield from t.deadlines(p, clear_minutes(at))


# ── two people inside, stops, suspensions, an emergency ─────────────────────────────────────────────────


def stops_start() -> Stand:
    at = site(ONE_SWITCH, pia=HELPS, procedures={MAKES: BARE_CELL})
    return begun(at, requested(ODO, "CUT"), *issued(ODO, PIA))


def stops_moves(at: Site) -> Iterator[Move]:
    if (p := first(at)) is None:
        return
    yield from o.stops(p)
    yield from o.emergencies()
    yield from a.locks(p, ODO)
    yield from a.locks(p, PIA)
    yield from a.removals(p, ODO, PIA)
    yield from a.proofs(at, p, ODO, PIA)
    yield from a.tries(at, p, PIA)
    yield from a.going_in(p, ODO)
    yield from a.going_in(p, PIA)
    yield from a.looking_over(p, ODO)
    yield from a.notices(p)
    yield from a.clearing(at, p, PIA, watching=(False,))
    yield from a.by_radio(at, p, PIA, sees=ODO)
    yield from a.sanctions(p)
    yield from a.cycles(p, ODO)
    yield from a.restoring(p, ODO)
    yield from a.ends(p)


# ── handover, absent people ─────────────────────────────────────────────────────────────────────────────


def shift_start() -> Stand:
    at = site(ONE_SWITCH, pia=BOTH, procedures={MAKES: BARE_CELL})
    return begun(at, requested(ODO, "CUT"), *issued(ODO))


def shift_moves(at: Site) -> Iterator[Move]:
    if (p := first(at)) is None:
        return
    yield from o.handovers(p)
    yield from o.holder_absent(p)
    yield from o.taken_for_absent(p, ODO, PIA)
    yield from o.crew_named(p, ODO, PIA, IDA)
    for who in (ODO, PIA):
        yield from a.locks(p, who)
        yield from a.going_in(p, who, bare=True)
    yield from a.removals(p, ODO, PIA)
    yield from a.proofs(at, p, ODO, PIA)
    yield from a.notices(p)
    yield from a.clearing(at, p, IDA, watching=(False,))
    yield from a.restoring(p, ODO, PIA)
    yield from a.ends(p)


# ── calibration, defects, a machine out of use ──────────────────────────────────────────────────────────


def proof_start() -> Stand:
    at = site(ONE_SWITCH, pia=(), procedures={MAKES: BARE_CELL})
    at = replace(at, out_of_use={MAKES: OutOfUse(MAKES, "P-0", ("length",))})
    return begun(at, requested(ODO, "CUT"), *issued(ODO))


def proof_moves(at: Site) -> Iterator[Move]:
    if (p := first(at)) is None:
        return
    yield from a.jobs(p, ODO, machine=MAKES)
    yield from a.locks(p, ODO)
    yield from a.removals(p, ODO)
    yield from a.proofs(at, p, ODO)
    yield from a.going_in(p, ODO)
    yield from a.looking_over(p, ODO, defects=True)
    yield from a.notices(p)
    yield from a.clearing(at, p, IDA, watching=(False,))
    yield from a.sanctions(p, cycles=1)
    yield from a.cycles(p, ODO)
    yield from a.restoring(p, ODO)
    yield from a.out_of_use(p)


# ── one person; the start is announced, the tests perhaps not ───────────────────────────────────────────


def announced_start() -> Stand:
    at = site(ONE_SWITCH, pia=(), procedures={MAKES: BARE_CELL})
    return begun(at, requested(ODO, "CUT", later=True), *issued(ODO)[:2])


def announced_moves(at: Site) -> Iterator[Move]:
    if (p := first(at)) is None:
        return
    yield from t.waits(p)
    yield from a.notices(p)
    yield from a.quiet_notice(p)
    yield from a.locks(p, ODO)
    yield from a.removals(p, ODO)
    yield from a.proofs(at, p, ODO, failing=True)
    yield from a.going_in(p, ODO, bare=True)
    yield from a.looking_over(p, ODO)
    yield from a.sanctions(p)
    yield from a.cycles(p, ODO)
    yield from a.clearing(at, p, ODO, IDA)
    yield from a.restoring(p, ODO)
    yield from a.ends(p)


# ── the holder goes away in the middle of a test ────────────────────────────────────────────────────────


def gone_start() -> Stand:
    """Isolated, looked over, and sanctioned for a test."""
    at = site(ONE_SWITCH, pia=BOTH, procedures={MAKES: BARE_CELL})
    stand = begun(at, requested(ODO, "CUT"), *issued(ODO))
    for label in ("locks Q1", "tests M1", "signs on", "checks the machine", "signs off"):
        p = stand.site.permits["P-1"]
        moves = [
            *a.locks(p, ODO),
            *a.proofs(stand.site, p, ODO),
            *a.going_in(p, ODO),
            *a.looking_over(p, ODO),
        ]
        move = next(move for move in moves if move.label == f"{ODO} {label} [P-1]")
        stand = forgotten(moved(stand, move))
    return stand


def gone_moves(at: Site) -> Iterator[Move]:
    if (p := first(at)) is None:
        return
    yield from o.holder_absent(p)
    yield from o.takes_over(p)
    yield from o.taken_for_absent(p, ODO)
    for who in (ODO, PIA):
        yield from a.locks(p, who)
    yield from a.removals(p, ODO, PIA)
    yield from a.proofs(at, p, PIA)
    yield from a.going_in(p, ODO)
    yield from a.sanctions(p)
    yield from a.cycles(p, PIA, ODO)
    yield from a.clearing(at, p, IDA, watching=(False,))
    yield from a.notices(p)
    yield from a.restoring(p, ODO, PIA)


# ── a prop with its own lock; a second feed is found; more points ───────────────────────────────────────


def propped_start() -> Stand:
    at = site(PROPPED, pia=HELPS, procedures={MAKES: PROPPED_CELL})
    return begun(at, requested(ODO, "CUT"), *issued(ODO, PIA))


def propped_moves(at: Site) -> Iterator[Move]:
    if (p := first(at)) is None:
        return
    for who in (ODO, PIA):
        yield from a.locks(p, who)
        yield from a.releases(at, p, who)
    yield from a.removals(p, ODO, PIA)
    yield from a.wrong_locks(p, PIA, ODO)
    yield from a.proofs(at, p, ODO)
    yield from a.going_in(p, ODO, bare=True)
    yield from a.notices(p)
    yield from a.looking_over(p, ODO)
    yield from a.sanctions(p, "Q1")
    yield from a.cycles(p, ODO)
    yield from a.clearing(at, p, IDA, watching=(False,))
    yield from a.restoring(p, ODO)
    yield from a.ends(p)


def grows_start() -> Stand:
    at = site(ONE_SWITCH, pia=HELPS, procedures={MAKES: BARE_CELL})
    return begun(at, requested(ODO, "CUT"), *issued(ODO, PIA))


def grows_moves(at: Site) -> Iterator[Move]:
    if (p := first(at)) is None:
        return
    if at.graph is ONE_SWITCH:
        yield t.plant_grows(SECOND_FEED, "a second feed is found")
    yield from o.more_points(p, "Q3")
    yield from a.locks(p, ODO)
    yield from a.locks(p, PIA, "Q1")
    yield from a.removals(p, ODO, PIA)
    yield from a.proofs(at, p, ODO)
    yield from a.going_in(p, ODO)
    yield from a.notices(p)
    yield from a.looking_over(p, ODO)
    yield from a.sanctions(p)
    yield from a.cycles(p, ODO)
    yield from o.lifts(p)
    yield from a.clearing(at, p, IDA, watching=(False,))
    yield from a.restoring(p, ODO)
    yield from a.ends(p)


# ── paper ───────────────────────────────────────────────────────────────────────────────────────────────


def paper_moves(at: Site) -> Iterator[Move]:
    if (p := first(at)) is None:
        return
    yield from o.paper(at, p)
    for who in (ODO, PIA):
        yield from a.locks(p, who)
        yield from a.going_in(p, who)
    yield from a.removals(p, ODO, PIA)
    yield from a.proofs(at, p, ODO)
    yield from a.notices(p)
    yield from a.clearing(at, p, IDA, watching=(False,))
    yield from a.restoring(p, ODO)
    yield from a.ends(p)
