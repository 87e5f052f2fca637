"""The one next thing this person can do under this permit, or whom they are waiting for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from permits.plant.rules.energy import Kind

from .against import is_expired, is_fresh, is_signed_on, name_of, not_told_back
from .amending import lacking_points
from .clearing import areas_to_confirm
from .closing import awaited, closers, may_sign, still_open
from .handing_over import lacking, phases_to_take_over
from .held_up import halted, may_lift, who_lifts
from .isolating import measure_demanded
from .occupying import is_checked
from .proving import (
    counts_now,
    machines_to_verify,
    needs_qualified,
    not_isolated,
    qualified_people,
    to_verify,
)
from .reaching import names, plan_falls_short, through
from .restoring import may_be_running, undoable_releases
from .state import Permit, Site
from .words import Phase, Stage

# Steps that only make things safer; the rules have the same in held_up.SAFER.
ALSO_ON_PAPER = ("tell", "tell-returned", "lock", "release", "verify", "sign-off", "reisolate", "cancel")


@dataclass(frozen=True, slots=True)
class Step:
    """`action` names what to do ("" while waiting); `point` and `machine` say where; `until` ends a wait."""

    action: str
    title: str
    why: str = ""
    point: str = ""
    machine: str = ""
    until: datetime | None = None


def wait(title: str, why: str = "", until: datetime | None = None) -> Step:
    return Step("", title, why, until=until)


def next_step(site: Site, p: Permit, person: str, now: datetime) -> Step:
    """What this person should do next; every branch ends in a thing to do, a name to wait for, or the end."""
    if not p.phase.is_over:
        if p.halted or site.emergency is not None:
            return when_held_up(site, p, person)
        if person in site.untold and p.works_under_it(person):
            return wait("You have to be told something first", next(not_told_back(site, person)).what)
        if person and person == p.next_holder and p.phase in phases_to_take_over(p):
            return take_over(site, p, person)
    step = by_phase(site, p, person, now)
    if not step.action and not p.phase.is_over:
        step = tell_returned(site, p, person) or step
    return step if site.paper is None else on_paper(site, person, step)


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
        return wait("The whole site is stopped", why)
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
    return wait("The site is on paper", why) if step.action else step


def tell_returned(site: Site, p: Permit, person: str) -> Step | None:
    """Work may wait for someone who was absent and has not been told: an officer or issuer tells them."""
    waiting = [absent for absent in site.untold if p.works_under_it(absent) and absent != person]
    if not waiting or not site.roles_of(person) & {"officer", "issuer"}:
        return None
    title = f"Tell {site.name(waiting[0])} that their lock was taken off"
    return Step("tell-returned", title, "Before they resume work.")


def take_over(site: Site, p: Permit, person: str) -> Step:
    """Own locks beside the outgoing holder's, then the signature; unless the holder is gone."""
    for point in lacking(p, person):
        where = site.graph[point].place
        at_place = f" At {where}." if where else ""
        why = f"Before {site.name(p.holder)}'s comes off.{at_place}"
        return Step("lock", f"Hang your lock on {name_of(site, point)}", why, point)
    why = f"From {site.name(p.holder)}. Read the plan and the state."
    return Step("accept-handover", "Take the permit over", why)


def when_requested(site: Site, p: Permit, person: str, now: datetime) -> Step:
    if dead_end := no_way_on(site, p, now):
        return cancel_next(site, p, person, dead_end)
    if "issuer" in site.roles_of(person):
        return Step("issue", "Issue the permit", "Look at the plan, name the holder and the crew, sign.")
    return wait("An issuer signs the permit out", f"Who can: {site.holders_of('issuer')}.")


def no_way_on(site: Site, p: Permit, now: datetime) -> str:
    """Why a permit that nobody has accepted can't go on; "" while it can."""
    if is_expired(p, now):
        return "Its time is over and no work was done."
    for path in plan_falls_short(site, p).values():
        return f"The plant has changed: this plan does not cover {through(names(site, path))}."
    return ""


def cancel_next(site: Site, p: Permit, person: str, why: str) -> Step:
    if may_cancel(site, p, person):
        return Step("cancel", "Cancel this permit", why)
    return wait(f"{site.name(p.holder or p.requested_by)} cancels this permit", why)


def may_cancel(site: Site, p: Permit, person: str) -> bool:
    return person in (p.requested_by, p.holder) or bool(site.roles_of(person) & {"issuer", "officer"})


def names_on(site: Site, p: Permit) -> str:
    return ", ".join(site.name(on.person) for on in p.signed_on)


def when_isolating(site: Site, p: Permit, person: str, now: datetime) -> Step:
    if is_signed_on(p, person):
        why = p.stopped_because or "The machine is not proven dead any more."
        return Step("sign-off", "Come out and sign off", why)
    if p.signed_on:
        return wait(f"{names_on(site, p)} must come out and sign off", p.stopped_because)
    for path in plan_falls_short(site, p).values():
        way = through(names(site, path))
        if may_amend(site, p, person) and any(lacking_points(site, p)):
            return Step("amend", "Add points to the plan", f"It does not cover {way}.")
        return give_up(site, p, person, now, f"This plan does not cover {way}.")
    if is_expired(p, now):
        return give_up(site, p, person, now, "The permit's time is over.")
    if not p.works_under_it(person):
        return wait(f"{site.name(p.holder)} isolates the machine")
    if p.points and not p.told(Stage.BEFORE):
        return Step("tell", "Tell affected people", "Before the first lock goes on.")
    for point in p.points:
        if p.is_held(point):
            continue
        node = site.graph[point]
        where = f"At {node.place}." if node.place else ""
        if besides := measure_demanded(site, point):
            why = f"Takes a tag, not a lock. Do this as well: {besides} {where}".strip()
            return Step("lock", f"Tag {name_of(site, point)}", why, point)
        if node.kind is Kind.ISOLATOR:
            return Step("lock", f"Lock {name_of(site, point)}", where, point)
        how = node.release.method if node.release else ""
        return Step("release", f"Release {name_of(site, point)}", how, point)
    return test_next(site, p, person, now)


def may_amend(site: Site, p: Permit, person: str) -> bool:
    return "issuer" in site.roles_of(person) and (person != p.holder or site.policy.own_issue)


def give_up(site: Site, p: Permit, person: str, now: datetime, why: str) -> Step:
    """This permit can't be isolated: hand back what was worked on, or take the locks off and cancel."""
    if p.ever_signed_on or p.sanctions:
        return hand_back_next(site, p, person, now, why)
    if p.next_holder and (person in (p.holder, p.next_holder) or "officer" in site.roles_of(person)):
        return Step("withdraw-handover", "Withdraw the handover", why)
    mine = [lock for lock in p.hanging if lock.owner == person]
    if mine:
        return Step("remove-locks", "Take your locks off", why)
    if p.hanging:
        return wait(f"{owners_of(site, p)} takes their locks off", why)
    return cancel_next(site, p, person, why)


def hand_back_next(site: Site, p: Permit, person: str, now: datetime, why: str) -> Step:
    """Hand back; where the machine may still be under power the danger areas are confirmed clear first."""
    if may_be_running(site, p) and (unclear := not_fresh(site, p, now)):
        return Step("confirm-clear", "Confirm the areas clear", unclear)
    if person == p.holder:
        return Step("hand-back", "Hand the machine back", why)
    return wait(f"{site.name(p.holder)} hands the machine back", why)


def not_fresh(site: Site, p: Permit, now: datetime) -> str:
    """By name, the danger areas whose confirmation is missing or stale."""
    return ", ".join(
        site.graph.name(area) for area in areas_to_confirm(site, p) if not is_fresh(site, p, area, now)
    )


def owners_of(site: Site, p: Permit) -> str:
    return ", ".join(sorted({site.name(lock.owner) for lock in p.hanging}))


def test_next(site: Site, p: Permit, person: str, now: datetime) -> Step:
    waits: list[datetime] = []
    for_others: list[str] = []
    for machine in machines_to_verify(site, p):
        untested = [pt for pt in to_verify(site, p, machine) if not p.is_verified(pt, now)]
        due = [pt for pt in untested if counts_now(p, pt, now)]
        waits += [
            r.counts_from for pt in untested if (r := p.release_of(pt)) is not None and r.counts_from > now
        ]
        if not due:
            continue
        title = f"Prove {machine or 'the supply points'} dead"
        why = "Readings: " + ", ".join(name_of(site, pt) for pt in due)
        if any(needs_qualified(site.graph[pt]) for pt in due) and not is_qualified(site, p, person, now):
            for_others.append(machine)
            continue
        return Step("verify", title, why, machine=machine)
    if for_others:
        who = f"Who can: {qualified_people(site, p, now)}."
        if person == p.holder and not any(is_qualified(site, p, one, now) for one in p.crew_named):
            return Step("name-crew", "Name a qualified person", who)
        return wait(f"A qualified person tests {', '.join(for_others)}", who)
    if waits:
        return wait(
            "Wait, then test", "A stored energy runs down; a reading before then does not count.", min(waits)
        )
    return wait("The machine is not isolated", "; ".join(u.what for u in not_isolated(site, p, now)))


def is_qualified(site: Site, p: Permit, person: str, now: datetime) -> bool:
    """May the person measure absence of voltage at every machine of the permit?"""
    return all(site.standing(person, machine, now).qualified for machine in site.machines_of(p.zones))


def when_isolated(site: Site, p: Permit, person: str, now: datetime) -> Step:
    named = p.works_under_it(person)
    issuer = "issuer" in site.roles_of(person) and (person != p.holder or site.policy.own_issue)
    if is_expired(p, now):
        return when_expired(site, p, person)
    if now < p.starts_at:
        return wait(f"{p.id} has not begun", "Nobody signs on before then.", p.starts_at)
    if not is_checked(p) or p.open_defects:
        if is_signed_on(p, person):
            if not is_checked(p):
                return Step("check", "Check the machine", "Before anything is adjusted.")
            return Step("defects", "Mend what was found", "Or an officer accepts it with a reason.")
        if named:
            return Step("sign-on", "Sign on", "Hang your own padlock on the group box first.")
        if "officer" in site.roles_of(person) and p.open_defects:
            return Step(
                "defects", "Look at the open defects", "Accept with a reason, or let the crew mend them."
            )
        return wait(f"The crew of {p.id} checks the machine")
    if jobs_done(p) and p.sanction is None:
        return sign_off_or(site, p, person, Step("hand-back", "Hand the machine back", "The job is closed."))
    if p.sanction is None:
        if issuer:
            return Step(
                "sanction", "Sanction a test", "Name the points that may be energised, and the limits."
            )
        if is_signed_on(p, person):
            return Step("sign-off", "Work; then come out and sign off", "Nobody may be inside during a test.")
        return wait("An issuer sanctions the test", f"Who can: {site.holders_of('issuer')}.")
    if jobs_done(p):
        return sign_off_or(site, p, person, Step("hand-back", "Hand the machine back", "The job is closed."))
    if person == p.holder and not p.told_of_tests():
        return Step(
            "tell", "Tell affected people of the test", "Say that the machine will be started for tests."
        )
    if person == p.holder and not p.jobs:
        return Step("open-job", "Open the calibration job", "Save the machine's settings first.")
    return sign_off_or(site, p, person, Step("begin-cycle", "Begin a test cycle", "Tools out, guards on."))


def jobs_done(p: Permit) -> bool:
    return bool(p.jobs) and not p.open_jobs


def sign_off_or(site: Site, p: Permit, person: str, then: Step) -> Step:
    """Everyone comes out before the holder takes the next step."""
    if is_signed_on(p, person):
        return Step("sign-off", "Come out and sign off", then.title + " follows.")
    if p.signed_on:
        return wait(f"{names_on(site, p)} must come out and sign off", then.title + " follows.")
    if person != p.holder:
        return wait(f"{site.name(p.holder)}: {then.title[0].lower()}{then.title[1:]}")
    return then


def when_expired(site: Site, p: Permit, person: str) -> Step:
    then = Step("hand-back", "Hand the machine back", "The permit's time is over.")
    return sign_off_or(site, p, person, then)


def when_testing(site: Site, p: Permit, person: str, now: datetime) -> Step:
    sanction = p.sanction
    if sanction is None:  # evolve leaves testing when a sanction ends
        return wait("No sanction is in force")
    if sanction.ready_at is None:
        return until_ready(site, p, person, now)
    if not p.works_under_it(person):
        return wait(f"{site.name(p.holder)} tests under power", sanction.limits)
    if p.open_jobs:
        return Step(
            "job", "Run test pieces and read them", "Collect pieces outside every zone, after standstill."
        )
    if not p.jobs and person == p.holder:
        return Step("open-job", "Open the calibration job", "Save the machine's settings first.")
    return Step("reisolate", "Re-isolate", "The job is closed: make the machine dead again or hand it back.")


def until_ready(site: Site, p: Permit, person: str, now: datetime) -> Step:
    assert p.sanction is not None
    hanging = [lock for lock in p.hanging if lock.where in p.sanction.points]
    mine = [lock for lock in hanging if lock.owner == person]
    if mine:
        points = ", ".join(name_of(site, lock.where) for lock in mine)
        return Step("remove-locks", "Take your locks off", points)
    if hanging:
        owners = ", ".join(sorted({site.name(lock.owner) for lock in hanging}))
        return wait(f"{owners} takes their locks off", "Only from the sanctioned points.")
    if unclear := not_fresh(site, p, now):
        return Step("confirm-clear", "Confirm the areas clear", unclear)
    if person == p.holder:
        return Step(
            "ready", "Sign ready to energise", "The last step before the first freed point is closed."
        )
    return wait(f"{site.name(p.holder)} signs ready to energise")


def when_restoring(site: Site, p: Permit, person: str, now: datetime) -> Step:
    mine = [lock for lock in p.hanging if lock.owner == person]
    if mine:
        return Step(
            "remove-locks", "Take your locks off", ", ".join(name_of(site, lock.where) for lock in mine)
        )
    if p.hanging:
        return wait(f"{owners_of(site, p)} takes their locks off", "Each lock comes off by its owner.")
    if held := undoable_releases(site, p):
        points = ", ".join(name_of(site, point) for point in held)
        if person == p.holder:
            return Step("remove-locks", "Take props, bleeds and earths away", points)
        return wait(f"{site.name(p.holder)} takes props, bleeds and earths away", points)
    if p.reenergised_at is None:
        if not p.told(Stage.AFTER):
            if p.works_under_it(person):
                return Step("tell", "Tell affected people", "The locks are off and the machine starts again.")
            return wait(f"{site.name(p.holder)} tells affected people")
        if unclear := not_fresh(site, p, now):
            return Step("confirm-clear", "Confirm the areas clear", unclear)
        if person == p.holder:
            return Step("reenergise", "Re-energise", "Look once more, then bring power back.")
        return wait(f"{site.name(p.holder)} re-energises")
    if left := [unmet.what for unmet in still_open(site, p)]:
        return finish_or_leave(site, p, person, " ".join(left))
    signed = closers(p)
    side_open = person not in signed and (person == p.holder or not signed - {p.holder})
    if may_sign(site, p, person) and side_open:
        return Step("close", "Sign the permit closed", "The holder and an issuer both sign.")
    return wait(f"{', '.join(awaited(site, p))} signs the permit closed")


def finish_or_leave(site: Site, p: Permit, person: str, left: str) -> Step:
    """Something is open after power is back: carry on, or an officer leaves the machine out of use."""
    if p.open_defects and "officer" in site.roles_of(person):
        return Step("defects", "Look at the open defects", left)
    if p.works_under_it(person) and p.open_jobs and not any(job.unproven for job in p.jobs):
        return Step("job", "Finish the calibration job", left)
    if p.works_under_it(person):
        return Step("reisolate", "Isolate again, or finish the job", left)
    return wait("Something is still open", left)
