"""How an exploration begins: what it is, a permit asked for, issued, accepted and told."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from permits.work.rules import commands as c
from permits.work.rules.state import Permit, Procedure, Site

from . import asking as a
from .moving import Move, Stand, forgotten, moved
from .places import (
    BESIDE,
    BOARD,
    END_OF_PERMIT,
    IDA,
    LATER,
    MAKES,
    NOW,
    grants,
)


@dataclass(frozen=True, slots=True)
class Plan:
    """`moves`: every move of a state; among them are all that can be made, and many that are refused.

    `absent`: people of whom each may be away for good, and the others bring the permit to its end.
    """

    name: str
    says: str
    start: Callable[[], Stand]
    moves: Callable[[Site], Iterator[Move]]
    absent: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PlanOfTwo:
    """A plan with two permits. `moves_of`: every move of one of them; it looks at that permit alone."""

    name: str
    says: str
    start: Callable[[], Stand]
    moves_of: Callable[[Site, Permit], Iterator[Move]]
    absent: tuple[str, ...] = ()

    def moves(self, at: Site) -> Iterator[Move]:
        for p in at.open:
            yield from self.moves_of(at, p)


def requested(by: str, *zones: str, later: bool = False) -> Move:
    asked = c.RequestPermit(
        by=by, at=NOW, zones=zones, kind_of_work="mend", reason="worn", starts_at=LATER if later else NOW,
        ends_at=END_OF_PERMIT,
    )  # fmt: skip
    return Move("requests", asked)


def begun(at: Site, *moves: Move) -> Stand:
    stand = Stand(at)
    for move in moves:
        stand = forgotten(moved(stand, move))
    return stand


def issued(holder: str, *crew: str, permit: str = "P-1") -> list[Move]:
    """From issue to told: what comes before the first lock."""
    of = {"permit": permit, "at": NOW}
    return [
        Move("issues", c.IssuePermit(**of, by=IDA, holder=holder, crew=crew, coordinator=IDA)),
        Move("accepts", c.AcceptPermit(**of, by=holder, **a.UNDERSTOOD)),
        Move("tells", c.TellAffected(**of, by=holder, whom="line", how="called", covers_tests=True)),
    ]


CELL = Procedure(MAKES, 1, ("CUT", "OUT"), ("Q1",), ("C1",))
PROPPED_CELL = Procedure(MAKES, 1, ("CUT", "OUT"), ("Q1",), ("G1",))
BARE_CELL = Procedure(MAKES, 1, ("CUT", "OUT"), ("Q1",), ())
OUTFEED_CELL = Procedure(MAKES, 1, ("OUT",), ("Q1", "Q2"), ())
DOOR = Procedure(BESIDE, 1, ("NEXT",), ("Q2",), ())
CABINET = Procedure(BOARD, 1, ("LUG",), ("Q0",), ())
BOTH = grants(MAKES, BESIDE, BOARD)
HELPS = grants(MAKES, BESIDE, BOARD, qualified=False)


def first(at: Site) -> Permit | None:
    """P-1 while it is open: when it is over, nothing more is asked."""
    p = at.permits["P-1"]
    return None if p.phase.is_over else p


def clear_minutes(at: Site) -> int:
    return at.policy.clear_minutes
