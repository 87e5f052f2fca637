"""The one door to the rules: a command in, what happened out, or a refusal that names everything missing."""

from __future__ import annotations

from dataclasses import replace
from typing import assert_never

from . import (
    absent,
    accepting,
    amending,
    clearing,
    closing,
    handing_over,
    isolating,
    issuing,
    jobs,
    occupying,
    on_paper,
    proving,
    reisolating,
    restoring,
    stopping,
    testing,
)
from . import commands as c
from . import events as e
from .due import lost_isolation
from .evolve import fold
from .held_up import held_up
from .proving import isolated_now
from .reaching import fed_again, made_worse, protects_less, reached_crew, recharged, relied_on
from .refusal import Refused, refuse_if
from .state import Site
from .words import Phase

# Who reads that a store has filled again takes nothing away: it is so, nobody is refused to say it, and
# everyone whom it reaches is called out.
LOOKS = c.VerifyMachine


def decide(site: Site, command: c.Command) -> list[e.Event]:
    """The events that the command causes, those that follow by themselves included; raises Refused.

    `site` must be settled: what fell due by the command's time is already in it (see due.py).
    """
    asked = unless_held_up(site, command)
    after = fold(site, asked)
    follow = consequences(site, after, command)
    after = fold(after, follow)
    if not isinstance(command, LOOKS):
        guard_the_invariant(site, after)
    return [*late_with_all_that_followed(asked, follow), *follow]


def late_with_all_that_followed(asked: list[e.Event], follow: list[e.Event]) -> list[e.Event]:
    """What is entered late vouches for everything that it caused as well."""
    if asked and isinstance(asked[0], e.LateEntered):
        return [replace(asked[0], entries=asked[0].entries + len(follow)), *asked[1:]]
    return asked


def unless_held_up(site: Site, command: c.Command) -> list[e.Event]:
    """What the command causes; a refusal names what holds the permit up beside its own conditions."""
    waits = tuple(held_up(site, command))
    try:
        asked = dispatch(site, command)
    except Refused as refused:
        if not waits:
            raise
        raise Refused((*waits, *refused.unmet)) from None
    refuse_if(waits)
    return asked


def dispatch(site: Site, command: c.Command) -> list[e.Event]:
    """One line per command, each handing to the file of its topic."""
    match command:
        case c.RequestPermit():
            return issuing.request(site, command)
        case c.IssuePermit():
            return issuing.issue(site, command)
        case c.CancelPermit():
            return accepting.cancel(site, command)
        case c.AcceptPermit():
            return accepting.accept(site, command)
        case c.ExtendPermit():
            return accepting.extend(site, command)
        case c.NameCrew():
            return accepting.name_crew(site, command)
        case c.TellAffected():
            return accepting.tell(site, command)
        case c.ApplyLock():
            return isolating.lock(site, command)
        case c.ReleaseStore():
            return isolating.release(site, command)
        case c.VerifyMachine():
            return proving.verify(site, command)
        case c.TryStart():
            return proving.try_start(site, command)
        case c.SignOnCrew():
            return occupying.sign_on(site, command)
        case c.SignOffCrew():
            return occupying.sign_off(site, command)
        case c.RecordMachineCheck():
            return occupying.check_machine(site, command)
        case c.ResolveDefect():
            return occupying.resolve_defect(site, command)
        case c.AcceptDefect():
            return occupying.accept_defect(site, command)
        case c.ConfirmClear():
            return clearing.confirm_clear(site, command)
        case c.LeaveWatch():
            return clearing.leave_watch(site, command)
        case c.GiveSanction():
            return testing.give_sanction(site, command)
        case c.BeginCycle():
            return testing.begin_cycle(site, command)
        case c.Ready():
            return testing.ready(site, command)
        case c.Reisolate():
            return reisolating.reisolate(site, command)
        case c.EndSanction():
            return testing.end_sanction(site, command)
        case c.OpenJob():
            return jobs.open_job(site, command)
        case c.AskJob():
            return jobs.ask_job(site, command)
        case c.TakeReading():
            return jobs.take_reading(site, command)
        case c.CorrectAxis():
            return jobs.correct_axis(site, command)
        case c.ProveAxis():
            return jobs.prove_axis(site, command)
        case c.CloseJob():
            return jobs.close_job(site, command)
        case c.HandBack():
            return restoring.hand_back(site, command)
        case c.RemoveLocks():
            return restoring.remove_locks(site, command)
        case c.Reenergise():
            return restoring.reenergise(site, command)
        case c.SignClosed():
            return closing.sign_closed(site, command)
        case c.CloseOutOfUse():
            return closing.close_out_of_use(site, command)
        case c.AcknowledgeNotice():
            return accepting.acknowledge(site, command)
        case c.AmendPlan():
            return amending.amend(site, command)
        case c.StopWork():
            return stopping.stop(site, command)
        case c.SuspendPermit():
            return stopping.suspend(site, command)
        case c.LiftHalt():
            return stopping.lift(site, command)
        case c.DeclareEmergency():
            return stopping.declare_emergency(site, command)
        case c.EndEmergency():
            return stopping.end_emergency(site, command)
        case c.OfferHandover():
            return handing_over.offer(site, command)
        case c.NameHolder():
            return handing_over.name_holder(site, command)
        case c.WithdrawHandover():
            return handing_over.withdraw(site, command)
        case c.AcceptHandover():
            return handing_over.accept(site, command)
        case c.TakeOffForAbsent():
            return absent.take_off(site, command)
        case c.TellReturned():
            return absent.tell_returned(site, command)
        case c.DeclarePaper():
            return on_paper.declare(site, command)
        case c.EnterLate():
            return on_paper.enter(site, command, dispatch)
        case c.EndPaper():
            return on_paper.end(site, command)
        case _:
            assert_never(command)


def consequences(before: Site, after: Site, command: c.Command) -> list[e.Event]:
    """What follows by itself: stores fill again, tests lose their ground, isolation is gained or lost."""
    events: list[e.Event] = []
    for p in made_worse(before, after):
        events += [
            e.ReleaseUndone(permit=p.id, by=command.by, at=command.at, point=point)
            for point in recharged(after, p)
        ]
    after = fold(after, events)
    if protects_less(before, after):
        if not isinstance(command, LOOKS):
            refuse_if(relied_on(after))
        voided = [
            e.VerificationVoided(
                permit=p.id,
                by=command.by,
                at=command.at,
                point=point,
                why=f"{after.graph.name(point)} is fed from upstream again",
            )
            for p, point, _ in fed_again(after)
        ]
        events += voided
        after = fold(after, voided)
    for p in after.open:
        if p.phase is Phase.ISOLATING:
            events += isolated_now(after, p, command.at, command.by)
        elif p.phase is Phase.ISOLATED:
            events += lost_isolation(after, p, command.at, command.by)
    return events


def guard_the_invariant(before: Site, after: Site) -> None:
    """While anyone is signed on in a zone, no supply and no live store reaches that zone.

    Every command passes here, whatever its own conditions found. What was broken before it came (the plant
    changed) does not stop a command that takes nothing away and lets nobody in.
    """
    refuse_if(unmet for p in made_worse(before, after) for unmet in reached_crew(after, p))
