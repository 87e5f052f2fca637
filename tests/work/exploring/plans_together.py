"""Explorations of two whole jobs at once: three people, three points, a store; from request to close.

Odo's P-1 is for the chamber and the outfeed (Q1, Q2, and the store C1), Pia's P-2 for the table next door
(Q2). Each exploration has all of the job, of both permits, and one topic more of what may come between.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from permits.work.rules import commands as c
from permits.work.rules.state import Permit, Procedure, Site

from . import asking as a
from . import asking_otherwise as o
from . import passing as t
from .beginning import BOTH, DOOR, begun, clear_minutes, requested
from .moving import Move, Stand
from .places import BESIDE, IDA, MAKES, ODO, PIA, SIDE_BY_SIDE_STORED, TECHNICIANS, site

HOLDER = {"P-1": ODO, "P-2": PIA}
MATE = {"P-1": PIA, "P-2": ODO}
Topic = Callable[[Site, Permit], Iterator[Move]]


def requested_both() -> Stand:
    procedures = {MAKES: Procedure(MAKES, 1, ("CUT", "OUT"), ("Q1", "Q2"), ("C1",)), BESIDE: DOOR}
    at = site(SIDE_BY_SIDE_STORED, pia=BOTH, procedures=procedures)
    return begun(at, requested(ODO, "CUT", "OUT"), requested(PIA, "NEXT"))


def the_job(at: Site, p: Permit) -> Iterator[Move]:
    """All of a job by its holder, with the issuer, who also sees the areas clear."""
    me, mate = HOLDER[p.id], MATE[p.id]
    issued = c.IssuePermit(**a.by(p, IDA), holder=me, crew=(mate,), coordinator=IDA)
    yield a.says(IDA, p, f"issues to {me}", issued)
    yield a.says(me, p, "accepts", c.AcceptPermit(**a.by(p, me), **a.UNDERSTOOD))
    yield from work_of(at, p, p.holder or me)
    yield from a.clearing(at, p, IDA, watching=(False,))
    yield from a.sanctions(p, *p.plan_lock)
    yield from t.waits(p)


def work_of(at: Site, p: Permit, me: str) -> Iterator[Move]:
    """What this person does as holder, from the first notice to the last signature."""
    yield a.says(me, p, "cancels", c.CancelPermit(**a.by(p, me), why="not needed"))
    yield from a.notices(p)
    yield from a.locks(p, me)
    yield from a.releases(at, p, me)
    yield from a.removals(p, me)
    yield from a.proofs(at, p, me)
    yield from a.going_in(p, me)
    yield from a.looking_over(p, me)
    yield from a.cycles(p, me)
    yield from a.restoring(p, me)


# ── topics ──────────────────────────────────────────────────────────────────────────────────────────────


def careless(at: Site, p: Permit) -> Iterator[Move]:
    """What people should not do. Almost all of it is refused, and shows what the guards are for; to hang the
    padlock that is kept for the box on a point is odd, not wrong."""
    me, mate = HOLDER[p.id], MATE[p.id]
    yield a.says(me, p, f"issues to {me}", c.IssuePermit(**a.by(p, me), holder=me, crew=(), coordinator=IDA))
    to_issuer = c.IssuePermit(**a.by(p, IDA), holder=IDA, crew=(), coordinator=IDA)
    yield a.says(IDA, p, f"issues to {IDA}", to_issuer)
    yield a.says(mate, p, "accepts", c.AcceptPermit(**a.by(p, mate), **a.UNDERSTOOD))
    without = c.AcceptPermit(**a.by(p, me), **{**a.UNDERSTOOD, "knows_hazards": False})
    yield a.says(me, p, "accepts without knowing the hazards", without)
    yield a.says(mate, p, "cancels", c.CancelPermit(**a.by(p, mate), why="not needed"))
    yield from a.wrong_locks(p, me, mate)
    yield from a.removals(p, mate, IDA)
    yield from a.sanctions(p, *p.plan_lock, by_whom=(me,))
    yield from a.cycles(p, mate)
    yield from a.careless_cycles(p, me)
    yield from a.restoring(p, mate)
    yield from a.careless_restoring(p, me)
    yield a.says(me, p, "closes it out of use", c.CloseOutOfUse(**a.by(p, me), why="not to be proven now"))


def stops(at: Site, p: Permit) -> Iterator[Move]:
    yield a.says(PIA, p, "stops it", c.StopWork(**a.by(p, PIA), why="smoke"))
    yield a.says(IDA, p, "lifts what holds it up", c.LiftHalt(**a.by(p, IDA), how="looked at"))


def suspensions(at: Site, p: Permit) -> Iterator[Move]:
    for who in (HOLDER[p.id], MATE[p.id], IDA):
        yield a.says(who, p, "suspends it", c.SuspendPermit(**a.by(p, who), why="lightning"))
    yield from o.lifts(p)


def emergencies(at: Site, p: Permit) -> Iterator[Move]:
    yield from o.emergencies()
    yield a.says(IDA, p, "lifts what holds it up", c.LiftHalt(**a.by(p, IDA), how="looked at"))


def handovers(at: Site, p: Permit) -> Iterator[Move]:
    """At the change of shift."""
    yield from passes_on(at, p)
    me, mate = HOLDER[p.id], MATE[p.id]
    yield a.says(me, p, f"offers it to {mate}", c.OfferHandover(**a.by(p, me), to=mate))
    yield a.says(IDA, p, "withdraws the handover", c.WithdrawHandover(**a.by(p, IDA), why="not needed"))


def holders_absent(at: Site, p: Permit) -> Iterator[Move]:
    """The holder is gone, an officer names the other; their locks come off for them, and they are told."""
    yield from passes_on(at, p)
    me, mate = HOLDER[p.id], MATE[p.id]
    named = c.NameHolder(**a.by(p, IDA), to=mate, why="went home ill")
    yield a.says(IDA, p, f"names {mate} holder", named)
    yield from o.taken_for_absent(p, me)


def passes_on(at: Site, p: Permit) -> Iterator[Move]:
    """Who is offered the permit hangs their locks and takes over; whose it was takes theirs off."""
    mate = MATE[p.id]
    yield from o.takes_over(p)
    if p.next_holder == mate:
        yield from a.locks(p, mate)
    for who in TECHNICIANS:
        yield from a.removals(p, who)
        yield a.says(who, p, "signs off", c.SignOffCrew(**a.by(p, who)))


def watches(at: Site, p: Permit) -> Iterator[Move]:
    """The areas are kept under watch, by the issuer or by the other holder."""
    yield from a.clearing(at, p, IDA, MATE[p.id], watching=(True,))


def trials(at: Site, p: Permit) -> Iterator[Move]:
    """The controls are tried; the machine stays dead, or starts."""
    yield from a.tries(at, p, HOLDER[p.id])


def defects(at: Site, p: Permit) -> Iterator[Move]:
    yield from a.looking_over(p, HOLDER[p.id], defects=True)


def named_later(at: Site, p: Permit) -> Iterator[Move]:
    """Issued to the holder alone; the other is named later, and works here too."""
    me, mate = HOLDER[p.id], MATE[p.id]
    alone = c.IssuePermit(**a.by(p, IDA), holder=me, crew=(), coordinator=IDA)
    yield a.says(IDA, p, f"issues to {me} alone", alone)
    yield from o.crew_named(p, mate)
    yield from a.going_in(p, mate)


def deadlines(at: Site, p: Permit) -> Iterator[Move]:
    """Words go stale, re-checks are missed, a sanction or a permit runs out and is extended."""
    yield from t.deadlines(p, clear_minutes(at))
    yield from a.more_time(p)


def crew(at: Site, p: Permit) -> Iterator[Move]:
    """The other holder works here too."""
    mate = MATE[p.id]
    yield from a.locks(p, mate)
    yield from a.going_in(p, mate)
    yield from a.removals(p, mate)


def jobs(at: Site, p: Permit) -> Iterator[Move]:
    yield from a.jobs(p, HOLDER[p.id], machine=MAKES if p.id == "P-1" else BESIDE)
    yield from a.out_of_use(p)


def paper(at: Site, p: Permit) -> Iterator[Move]:
    yield from o.paper(at, p)


def more_points(at: Site, p: Permit) -> Iterator[Move]:
    yield from o.more_points(p, "Q1")


def only(permit: str, topic: Topic) -> Topic:
    """The topic for one of the two: the other goes its plain way."""
    return lambda at, p: topic(at, p) if p.id == permit else iter(())


def of(*topics: Topic) -> Topic:
    """The job's moves and the topics', each label once."""

    def moves(at: Site, p: Permit) -> Iterator[Move]:
        said = set()
        for topic in (the_job, *topics):
            for move in topic(at, p):
                if move.label not in said:
                    said.add(move.label)
                    yield move

    return moves
