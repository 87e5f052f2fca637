"""The one next thing this person can do under this permit, or whom they are waiting for."""

from __future__ import annotations

from datetime import datetime

from .against import is_expired, is_signed_on, name_of, not_authorised, not_told_back
from .handing_over import AT_SHIFT, lacking, phases_to_take_over
from .held_up import emergency_is_on, halted, may_lift, who_lifts
from .next_early import cancel_next, no_way_on, when_requested
from .next_isolating import when_isolating
from .next_working import when_isolated, when_restoring, when_testing
from .reaching import carries_lock
from .state import Permit, Site
from .step import Step, names_on, wait
from .whom import OVER_THERE
from .words import Phase

# Steps that only make things safer; the rules have the same in held_up.SAFER.
ALSO_ON_PAPER = ("tell", "tell-returned", "lock", "release", "verify", "sign-off", "reisolate", "cancel")

# Steps whose rules ask whether this person is authorised for every machine of the permit.
NEEDS_AUTHORISATION = (
    "accept", "accept-handover", "lock", "release", "verify", "sign-on", "begin-cycle", "ready", "reisolate",
)  # fmt: skip

# What a holder who hands over still sees first: the ways out, and what ends the permit.
BEFORE_HANDING_OVER = (
    "sign-off", "withdraw-handover", "confirm-clear", "hand-back", "remove-locks", "cancel",
)  # fmt: skip


def next_step(site: Site, p: Permit, person: str, now: datetime) -> Step:
    """What this person should do next; every branch ends in a thing to do, a name to wait for, or the end."""
    step = step_at_work(site, p, person, now)
    if hands_over(p, person, now) and not comes_first(site, p, step):
        return until_taken_over(site, p)
    return leave_locks(site, p, person) or step


def hands_over(p: Permit, person: str, now: datetime) -> bool:
    """Has this holder offered the permit to someone who has not signed yet, with time left?"""
    offered = bool(p.next_holder) and person == p.holder and not p.holder_gone
    return offered and p.phase in AT_SHIFT and not is_expired(p, now)


def comes_first(site: Site, p: Permit, step: Step) -> bool:
    if p.halted or site.emergency is not None or p.holder in site.untold:
        return True
    return p.phase is Phase.ISOLATING and step.action in BEFORE_HANDING_OVER


def until_taken_over(site: Site, p: Permit) -> Step:
    """What the next holder still needs, and how the holder takes the offer back."""
    then = site.name(p.next_holder)
    bare = [name_of(site, point) for point in lacking(site, p, p.next_holder)]
    locks = f"They hang their own lock beside yours on {', '.join(bare)}, then they sign." if bare else ""
    needed = locks or "Their locks hang. They read the plan and sign."
    if not p.hanging:
        needed = "They read the plan and sign."
    kept = "Until then the permit is yours and your locks stay on."
    return wait(f"{then} takes the permit over", f"{needed} {kept} {TAKE_BACK}")


TAKE_BACK = "To take it back: “Withdraw the handover”, further down."


def leave_locks(site: Site, p: Permit, person: str) -> Step | None:
    """Who has handed over takes off their own locks, where others hang beside them."""
    mine = {lock.where for lock in p.hanging if lock.owner == person}
    alone = mine & set(carries_lock(site, p)) - {lock.where for lock in p.hanging if lock.owner != person}
    if not mine or p.works_under_it(person) or p.phase not in AT_SHIFT or is_signed_on(p, person):
        return None
    if p.halted or site.emergency is not None or site.paper is not None or alone:
        return None
    why = f"{site.name(p.holder)} holds {p.id} now, and no point stays bare without yours."
    return Step("remove-locks", "Take your locks off", why)


def step_at_work(site: Site, p: Permit, person: str, now: datetime) -> Step:
    """The next step of the work itself, whoever it may be handed to meanwhile."""
    if not p.phase.is_over:
        if p.halted or site.emergency is not None:
            return when_held_up(site, p, person)
        if person in site.untold and p.works_under_it(person):
            told = next(not_told_back(site, person))
            return wait("You have to be told something first", f"{told.what} {told.who}")
        if person and person == p.next_holder and p.phase in phases_to_take_over(p):
            return unless_barred(site, p, person, now, take_over(site, p, person))
    step = unless_barred(site, p, person, now, by_phase(site, p, person, now))
    if not step.action and not p.phase.is_over:
        step = tell_returned(site, p, person) or step
    return step if site.paper is None else on_paper(site, person, step)


def unless_barred(site: Site, p: Permit, person: str, now: datetime, step: Step) -> Step:
    """Nobody is sent to a point, or inside, to be refused there: they read what authorisation they lack."""
    if step.action not in NEEDS_AUTHORISATION:
        return step
    lacks = [f"{unmet.what} {unmet.who}" for unmet in not_authorised(site, person, p, now)]
    why = f"Next would be: {step.title}. {' '.join(lacks)}"
    return wait("Not allowed on this machine now", why) if lacks else step


def by_phase(site: Site, p: Permit, person: str, now: datetime) -> Step:
    match p.phase:
        case Phase.REQUESTED:
            return when_requested(site, p, person, now)
        case Phase.ISSUED:
            if dead_end := no_way_on(site, p, now):
                return cancel_next(site, p, person, dead_end)
            if person == p.holder:
                return Step(
                    "accept", "Accept the permit", "Read the plan: each energy, its hazards, how it is held."
                )
            return wait(f"{site.name(p.holder)} accepts the permit")
        case Phase.ISOLATING:
            return when_isolating(site, p, person, now)
        case Phase.ISOLATED:
            return when_isolated(site, p, person, now)
        case Phase.TESTING:
            return when_testing(site, p, person, now)
        case Phase.RESTORING:
            return when_restoring(site, p, person, now)
        case Phase.CLOSED:
            return wait("This permit is closed", "Nothing changes any more.")
        case Phase.CANCELLED:
            return wait("This permit is cancelled", "Nothing changes any more.")


def when_held_up(site: Site, p: Permit, person: str) -> Step:
    """Come out; then whoever may lift it looks into it."""
    why = " ".join(f"{unmet.what}" for unmet in halted(site, p))
    if is_signed_on(p, person):
        return Step("sign-off", "Come out and sign off", why)
    if p.signed_on:
        return wait(f"{names_on(site, p)} must come out and sign off", why)
    if site.emergency is not None:
        if "officer" in site.roles_of(person):
            return Step("end-emergency", "End the emergency, once it is over", why)
        return wait("The whole site is stopped", f"{why} {emergency_is_on(site).who}")
    if may_lift(site, p, person):
        return Step("lift-halt", "Look into it, then lift it", why)
    return wait("Wait until it is lifted", f"{why} {who_lifts(site, p)}")


def on_paper(site: Site, person: str, step: Step) -> Step:
    """What is on the printed forms comes first; only then does anything go on that takes protection away."""
    assert site.paper is not None
    if step.action in ALSO_ON_PAPER:
        return step
    why = f"Paper mode since {site.clock(site.paper.at)}: what happened meanwhile is entered first."
    if "officer" in site.roles_of(person):
        return Step("end-paper", "Enter what is on paper, then end paper mode", why)
    ends = f"Then an officer ends paper mode, {OVER_THERE}: {site.holders_of('officer')}."
    return wait("The site is on paper", f"{why} {ends}") if step.action else step


def tell_returned(site: Site, p: Permit, person: str) -> Step | None:
    """Work may wait for someone who was absent and has not been told: an officer or issuer tells them."""
    waiting = [absent for absent in site.untold if p.works_under_it(absent) and absent != person]
    if not waiting or not site.roles_of(person) & {"officer", "issuer"}:
        return None
    title = f"Tell {site.name(waiting[0])} that their lock was taken off"
    return Step("tell-returned", title, "Before they resume work.")


def take_over(site: Site, p: Permit, person: str) -> Step:
    """Own locks beside the outgoing holder's, then the signature; unless the holder is gone."""
    for point in lacking(site, p, person):
        where = site.graph[point].place
        at_place = f" At {where}." if where else ""
        why = f"Before {site.name(p.holder)}'s comes off.{at_place}"
        return Step("lock", f"Hang your lock on {name_of(site, point)}", why, point)
    why = f"From {site.name(p.holder)}. Read the plan and the state."
    return Step("accept-handover", "Take the permit over", why)
