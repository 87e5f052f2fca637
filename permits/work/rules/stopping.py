"""Stop, suspend, declare an emergency; and lift what was stopped."""

from __future__ import annotations

from collections.abc import Iterator

from . import commands as c
from . import events as e
from .against import crew_signed_on, lacks_role, phase_is_not, says_too_little, the_permit
from .held_up import emergency_is_on, may_lift, who_lifts
from .refusal import Unmet, refuse_if
from .state import Permit, Site
from .whom import NOTHING_LEFT
from .words import AT_WORK, HaltKind


def stop(site: Site, ask: c.StopWork) -> list[e.Event]:
    """Never refused to anyone of the site: whoever sees danger stops the work, and explains afterwards."""
    p = the_permit(site, ask.permit)
    return stopped(site, p, ask, HaltKind.STOP, ask.why.strip() or "no reason given yet")


def stopped(site: Site, p: Permit, ask: c.Ask, kind: HaltKind, why: str) -> list[e.Event]:
    """What a stop does to one permit: its sanction ends, its tests are void, its crew is called out."""
    events: list[e.Event] = []
    if p.sanction is not None:
        reason = f"the permit was held up ({kind.value}): {why}"
        events.append(e.SanctionEnded(permit=p.id, by=ask.by, at=ask.at, why=reason))
    crew = tuple(on.person for on in p.signed_on)
    events.append(e.WorkStopped(permit=p.id, by=ask.by, at=ask.at, kind=kind, why=why, crew=crew))
    return events


def suspend(site: Site, ask: c.SuspendPermit) -> list[e.Event]:
    p = the_permit(site, ask.permit)

    def against() -> Iterator[Unmet]:
        yield from phase_is_not(site, p, *AT_WORK, asked="suspending")
        if ask.by != p.holder:
            yield from lacks_role(site, ask.by, "issuer", to="suspend another's permit")
        yield from says_too_little(ask.why, "The reason is empty.", "why, in a few words")

    refuse_if(against())
    return stopped(site, p, ask, HaltKind.SUSPENSION, ask.why.strip())


def lift(site: Site, ask: c.LiftHalt) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_lifting(site, p, ask))
    signed = c.SIGNED[c.LiftHalt]
    return [e.HaltLifted(permit=p.id, by=ask.by, at=ask.at, how=ask.how.strip(), signed=signed)]


def against_lifting(site: Site, p: Permit, ask: c.LiftHalt) -> Iterator[Unmet]:
    if not p.halted:
        yield Unmet(
            "not-held-up",
            f"Nothing holds {p.id} up.",
            f"You go on with the next step of {p.id}, on its page.",
        )
    elif not may_lift(site, p, ask.by):
        yield Unmet(
            "may-not-lift", f"{site.name(ask.by)} cannot lift what holds {p.id} up.", who_lifts(site, p)
        )
    if site.emergency is not None:
        yield emergency_is_on(site)
    yield from crew_signed_on(site, p, "everyone was called out, and comes out first")
    yield from says_too_little(
        ask.how, "It is not said what became of the reason.", "in a few words why work may go on"
    )


# ── the whole site ──────────────────────────────────────────────────────────────────────────────────────


def declare_emergency(site: Site, ask: c.DeclareEmergency) -> list[e.Event]:
    def against() -> Iterator[Unmet]:
        yield from lacks_role(site, ask.by, "officer", to="declare an emergency; anyone may stop a permit")
        if site.emergency is not None:
            yield Unmet(
                "emergency-already",
                f"An emergency is declared since {site.clock(site.emergency.at)}.",
                NOTHING_LEFT,
            )

    refuse_if(against())
    why = ask.why.strip() or "no reason given yet"
    events: list[e.Event] = [e.EmergencyDeclared(permit="", by=ask.by, at=ask.at, why=why)]
    for p in site.open:
        events += stopped(site, p, ask, HaltKind.EMERGENCY, why)
    return events


def end_emergency(site: Site, ask: c.EndEmergency) -> list[e.Event]:
    def against() -> Iterator[Unmet]:
        yield from lacks_role(site, ask.by, "officer", to="end an emergency")
        if site.emergency is None:
            yield Unmet("no-emergency", "No emergency is declared.", NOTHING_LEFT)
        yield from says_too_little(ask.how, "It is not said how it ended.", "how, in a few words")

    refuse_if(against())
    signed = c.SIGNED[c.EndEmergency]
    return [e.EmergencyEnded(permit="", by=ask.by, at=ask.at, how=ask.how.strip(), signed=signed)]
