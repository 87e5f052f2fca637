"""What holds a permit up (stop, suspension, emergency, paper mode), and what is accepted meanwhile."""

from __future__ import annotations

from collections.abc import Iterator

from . import commands as c
from .refusal import Unmet
from .state import Permit, Site
from .whom import OVER_THERE, page_of
from .words import BOX, Halt, HaltKind

# Only what makes things safer, or says what is so, is accepted while a permit is held up (design §5.17).
SAFER: tuple[type[c.Ask], ...] = (
    c.StopWork, c.SuspendPermit, c.LiftHalt, c.SignOffCrew, c.ApplyLock, c.ReleaseStore, c.VerifyMachine,
    c.TryStart, c.Reisolate, c.EndSanction, c.CancelPermit, c.LeaveWatch, c.TellAffected, c.AcknowledgeNotice,
    c.OfferHandover, c.AcceptHandover, c.WithdrawHandover,
)  # fmt: skip

# What of it has to wait while the site is on paper: people may be inside whom nobody signed on here.
NOT_ON_PAPER: tuple[type[c.Ask], ...] = (c.TryStart,)

# What says how it is now, for what is entered late to begin from.
ON_PAPER_TOO: tuple[type[c.Ask], ...] = (c.ConfirmClear,)

# These are about the site, or about a permit that is not there yet.
OF_THE_SITE: tuple[type[c.Ask], ...] = (
    c.RequestPermit, c.DeclareEmergency, c.EndEmergency, c.TellReturned, c.DeclarePaper, c.EndPaper,
)  # fmt: skip


def is_safer(command: c.Command) -> bool:
    """Does the command only make things safer? Signing an absent person off does; taking their lock not."""
    if isinstance(command, c.TakeOffForAbsent):
        return command.where == BOX
    return isinstance(command, SAFER)


def held_up(site: Site, command: c.Command) -> Iterator[Unmet]:
    """Why this command has to wait, whatever its own conditions say."""
    late = isinstance(command, c.EnterLate)
    asked: c.Command = command.what if isinstance(command, c.EnterLate) else command
    p = site.permits.get(command.permit)
    if isinstance(command, OF_THE_SITE) or p is None or p.phase.is_over:
        return
    if not is_safer(asked):
        yield from halted(site, p)
    if site.paper is not None and not late and waits_for_paper(command):
        yield Unmet(
            "paper-mode",
            f"The site is on paper since {site.clock(site.paper.at)}: not all of that is entered.",
            f"Those who were there enter it first, {page_of(p)}; then an officer ends paper mode, "
            f"{OVER_THERE}: {site.holders_of('officer')}.",
        )


def waits_for_paper(command: c.Command) -> bool:
    if is_safer(command):
        return isinstance(command, NOT_ON_PAPER)
    return not isinstance(command, ON_PAPER_TOO)


def halted(site: Site, p: Permit) -> Iterator[Unmet]:
    """What holds the permit up, each by its own."""
    if site.emergency is not None:
        yield emergency_is_on(site)
    for halt in p.halted:
        if halt.kind is not HaltKind.EMERGENCY or site.emergency is None:
            yield Unmet("held-up", f"{p.id} is held up: {in_words(site, halt)}.", who_lifts(site, p))


def emergency_is_on(site: Site) -> Unmet:
    assert site.emergency is not None
    return Unmet(
        "emergency",
        f"The whole site is stopped: {site.emergency.why} (declared by {site.name(site.emergency.by)}).",
        f"An officer ends the emergency, {OVER_THERE}: {site.holders_of('officer')}.",
    )


def in_words(site: Site, halt: Halt) -> str:
    """ "stopped by Ola Operator at 10:05 on 25 November: smoke at the drive"."""
    did = {
        HaltKind.STOP: "stopped",
        HaltKind.SUSPENSION: "suspended",
        HaltKind.EMERGENCY: "stopped by a site emergency, declared",
        HaltKind.PLANT: "stopped by a change of the plant",
    }[halt.kind]
    return f"{did} by {site.name(halt.by)} at {site.clock(halt.at)}: {halt.why.rstrip('.')}"


def who_lifts(site: Site, p: Permit) -> str:
    officers = site.holders_of("officer")
    if p.is_stopped:
        return f"A safety officer lifts it, {page_of(p)}: {officers}."
    holder, issuers = site.name(p.holder), site.holders_of("issuer")
    return f"The holder ({holder}), an issuer ({issuers}) or an officer lifts it, {page_of(p)}."


def may_lift(site: Site, p: Permit, person: str) -> bool:
    """An officer lifts anything; a suspension also the holder or an issuer."""
    roles = site.roles_of(person)
    return "officer" in roles or (not p.is_stopped and (person == p.holder or "issuer" in roles))
