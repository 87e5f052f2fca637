"""The one next thing this person can do under this permit, or whom they are waiting for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from permits.plant.rules.energy import Kind

from . import isolating
from .against import is_fresh
from .clearing import areas_to_confirm
from .isolating import machines_to_verify, name_of, needs_qualified, qualified_people, to_verify
from .occupying import is_checked
from .restoring import closers, still_open, undoable_releases
from .state import Permit, Site
from .words import Phase, Stage


@dataclass(frozen=True, slots=True)
class Step:
    """`action` names what to do ("" while waiting); `point` and `machine` say where; `until` ends a wait by itself."""

    action: str
    title: str
    why: str = ""
    point: str = ""
    machine: str = ""
    until: datetime | None = None


@dataclass(frozen=True, slots=True)
class Choice:
    """Something else that this person may do now, shown quietly below the next step."""

    action: str
    title: str


def wait(title: str, why: str = "", until: datetime | None = None) -> Step:
    return Step("", title, why, until=until)


def next_step(site: Site, p: Permit, person: str, now: datetime) -> Step:
    """What this person should do next; every branch ends in a thing to do, a name to wait for, or the end."""
    match p.phase:
        case Phase.REQUESTED:
            return when_requested(site, p, person)
        case Phase.ISSUED:
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


def when_requested(site: Site, p: Permit, person: str) -> Step:
    if "issuer" in site.people[person].roles:
        return Step("issue", "Issue the permit", "Look at the plan, name the holder and the crew, sign.")
    return wait("An issuer signs the permit out", f"Who can: {site.holders_of('issuer')}.")


def on_now(p: Permit, person: str) -> bool:
    return any(on.person == person for on in p.signed_on)


def names_on(site: Site, p: Permit) -> str:
    return ", ".join(site.name(on.person) for on in p.signed_on)


def when_isolating(site: Site, p: Permit, person: str, now: datetime) -> Step:
    if on_now(p, person):
        return Step(
            "sign-off",
            "Come out and sign off",
            p.stopped_because or "The machine is not proven dead any more.",
        )
    if p.signed_on:
        return wait(f"{names_on(site, p)} must come out and sign off", p.stopped_because)
    if not p.works_under_it(person):
        return wait(f"{site.name(p.holder)} isolates the machine")
    if p.stopped_path:
        return stopped(site, p, person)
    if not p.told(Stage.BEFORE):
        if person == p.holder:
            return Step("tell", "Tell affected people", "Before the first lock goes on.")
        return wait(f"{site.name(p.holder)} tells affected people", "Then the first lock goes on.")
    for point in p.points:
        if point in p.locked or point in p.released:
            continue
        node = site.graph[point]
        if node.kind is Kind.ISOLATOR:
            return Step(
                "lock", f"Lock {name_of(site, point)}", f"At {node.place}." if node.place else "", point
            )
        how = node.release.method if node.release else ""
        return Step("release", f"Release {name_of(site, point)}", how, point)
    return test_next(site, p, person, now)


def stopped(site: Site, p: Permit, person: str) -> Step:
    if person == p.holder:
        return Step(
            "hand-back", "Hand the machine back", f"{p.stopped_because}: this plan does not cover it."
        )
    return wait(f"{site.name(p.holder)} hands the machine back", p.stopped_because)


def test_next(site: Site, p: Permit, person: str, now: datetime) -> Step:
    waits: list[datetime] = []
    for machine in machines_to_verify(site, p):
        untested = [pt for pt in to_verify(site, p, machine) if not p.is_verified(pt, now)]
        due = [pt for pt in untested if isolating.counts_now(p, pt, now)]
        waits += [
            r.counts_from for pt in untested if (r := p.release_of(pt)) is not None and r.counts_from > now
        ]
        if not due:
            continue
        title = f"Prove {machine or 'the supply points'} dead"
        why = "Readings: " + ", ".join(name_of(site, pt) for pt in due)
        qualified = all(site.standing(person, m, now).qualified for m in site.machines_of(p.zones))
        if any(needs_qualified(site.graph[pt]) for pt in due) and not qualified:
            return wait(f"A qualified person tests {machine}", f"Who can: {qualified_people(site, p, now)}.")
        return Step("verify", title, why, machine=machine)
    if waits:
        return wait(
            "Wait, then test", "A stored energy runs down; a reading before then does not count.", min(waits)
        )
    return wait(
        "The machine is not isolated", "; ".join(u.what for u in isolating.not_isolated(site, p, now))
    )


def when_isolated(site: Site, p: Permit, person: str, now: datetime) -> Step:
    named = p.works_under_it(person)
    issuer = "issuer" in site.people[person].roles and person != p.holder
    if p.expired_at is not None or now >= p.ends_at:
        return when_expired(site, p, person)
    if not is_checked(p) or p.open_defects:
        if on_now(p, person):
            if not is_checked(p):
                return Step("check", "Check the machine", "Before anything is adjusted.")
            return Step("defects", "Mend what was found", "Or an officer accepts it with a reason.")
        if named:
            return Step("sign-on", "Sign on", "Hang your own padlock on the group box first.")
        if "officer" in site.people[person].roles and p.open_defects:
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
        if on_now(p, person):
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
    if on_now(p, person):
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
    unclear = [a for a in areas_to_confirm(site, p) if not is_fresh(site, p, a, now)]
    if unclear:
        names = ", ".join(site.graph.name(area) for area in unclear)
        return Step("confirm-clear", "Confirm the areas clear", names)
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
        owners = ", ".join(sorted({site.name(lock.owner) for lock in p.hanging}))
        return wait(f"{owners} takes their locks off", "Each lock comes off by its owner.")
    if undoable_releases(site, p) and person == p.holder:
        return Step("remove-locks", "Take props, bleeds and earths away", "")
    if p.reenergised_at is None:
        if not p.told(Stage.AFTER):
            if person == p.holder:
                return Step("tell", "Tell affected people", "The locks are off and the machine starts again.")
            return wait(f"{site.name(p.holder)} tells affected people")
        unclear = [a for a in areas_to_confirm(site, p) if not is_fresh(site, p, a, now)]
        if unclear:
            names = ", ".join(site.graph.name(area) for area in unclear)
            return Step("confirm-clear", "Confirm the areas clear", names)
        if person == p.holder:
            return Step("reenergise", "Re-energise", "Look once more, then bring power back.")
        return wait(f"{site.name(p.holder)} re-energises")
    left = [unmet.what for unmet in still_open(site, p)]
    if left:
        return wait("Something is still open", " ".join(left))
    if person in (p.holder, p.issuer) and person not in closers(p):
        return Step("close", "Sign the permit closed", "Holder and issuer both sign.")
    missing = [site.name(who) for who in (p.holder, p.issuer) if who not in closers(p)]
    return wait(f"{', '.join(missing)} signs the permit closed")


def choices(site: Site, p: Permit, person: str, now: datetime) -> tuple[Choice, ...]:
    """What else this person may do now. The rules still have the last word on each."""
    named, roles = p.works_under_it(person), site.people[person].roles
    found: list[Choice] = []
    if p.phase in (Phase.REQUESTED, Phase.ISSUED, Phase.ISOLATING) and not p.ever_signed_on:
        if person in (p.requested_by, p.holder) or roles & {"issuer", "officer"}:
            found.append(Choice("cancel", "Cancel this permit"))
    if p.phase in (Phase.ISOLATING, Phase.ISOLATED) and named:
        found.append(Choice("try-start", "Try the controls"))
        if p.phase is Phase.ISOLATED:
            found.append(Choice("verify", "Test a point again"))
    if p.phase is Phase.ISOLATED and named:
        found.append(Choice("sign-off", "Sign off") if on_now(p, person) else Choice("sign-on", "Sign on"))
        if on_now(p, person):
            found.append(Choice("check", "Check the machine"))
    if p.phase in (Phase.ISOLATED, Phase.TESTING, Phase.RESTORING):
        found.append(Choice("confirm-clear", "Confirm an area clear"))
        if any(c.by == person and c.watching and c.void_at is None for c in p.confirmations):
            found.append(Choice("leave-watch", "Leave your watch"))
    if p.phase is Phase.TESTING and named:
        found.append(Choice("reisolate", "Re-isolate"))
    if p.phase is Phase.RESTORING and named and p.reenergised_at is None:
        found.append(Choice("reisolate", "Isolate again"))
    if p.open_jobs and named and p.phase in (Phase.ISOLATED, Phase.TESTING):
        found.append(Choice("job", "The calibration job"))
    if p.sanction is not None and (person == p.holder or roles & {"issuer", "officer"}):
        found.append(Choice("end-sanction", "End the sanction"))
    if p.phase is Phase.ISOLATED and "issuer" in roles and p.sanction is None and person != p.holder:
        found.append(Choice("sanction", "Sanction a test"))
    if p.phase in (Phase.ISOLATING, Phase.ISOLATED, Phase.TESTING) and person == p.holder:
        found.append(Choice("hand-back", "Hand the machine back"))
        found.append(Choice("tell", "Tell affected people"))
    if p.phase in (Phase.ISSUED, Phase.ISOLATING, Phase.ISOLATED, Phase.TESTING):
        if person == p.holder or "issuer" in roles:
            found.append(Choice("name-crew", "Name crew"))
    if p.open_defects and ("officer" in roles or on_now(p, person)):
        found.append(Choice("defects", "Open defects"))
    step = next_step(site, p, person, now)
    return tuple(choice for choice in dict.fromkeys(found) if choice.action != step.action)
