"""A point as someone meets it who has just scanned its plate: its state, its locks, the one next thing."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from datetime import datetime

from permits.people.models import Site
from permits.plant.rules.energy import Kind, Node
from permits.work.queries.look import clock, settled
from permits.work.queries.permit import NOTHING
from permits.work.queries.plan import energy_of
from permits.work.queries.states import FED_AGAIN, badge, running_down, state_under
from permits.work.rules import state
from permits.work.rules.against import name_of
from permits.work.rules.in_service import not_in_service
from permits.work.rules.isolating import measure_demanded
from permits.work.rules.next_step import step_at_work
from permits.work.rules.proving import counts_now, is_qualified, needs_qualified, qualified_people
from permits.work.rules.reisolating import freed
from permits.work.rules.restoring import undoable_releases
from permits.work.rules.step import Step
from permits.work.rules.words import AT_WORK, Phase

ASKS = frozenset({"technician", "issuer", "officer"})


@dataclass(frozen=True, slots=True)
class HangingLock:
    number: str
    person: str
    permit: str
    measure_done: str = ""


@dataclass(frozen=True, slots=True)
class PointPage:
    """A point and what this person does there. `more`: (permit, step) of what else they may do here;
    `besides`: where it takes a tag and no lock, what is done as well."""

    id: str
    name: str
    designation: str
    place: str
    energy: str
    machine: str
    state: str
    word: str
    locks: list[HangingLock]
    releases: list[str]
    next_permit: str
    next: Step
    more: list[tuple[str, Step]]
    others: list[tuple[str, str]]
    besides: str
    at: datetime
    service: tuple[str, ...] = ()  # why its machine is not in service


def point_page(site: Site, code: str, person: str, at: datetime) -> PointPage | None:
    """The point with this code; None where the site has no such point. Two or more permits may want it."""
    now = settled(site, at)
    node = now.graph.nodes.get(code)
    if node is None or not node.is_point:
        return None
    wanted = sorted((p for p in now.open if code in p.points), key=lambda p: not p.works_under_it(person))
    shape, word = state_of_point(now, node, wanted, at)
    permit, step = next_at_point(now, node, wanted, person, at)
    return PointPage(
        id=code,
        name=node.name,
        designation=node.designation,
        place=node.place,
        energy=energy_of(node),
        machine=node.machine or "",
        state=shape,
        word=word,
        locks=[
            HangingLock(k.padlock, now.name(k.owner), p.id, k.measure_done) for p, k in now.locks_on(code)
        ],
        releases=[p.id for p in wanted if code in p.released],
        next_permit=permit,
        next=step,
        more=list(more_here(now, node, wanted, person)),
        others=[(p.id, badge(p)[1]) for p in wanted],
        besides=measure_demanded(now, code),
        at=at,
        service=not_in_service(now).get(node.machine or "", ()),
    )


def state_of_point(now: state.Site, node: Node, wanted: list[state.Permit], at: datetime) -> tuple[str, str]:
    """How the point stands for anybody: proven only where each permit that holds it has proven it."""
    holding = [p for p in wanted if node.id in p.locked or node.id in p.released]
    found = [state_under(now, p, node, at) for p in holding]
    stands = [look_of for look_of, _ in found]
    if FED_AGAIN in found:
        return FED_AGAIN[0], FED_AGAIN[1].capitalize()
    if "unsafe" in stands:
        return "unsafe", "Test failed: not dead"
    if stands and set(stands) == {"dead"}:
        return "dead", "Proven dead"
    if node.id in now.locked:
        return "locked", "Tagged, not proven dead" if node.tag_only else "Locked, not proven dead"
    if holding:
        return "locked", "Released, not proven dead"
    if node.kind is Kind.ISOLATOR:
        return "live", f"Not {'tagged' if node.tag_only else 'locked'}: take it as live"
    return "live", "Not released: it holds energy"


# ── the one next thing ──────────────────────────────────────────────────────────────────────────────────


def next_at_point(
    now: state.Site, node: Node, wanted: list[state.Permit], person: str, at: datetime
) -> tuple[str, Step]:
    """The one next thing for this person at this point, and under which permit; `wanted`: their own first."""
    if person not in now.people:
        return "", NOTHING
    if not wanted:
        return "", ask_first(now, node, person)
    found = [(p.id, under_permit(now, p, node, person, at)) for p in wanted]
    return next((pair for pair in found if pair[1].action), found[0])


def ask_first(now: state.Site, node: Node, person: str) -> Step:
    if now.roles_of(person) & ASKS:
        why = "No open permit names this point, and locks go on under a permit."
        return Step("ask-for-permit", "Ask for a permit", why, machine=node.machine or "")
    return Step("", "No open permit names this point", "Whoever works here asks for a permit first.")


def under_permit(now: state.Site, p: state.Permit, node: Node, person: str, at: datetime) -> Step:
    """This person's next step under one permit, seen from this point; no action where it is elsewhere."""
    step = step_at_work(now, p, person, at)
    match step.action:
        case "lock" | "release" if step.point != node.id:
            return elsewhere(now, p, node, step)
        case "remove-locks":
            return take_off(now, p, node, person, step)
        case "verify":
            return test_here(now, p, node, person, at, step)
        case "" if p.works_under_it(person) and (until := running_down(p, node.id, at)):
            return wait_here(now, until)
    return step


def elsewhere(now: state.Site, p: state.Permit, node: Node, step: Step) -> Step:
    """Another point comes first, or this one is done."""
    other = name_of(now, step.point)
    do = step.title.partition(" ")[0]
    place = now.graph[step.point].place
    where = f"{do} it: {place}." if place else f"{do} it."
    if p.is_held(node.id):
        return Step("", f"Next is {other}", f"This one is done for {p.id}. {where}")
    return Step("", f"First {other}", f"It comes before this one in the plan of {p.id}. {where}")


def take_off(now: state.Site, p: state.Permit, node: Node, person: str, step: Step) -> Step:
    """Locks come off somewhere; here only a lock of one's own, and in a test only from a sanctioned point."""
    own = [lock.padlock for lock in p.hanging if lock.where == node.id and lock.owner == person]
    called = "tag" if node.tag_only else "lock"
    freed = p.phase is not Phase.TESTING or (p.sanction is not None and node.id in p.sanction.points)
    if own and freed:
        title = f"Take your {called} {own[0]} off"
        return dataclasses.replace(step, title=title, why=f"Yours come off: {step.why}.", point=node.id)
    if own:
        return Step("", f"Your {called} {own[0]} stays on", "The sanction does not name this point.")
    if person == p.holder and node.id in undoable_releases(now, p) and node.id not in p.locked:
        return dataclasses.replace(step, title="Take away what holds it released", point=node.id)
    return Step("", "No lock of yours hangs here", f"Yours come off: {step.why}.")


def test_here(now: state.Site, p: state.Permit, node: Node, person: str, at: datetime, step: Step) -> Step:
    """Readings are due somewhere; here where this point still lacks its own and this person may take it."""
    if p.is_verified(node.id, at):
        return step
    if not counts_now(p, node.id, at) and (until := running_down(p, node.id, at)):
        return wait_here(now, until)
    if needs_qualified(node) and not is_qualified(now, p, person, at):
        who = f"Who can: {qualified_people(now, p, at)}."
        return Step("", "A qualified person tests this point", who)
    title = f"Prove {node.machine or 'the supply points'} dead"
    return Step("verify", title, f"Readings at this point: {node.name}.", machine=node.machine or "")


def wait_here(now: state.Site, until: datetime) -> Step:
    why = f"It runs down until {clock(now, until)}; a reading before then does not count."
    return Step("", "Wait, then test", why, until=until)


def more_here(now: state.Site, node: Node, wanted: list[state.Permit], person: str) -> list[tuple[str, Step]]:
    """A freed point locked again, or one's own lock beside another's, under each permit one works under."""
    again = [
        (p.id, Step("reisolate", "Lock it again: make the machine dead", point=node.id))
        for p in wanted
        if p.phase is Phase.TESTING and p.works_under_it(person) and node.id in freed(p)
    ]
    return again + [
        (p.id, Step("lock", f"Hang my own {'tag' if node.tag_only else 'lock'} here too", point=node.id))
        for p in wanted
        if p.phase in AT_WORK
        and p.works_under_it(person)
        and node.id in p.locked
        and not any(lock.where == node.id and lock.owner == person for lock in p.hanging)
    ]
