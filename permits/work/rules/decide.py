"""The one door to the rules: a command in, what happened out, or a refusal that names everything missing."""

from __future__ import annotations

from typing import assert_never

from . import clearing, isolating, issuing, occupying, restoring, testing
from . import commands as c
from . import events as e
from .against import reached_crew, relying_on_dead_upstream
from .due import lost_isolation
from .evolve import fold
from .refusal import Unmet, refuse_if
from .state import Site
from .words import Phase


def decide(site: Site, command: c.Command) -> list[e.Event]:
    """The events that the command causes, those that follow by themselves included; raises Refused.

    `site` must be settled: what fell due by the command's time is already in it (see due.py).
    """
    asked = dispatch(site, command)
    after = fold(site, asked)
    follow = consequences(site, after, command)
    after = fold(after, follow)
    guard_the_invariant(site, after)
    return [*asked, *follow]


def dispatch(site: Site, command: c.Command) -> list[e.Event]:
    """One line per command, each handing to the file of its topic."""
    match command:
        case c.RequestPermit():
            return issuing.request(site, command)
        case c.IssuePermit():
            return issuing.issue(site, command)
        case c.CancelPermit():
            return issuing.cancel(site, command)
        case c.AcceptPermit():
            return issuing.accept(site, command)
        case c.NameCrew():
            return issuing.name_crew(site, command)
        case c.TellAffected():
            return issuing.tell(site, command)
        case c.ApplyLock():
            return isolating.lock(site, command)
        case c.ReleaseStore():
            return isolating.release(site, command)
        case c.VerifyMachine():
            return isolating.verify(site, command)
        case c.TryStart():
            return isolating.try_start(site, command)
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
            return testing.reisolate(site, command)
        case c.EndSanction():
            return testing.end_sanction(site, command)
        case c.OpenJob():
            return testing.open_job(site, command)
        case c.TakeReading():
            return testing.take_reading(site, command)
        case c.CorrectAxis():
            return testing.correct_axis(site, command)
        case c.ProveAxis():
            return testing.prove_axis(site, command)
        case c.CloseJob():
            return testing.close_job(site, command)
        case c.HandBack():
            return restoring.hand_back(site, command)
        case c.RemoveLocks():
            return restoring.remove_locks(site, command)
        case c.Reenergise():
            return restoring.reenergise(site, command)
        case c.SignClosed():
            return restoring.sign_closed(site, command)
        case _:
            assert_never(command)


def consequences(before: Site, after: Site, command: c.Command) -> list[e.Event]:
    """What follows by itself: tests that lose what they relied on, isolation gained or lost."""
    events: list[e.Event] = []
    for p, point, path in relying_on_dead_upstream(before, after):
        if p.signed_on:
            names = tuple(after.graph.name(id) for id in path)
            refuse_if(
                Unmet(
                    "relies-on-dead-upstream",
                    f"{after.name(on.person)}, signed on under {p.id}, relies on {after.graph.name(point)}, which was "
                    f"tested with nothing upstream; it would be fed again through {' → '.join(names)}.",
                    f"Wait until {after.name(on.person)} has signed off; then the point is tested again.",
                    names,
                )
                for on in p.signed_on
            )
        why = f"{after.graph.name(point)} is fed from upstream again"
        events.append(e.VerificationVoided(permit=p.id, by=command.by, at=command.at, point=point, why=why))
    after = fold(after, events)
    for p in list(after.permits.values()):
        if p.phase is Phase.ISOLATING:
            events += isolating.isolated_now(after, p, command.at, command.by)
        elif p.phase is Phase.ISOLATED:
            events += lost_isolation(after, p, command.at, command.by)
    return events


def guard_the_invariant(before: Site, after: Site) -> None:
    """While anyone is signed on in a zone, no supply and no live store reaches that zone.

    Every command passes here, whatever its own conditions found; what was broken before it came (the plant
    changed, a lapse) does not stop a command that makes things no worse.
    """
    broken_before = {(unmet.what, unmet.path) for unmet in reached_crew(before)}
    refuse_if(unmet for unmet in reached_crew(after) if (unmet.what, unmet.path) not in broken_before)
