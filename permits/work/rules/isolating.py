"""Put locks on points, release stores. Proving them dead is in proving.py."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from permits.plant.rules.exposure import fed
from permits.plant.rules.stores.numbers import wait_needed

from . import commands as c
from . import events as e
from .against import (
    name_of,
    no_padlock,
    no_tag,
    not_authorised,
    not_told_back,
    not_working_under,
    padlock_taken,
    phase_is_not,
    says_too_little,
    the_permit,
)
from .reaching import is_undoable, names, through
from .refusal import Unmet, refuse_if
from .state import Permit, Site
from .whom import NOTHING_LEFT, goes_to_the_next, makes_safe, page_of, spot, tells, the_crew, the_holder
from .words import Lock, Phase, Stage

# ── lock ────────────────────────────────────────────────────────────────────────────────────────────────


def lock(site: Site, ask: c.ApplyLock) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_locking(site, p, ask))
    events: list[e.Event] = [
        e.LockApplied(
            permit=p.id,
            by=ask.by,
            at=ask.at,
            point=ask.point,
            padlock=ask.padlock.strip(),
            tag=(ask.padlock if measure_demanded(site, ask.point) else ask.tag).strip(),
            position=ask.position,
            typed=ask.typed,
            measure_done=ask.measure_done.strip(),
        )
    ]
    why = f"{site.name(ask.by)} locked {site.graph.name(ask.point)} for {p.id}"
    events += [
        e.SanctionEnded(permit=tested.id, by=ask.by, at=ask.at, why=why)
        for tested in tests_ended_by_lock(site, p, ask.point)
    ]
    return events


def tests_ended_by_lock(site: Site, p: Permit, point: str) -> Iterator[Permit]:
    """Permits whose test relied on the point being free: a lock there is safer at once, so it is accepted.

    The permit's own lock ends its test only while the point is freed: between cycles the lock is what the
    next cycle begins from.
    """
    for tested in site.open:
        if tested.sanction is None or point not in tested.sanction.points:
            continue
        if tested.id != p.id or p.phase is Phase.TESTING:
            yield tested


def against_locking(site: Site, p: Permit, ask: c.ApplyLock) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, Phase.ISOLATING, Phase.ISOLATED, Phase.TESTING, asked="locking")
    yield from not_working_under(site, ask.by, p)
    yield from not_authorised(site, ask.by, p, ask.at)
    yield from not_told_back(site, ask.by)
    if ask.point in p.plan_release and is_undoable(site, ask.point) and ask.point not in p.released:
        yield Unmet(
            "not-released-yet",
            f"{name_of(site, ask.point)} is a store: its first lock goes on with what holds it released.",
            f"{the_crew(site, p)} releases {spot(site, ask.point)}, and enters the lock with it.",
        )
    elif ask.point not in p.plan_lock and not (ask.point in p.released and is_undoable(site, ask.point)):
        yield Unmet(
            "not-in-plan",
            f"{name_of(site, ask.point)} is not a point to lock in the plan of {p.id}.",
            goes_to_the_next(p),
        )
    else:
        yield from out_of_order(site, p, ask.point)
    yield from not_told_before(site, p)
    if measure := measure_demanded(site, ask.point):
        yield from against_tagging(site, ask, measure)
    else:
        yield from no_padlock(ask.padlock)
        yield from padlock_taken(site, ask.padlock.strip(), ask.by)
        yield from no_tag(ask.tag)
        if ask.measure_done.strip():
            yield Unmet(
                "takes-a-lock",
                f"{name_of(site, ask.point)} takes a lock: no measure stands in for one there.",
                "You hang your padlock, and leave out on this page what was done besides.",
            )
    for hanging in p.hanging:
        if hanging.where == ask.point and hanging.owner == ask.by:
            yours = f"Your {'danger tag' if hanging.is_tag else 'padlock'} {hanging.padlock}"
            yield Unmet(
                "already-locked",
                f"{yours} hangs on {name_of(site, ask.point)} already.",
                NOTHING_LEFT,
            )


def measure_demanded(site: Site, point: str) -> str:
    """What the plant demands besides the tag at a point that takes no lock; "" where a lock fits."""
    node = site.graph.nodes.get(point)
    return node.tag_only.measure if node is not None and node.tag_only is not None else ""


def against_tagging(site: Site, ask: c.ApplyLock, measure: str) -> Iterator[Unmet]:
    """A tag holds nothing, so its extra measure is done and said (29 CFR 1910.147(c)(3)). Its number is one's
    own, as a padlock's is."""
    number, other = ask.padlock.strip(), ask.tag.strip()
    yield from no_tag(number)
    yield from padlock_taken(site, number, ask.by, "Danger tag")
    if other and other.casefold() != number.casefold():
        yield Unmet(
            "two-tag-numbers",
            f"{name_of(site, ask.point)} takes one danger tag and no padlock, but two numbers were given: "
            f"{number} and {other}.",
            "You enter the number of the danger tag that hangs there, on this page.",
        )
    if not ask.measure_done.strip():
        yield Unmet(
            "no-measure",
            f"{name_of(site, ask.point)} takes a tag and no lock, and it is not said what was done there "
            f"besides. The plant demands: {measure.strip().rstrip('.')}.",
            f"You do that first at {spot(site, ask.point)}, then write what was done and where what was "
            "taken off is kept.",
        )


def not_told_before(site: Site, p: Permit) -> Iterator[Unmet]:
    if not p.told(Stage.BEFORE):
        yield Unmet(
            "not-told",
            "Affected people have not been told that the machine is being locked out"
            f"{', with the points that were added' if p.current_notices else ''}.",
            tells(site, p),
        )


def out_of_order(site: Site, p: Permit, point: str) -> Iterator[Unmet]:
    """Every point that comes before this one in the plan's order must be locked or released."""
    if point in p.locked or p.phase is Phase.TESTING:
        return  # one more lock on what is held already, or on a freed point, is never out of order
    for earlier in p.points[: p.points.index(point)]:
        if not p.is_held(earlier):
            yield Unmet(
                "out-of-order",
                f"{name_of(site, earlier)} comes before {name_of(site, point)} in the plan's order.",
                makes_safe(site, p, earlier),
            )


# ── release ─────────────────────────────────────────────────────────────────────────────────────────────


def release(site: Site, ask: c.ReleaseStore) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_release(site, p, ask))
    how = site.graph[ask.point].release
    events: list[e.Event] = []
    if ask.padlock.strip() and own_lock(p, ask.point, ask.by) is None:
        events.append(
            e.LockApplied(
                permit=p.id,
                by=ask.by,
                at=ask.at,
                point=ask.point,
                padlock=ask.padlock.strip(),
                tag=ask.tag.strip(),
                position=None,
                typed=ask.typed,
            )
        )
    events.append(
        e.StoreReleased(
            permit=p.id,
            by=ask.by,
            at=ask.at,
            point=ask.point,
            method=ask.method.strip() or (how.method if how else ""),
            counts_from=ask.at + timedelta(seconds=wait_needed(site.graph[ask.point], site.graph.lines)),
        )
    )
    return events


def against_release(site: Site, p: Permit, ask: c.ReleaseStore) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, Phase.ISOLATING, asked="releasing a store")
    yield from not_working_under(site, ask.by, p)
    yield from not_authorised(site, ask.by, p, ask.at)
    if ask.padlock.strip():
        yield from not_told_back(site, ask.by)
    if ask.point not in p.plan_release:
        yield Unmet(
            "not-in-plan",
            f"{name_of(site, ask.point)} is not a store to release in the plan of {p.id}.",
            goes_to_the_next(p),
        )
        return
    if ask.point in p.released:
        yield Unmet(
            "already-released",
            f"{name_of(site, ask.point)} is released already.",
            NOTHING_LEFT,
        )
    yield from not_told_before(site, p)
    unlocked = [point for point in p.plan_lock if point not in p.locked]
    if unlocked:
        yield Unmet(
            "upstream-not-locked",
            f"{', '.join(name_of(site, u) for u in unlocked)} must be locked before a store is released, "
            "or it may fill again.",
            f"{the_crew(site, p)} locks them in the plan's order; next is {spot(site, unlocked[0])}.",
        )
    else:
        yield from out_of_order(site, p, ask.point)
        yield from fills_again(site, p, ask.point)
    how = site.graph[ask.point].release
    if not (how and how.method):
        yield from says_too_little(
            ask.method, "It is not said how the store was released.", "how, in a few words"
        )
    yield from against_release_lock(site, p, ask)


def against_release_lock(site: Site, p: Permit, ask: c.ReleaseStore) -> Iterator[Unmet]:
    """What keeps a release from being undone carries a lock of its own; one that still hangs there will do.

    A store that power filled again in a test is released a second time while its lock never came off.
    """
    padlock = ask.padlock.strip()
    still = own_lock(p, ask.point, ask.by)
    if still is not None:
        if padlock and padlock != still.padlock:
            yield Unmet(
                "already-locked",
                f"Your padlock {still.padlock} hangs on {name_of(site, ask.point)} already.",
                "You leave the padlock's number empty on this page, or take that one off first.",
            )
        return
    if is_undoable(site, ask.point):
        yield from no_padlock(padlock)
        yield from no_tag(ask.tag)
    elif padlock:
        yield from no_tag(ask.tag)
    if padlock:
        yield from padlock_taken(site, padlock, ask.by)


def own_lock(p: Permit, point: str, person: str) -> Lock | None:
    """The person's lock that hangs on a point for this permit."""
    return next((k for k in p.hanging if k.where == point and k.owner == person), None)


def fills_again(site: Site, p: Permit, point: str) -> Iterator[Unmet]:
    """A store that something feeds past all the plan's locks can't be emptied under this plan."""
    if is_undoable(site, point):
        return
    path = fed(site.graph, point, locked=p.locked, released=p.released | set(p.plan_release))
    if path is not None:
        way = names(site, path)
        yield Unmet(
            "fills-again",
            f"{name_of(site, point)} is still fed through {through(way)}.",
            f"{the_holder(site, p)} hands back, {page_of(p)}, and asks for a new permit: the plan does not "
            "cover this path.",
            way,
        )
