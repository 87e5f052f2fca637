"""The next step while a machine is made dead and proven so."""

from __future__ import annotations

from datetime import datetime

from permits.plant.rules.energy import Kind

from .against import is_expired, is_signed_on, name_of
from .amending import lacking_points
from .isolating import measure_demanded
from .next_early import cancel_next
from .proving import (
    counts_now,
    is_qualified,
    machines_to_verify,
    needs_qualified,
    not_isolated,
    qualified_people,
    to_verify,
)
from .reaching import carries_lock, names, plan_falls_short, through, truly_locked
from .state import Permit, Site
from .step import Step, hand_back_next, names_on, owners_of, wait
from .whom import may_issue
from .words import Stage


def when_isolating(site: Site, p: Permit, person: str, now: datetime) -> Step:
    if is_signed_on(p, person):
        why = p.stopped_because or "The machine is not proven dead any more."
        return Step("sign-off", "Come out and sign off", why)
    if p.signed_on:
        return wait(f"{names_on(site, p)} must come out and sign off", p.stopped_because)
    for path in plan_falls_short(site, p).values():
        way = through(names(site, path))
        if may_issue(site, p, person) and any(lacking_points(site, p)):
            return Step("amend", "Add points to the plan", f"It does not cover {way}.")
        return give_up(site, p, person, now, f"This plan does not cover {way}.")
    if is_expired(p, now):
        return give_up(site, p, person, now, "The permit's time is over.")
    if not p.works_under_it(person):
        return wait(f"{site.name(p.holder)} isolates the machine")
    if p.points and not p.told(Stage.BEFORE):
        overtaken = bool(p.current_notices)
        why = "Points were added since they were told." if overtaken else "Before the first lock goes on."
        return Step("tell", "Tell affected people", why)
    bare = set(carries_lock(site, p)) - truly_locked(site, p)
    for point in p.points:
        if p.is_held(point) and point not in bare:
            continue
        node = site.graph[point]
        where = f"At {node.place}." if node.place else ""
        if besides := measure_demanded(site, point):
            why = f"Takes a tag, not a lock. Do this as well: {besides} {where}".strip()
            return Step("lock", f"Tag {name_of(site, point)}", why, point)
        if node.kind is Kind.ISOLATOR or point in p.released:
            return Step("lock", f"Lock {name_of(site, point)}", where, point)
        how = node.release.method if node.release else ""
        return Step("release", f"Release {name_of(site, point)}", how, point)
    return test_next(site, p, person, now)


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
        named = (*p.crew_named, p.next_holder)
        if person == p.holder and not any(is_qualified(site, p, one, now) for one in named):
            return Step("name-crew", "Name a qualified person", who)
        return wait(f"A qualified person tests {', '.join(for_others)}", who)
    if waits:
        return wait(
            "Wait, then test", "A stored energy runs down; a reading before then does not count.", min(waits)
        )
    left = " ".join(f"{unmet.what} {unmet.who}" for unmet in not_isolated(site, p, now))
    return wait("The machine is not isolated", left)
