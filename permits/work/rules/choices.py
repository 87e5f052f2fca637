"""What else a person may do under a permit, besides the one next thing; shown quietly below it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from .against import is_signed_on
from .amending import OPEN_TO_IT
from .closing import still_open
from .handing_over import AT_SHIFT
from .next_early import may_cancel
from .next_step import next_step, step_at_work
from .restoring import may_be_running
from .state import Permit, Site
from .whom import may_issue
from .words import AT_WORK, Phase


@dataclass(frozen=True, slots=True)
class Choice:
    """Something else that this person may do now, shown quietly below the next step."""

    action: str
    title: str


def choices(site: Site, p: Permit, person: str, now: datetime) -> tuple[Choice, ...]:
    """What else this person may do now. The rules still have the last word on each."""
    step, own = next_step(site, p, person, now), step_at_work(site, p, person, now)
    meanwhile = [Choice(own.action, own.title)] if own != step and own.action else []
    found = dict.fromkeys(
        (
            *meanwhile,
            *choices_by_phase(site, p, person),
            *choices_by_role(site, p, person),
            *choices_when_it_goes_otherwise(site, p, person),
        )
    )
    return tuple(choice for choice in found if choice.action != step.action)


def choices_by_phase(site: Site, p: Permit, person: str) -> Iterator[Choice]:
    """What someone who works under the permit, or looks on, may do in its phase."""
    inside, named = is_signed_on(p, person), p.works_under_it(person)
    if p.phase in (Phase.ISOLATING, Phase.ISOLATED) and named:
        if not p.signed_on:  # nobody may be in reach of what they start
            yield Choice("try-start", "Try the controls")
        if p.phase is Phase.ISOLATED:
            yield Choice("verify", "Test a point again")
    if p.phase is Phase.ISOLATED and named:
        yield Choice("sign-off", "Sign off") if inside else Choice("sign-on", "Sign on")
    if p.phase is Phase.ISOLATED and inside:
        yield Choice("check", "Check the machine")
    if p.phase in (*AT_WORK, Phase.RESTORING) and any(lock.owner == person for lock in p.hanging):
        yield Choice("remove-locks", "Take a lock off")
    if confirms_matter(site, p):
        yield Choice("confirm-clear", "Confirm an area clear")
    if any(c.by == person and c.watching and c.void_at is None for c in p.confirmations):
        yield Choice("leave-watch", "Leave your watch")
    if p.phase is Phase.TESTING and named:
        yield Choice("reisolate", "Re-isolate")
    if p.phase is Phase.RESTORING and named:
        yield Choice("reisolate", "Isolate again")
    if p.open_jobs and named and p.phase in (*AT_WORK, Phase.RESTORING):
        yield Choice("job", "The calibration job")
    if p.phase in AT_WORK and person == p.holder:
        yield Choice("hand-back", "Hand the machine back")
    if may_tell(site, p, person):
        yield Choice("tell", "Tell affected people")


def may_tell(site: Site, p: Permit, person: str) -> bool:
    """The holder, and for them an issuer or an officer: at work, and once the last lock is off."""
    if person != p.holder and not site.roles_of(person) & {"issuer", "officer"}:
        return False
    return p.phase in AT_WORK or (p.phase is Phase.RESTORING and not p.hanging and p.reenergised_at is None)


def confirms_matter(site: Site, p: Permit) -> bool:
    """Does anything wait for danger areas to be confirmed clear, now or soon?"""
    if p.phase is Phase.ISOLATING:
        return may_be_running(site, p)
    return p.phase in (*AT_WORK, Phase.RESTORING) and p.reenergised_at is None


def choices_by_role(site: Site, p: Permit, person: str) -> Iterator[Choice]:
    """What the holder, an issuer or an officer may do about the permit as a whole."""
    roles = site.roles_of(person)
    begun = p.ever_signed_on or bool(p.sanctions)
    early = p.phase in (Phase.REQUESTED, Phase.ISSUED, Phase.ISOLATING)
    if early and not begun and may_cancel(site, p, person):
        yield Choice("cancel", "Cancel this permit")
    if p.sanction is not None and (person == p.holder or roles & {"issuer", "officer"}):
        yield Choice("end-sanction", "End the sanction")
    other_issuer = may_issue(site, p, person)
    if p.phase is Phase.ISOLATED and p.sanction is None and other_issuer:
        yield Choice("sanction", "Sanction a test")
    if p.phase in (Phase.ISSUED, *AT_WORK) and (person == p.holder or "issuer" in roles):
        yield Choice("name-crew", "Name crew")
    if p.phase in (Phase.ISSUED, *AT_WORK, Phase.RESTORING) and other_issuer:
        yield Choice("extend", "Give the permit more time")
    if p.open_defects and ("officer" in roles or is_signed_on(p, person)):
        yield Choice("defects", "Open defects")
    if p.reenergised_at is not None and "officer" in roles and any(still_open(site, p)):
        yield Choice("close-out-of-use", "Close as not proven, out of use")


def choices_when_it_goes_otherwise(site: Site, p: Permit, person: str) -> Iterator[Choice]:
    """Stops and what lifts them, handing over, absent people, points that the plan lacks."""
    roles = site.roles_of(person)
    at_work = p.phase in AT_WORK
    other_issuer = may_issue(site, p, person)
    if p.phase in AT_SHIFT and person == p.holder:
        yield Choice("offer-handover", "Hand the permit over")
    if p.next_holder and (person in (p.holder, p.next_holder) or "officer" in roles):
        yield Choice("withdraw-handover", "Withdraw the handover")
    if p.phase in OPEN_TO_IT and other_issuer and not p.halted:
        yield Choice("amend", "Add points to the plan")
    if "officer" in roles and (at_work or p.phase is Phase.RESTORING):
        yield Choice("name-holder", "Name a new holder")
        if any(owner != person for owner in owners_here(p)):
            yield Choice("take-off-absent", "Take an absent person's lock off")
    if p.notices and any_unacknowledged(p, person) and not p.works_under_it(person):
        yield Choice("acknowledge", "Say that a notice reached you")
    if at_work and (person == p.holder or "issuer" in roles):
        yield Choice("suspend", "Suspend the work")
    if site.paper is not None and roles & {"officer", "issuer", "technician"}:
        yield Choice("enter-late", "Enter what happened on paper")
    yield Choice("stop-work", "STOP this work")


def owners_here(p: Permit) -> set[str]:
    """Whose locks hang, on the points or on the box."""
    return {lock.owner for lock in p.hanging} | {on.person for on in p.signed_on}


def any_unacknowledged(p: Permit, person: str) -> bool:
    said = {a.notice for a in p.acknowledgements if a.person == person}
    return len(said) < len(p.notices)
