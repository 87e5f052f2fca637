"""The next step once a machine is isolated: work, tests under power, the way back to service."""

from __future__ import annotations

from datetime import datetime

from .against import is_expired, is_signed_on
from .closing import awaited, closers, may_sign, still_open
from .occupying import is_checked
from .restoring import undoable_releases
from .state import Permit, Site
from .step import Step, not_fresh, owners_of, sign_off_or, wait
from .whom import may_issue, spots, the_crew
from .words import Stage


def when_isolated(site: Site, p: Permit, person: str, now: datetime) -> Step:
    named = p.works_under_it(person)
    issuer = may_issue(site, p, person)
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
        return wait(f"{the_crew(site, p)} checks the machine")
    if jobs_done(p) and p.sanction is None:
        return sign_off_or(site, p, person, Step("hand-back", "Hand the machine back", "The job is closed."))
    if p.sanction is None:
        if issuer:
            return Step(
                "sanction", "Sanction a test", "Name the points that may be energised, and the limits."
            )
        if is_signed_on(p, person):
            why = "When the work inside is done: nobody may be inside during a test."
            return Step("sign-off", "Come out and sign off", why)
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
        return Step("remove-locks", "Take your locks off", spots(site, (lock.where for lock in mine)))
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
        return Step("remove-locks", "Take your locks off", spots(site, (lock.where for lock in mine)))
    if p.hanging:
        return wait(f"{owners_of(site, p)} takes their locks off", "Each lock comes off by its owner.")
    if held := undoable_releases(site, p):
        points = spots(site, held)
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
    return wait(f"{the_crew(site, p)} finishes what is open", left)
