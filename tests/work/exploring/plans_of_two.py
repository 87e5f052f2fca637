"""Explorations with two permits: a point they share, and a point of one that feeds the other's."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from permits.work.rules.state import Permit, Site

from . import asking as a
from .beginning import (
    BARE_CELL,
    BOTH,
    CABINET,
    DOOR,
    OUTFEED_CELL,
    begun,
    issued,
    requested,
)
from .moving import Move, Stand, forgotten, moved
from .places import BESIDE, BOARD, IDA, MAKES, ODO, ONE_BEHIND, PIA, SIDE_BY_SIDE, grants, site


def two_begun(at: Site, one: str, two: str) -> Stand:
    """Odo's P-1, accepted and told; Pia's P-2, isolated."""
    stand = begun(at, requested(ODO, one), *issued(ODO), requested(PIA, two), *issued(PIA, permit="P-2"))
    for moves in (a.locks, partial(a.proofs, stand.site)):
        move = next(iter(moves(stand.site.permits["P-2"], PIA)))
        stand = forgotten(moved(stand, move))
    return stand


def sharing_start() -> Stand:
    procedures = {MAKES: OUTFEED_CELL, BESIDE: DOOR}
    return two_begun(site(SIDE_BY_SIDE, pia=grants(BESIDE), procedures=procedures), "OUT", "NEXT")


def same_start() -> Stand:
    return two_begun(site(SIDE_BY_SIDE, pia=BOTH, procedures={BESIDE: DOOR}), "NEXT", "NEXT")


def behind_start() -> Stand:
    procedures = {MAKES: BARE_CELL, BOARD: CABINET}
    return two_begun(site(ONE_BEHIND, pia=BOTH, procedures=procedures), "CUT", "LUG")


def plain(at: Site, p: Permit, *people: str) -> Iterator[Move]:
    """A permit's way without a test under power. P-2 has its locks, and takes no second ones."""
    if p.id == "P-1":
        yield from a.locks(p, p.holder)
    yield from a.removals(p, *people)
    yield from a.proofs(at, p, p.holder)
    yield from a.notices(p)
    yield from a.clearing(at, p, IDA, watching=(False,))
    yield from a.restoring(p, p.holder)


def both_plain(at: Site, p: Permit) -> Iterator[Move]:
    """Pia goes in, and says by radio what she sees; Odo, on P-1, only locks, tests and takes away."""
    yield from plain(at, p, ODO, PIA)
    yield from a.tries(at, p, p.holder)
    if p.id == "P-1":
        yield from a.by_radio(at, p, IDA, sees=PIA)
    if p.id == "P-2":
        yield from a.going_in(p, PIA)


def shortly(at: Site, p: Permit) -> Iterator[Move]:
    """As `both_plain`, by the holders alone, and no controls are tried: small enough to be walked twice."""
    yield from plain(at, p, p.holder)
    if p.id == "P-2":
        yield from a.going_in(p, PIA)


def one_tested(at: Site, p: Permit) -> Iterator[Move]:
    """P-1 is tested under power; P-2 is not."""
    yield from plain(at, p, ODO, PIA)
    yield from a.going_in(p, p.holder)
    if p.id == "P-1":
        yield from a.looking_over(p, ODO)
        yield from a.sanctions(p)
        yield from a.cycles(p, ODO)
