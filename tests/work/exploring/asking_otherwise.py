"""What people ask for when the job goes otherwise: stops, handovers, absent people, more points, paper."""

from __future__ import annotations

from collections.abc import Iterator

from permits.work.rules import commands as c
from permits.work.rules.state import Permit, Site
from permits.work.rules.words import BOX

from .asking import UNDERSTOOD, by, says
from .moving import Move
from .places import EARLIER, IDA, NOW, ODO, PIA, TECHNICIANS


def stops(p: Permit) -> Iterator[Move]:
    """Stop, suspend, lift. A stop on a stop adds nothing that a decision looks at."""
    yield says(PIA, p, "stops it", c.StopWork(**by(p, PIA), why="smoke"))
    for who in (ODO, PIA):
        yield says(who, p, "suspends it", c.SuspendPermit(**by(p, who), why="lightning"))
    yield from lifts(p)


def lifts(p: Permit) -> Iterator[Move]:
    for who in (IDA, ODO, PIA):
        yield says(who, p, "lifts what holds it up", c.LiftHalt(**by(p, who), how="looked at"))


def emergencies() -> Iterator[Move]:
    for who in (IDA, ODO):
        yield Move(f"{who} declares an emergency", c.DeclareEmergency(by=who, at=NOW, why="fire"))
        yield Move(f"{who} ends the emergency", c.EndEmergency(by=who, at=NOW, how="put out"))


def handovers(p: Permit) -> Iterator[Move]:
    for who, to in ((ODO, PIA), (PIA, ODO), (ODO, IDA)):
        yield says(who, p, f"offers it to {to}", c.OfferHandover(**by(p, who), to=to))
    yield from takes_over(p)
    without = c.AcceptHandover(**by(p, PIA), **{**UNDERSTOOD, "knows_control": False})
    yield says(PIA, p, "takes over without knowing the control", without)
    yield says(IDA, p, "withdraws the handover", c.WithdrawHandover(**by(p, IDA), why="not needed"))


def takes_over(p: Permit) -> Iterator[Move]:
    for who in TECHNICIANS:
        yield says(who, p, "takes over", c.AcceptHandover(**by(p, who), **UNDERSTOOD))


def holder_absent(p: Permit) -> Iterator[Move]:
    for who in (IDA, PIA):
        for to in TECHNICIANS:
            named = c.NameHolder(**by(p, who), to=to, why="went home ill")
            yield says(who, p, f"names {to} holder", named)


def taken_for_absent(p: Permit, *owners: str) -> Iterator[Move]:
    """By the officer with a second person; by one who is no officer; by the owner; with no second person."""
    for owner in owners:
        second = next(who for who in TECHNICIANS if who != owner)
        for place in (*p.points, BOX):
            for officer, beside in ((IDA, second), (IDA, IDA), (second, IDA), (owner, IDA)):
                taken = c.TakeOffForAbsent(
                    **by(p, officer), where=place, owner=owner, second=beside, not_on_site="gate",
                    tried="called", searched="all zones",
                )  # fmt: skip
                yield says(officer, p, f"with {beside} takes {owner}'s lock off {place}", taken)
        for teller in (IDA, owner):
            told = c.TellReturned(by=teller, at=NOW, person=owner, how="at the gate")
            yield Move(f"{teller} tells {owner} of it", told)


def more_points(p: Permit, *points: str) -> Iterator[Move]:
    for who in (IDA, ODO):
        asked = c.AmendPlan(**by(p, who), lock=points, why="second feed")
        yield says(who, p, f"adds {', '.join(points)}", asked)


def crew_named(p: Permit, *people: str) -> Iterator[Move]:
    for who in (p.holder or ODO, PIA):
        for person in people:
            yield says(who, p, f"names {person}", c.NameCrew(**by(p, who), person=person))


def paper(site: Site, p: Permit) -> Iterator[Move]:
    """The server was down; what was done on paper is entered by two people."""
    for who in (IDA, ODO):
        yield Move(f"{who} declares paper", c.DeclarePaper(by=who, at=NOW, since=EARLIER, why="no power"))
        ended = c.EndPaper(by=who, at=NOW, how="all entered", all_inside_signed_on=True)
        yield Move(f"{who} ends paper", ended)
    done: list[tuple[str, c.LateCommand]] = [
        ("signed off", c.SignOffCrew(**by(p, who))) for who in TECHNICIANS
    ]
    done += [
        (f"took lock off {point}", c.RemoveLocks(**by(p, who), points=(point,)))
        for who in TECHNICIANS
        for point in p.points
    ]
    for words, what in done:
        for second in (PIA, ODO):
            late = c.EnterLate(**by(p, ODO), what=what, happened_at=NOW, second=second, form="F1")
            yield Move(f"{ODO} with {second} enters that {what.by} {words}", late)
