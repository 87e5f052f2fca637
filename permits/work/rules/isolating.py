"""Lock, release, verify, try the controls; and when *isolated* comes by itself."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from decimal import Decimal

from permits.plant.rules.energy import Kind, Medium, Node, Test
from permits.plant.rules.exposure import exposed, fed

from . import commands as c
from . import events as e
from .against import (
    no_padlock,
    not_authorised,
    not_working_under,
    padlock_taken,
    phase_is_not,
    the_permit,
)
from .refusal import Unmet, refuse_if
from .state import Permit, Site
from .words import Phase, Stage

# What is asked at a point whose node states no test: the person looks for movement or pressure.
LOOK = Test("energy seen (0 = none)", "", Decimal(0))
TRY_START = "try-start"
BY_READING = "reading"


def test_of(node: Node) -> Test:
    """How zero energy is proven at this point."""
    return node.test or LOOK


def needs_qualified(node: Node) -> bool:
    """An electrical test is done by a qualified person with a proven instrument."""
    return node.medium is Medium.ELECTRICAL and node.test is not None


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
            tag=ask.tag.strip(),
            position=ask.position,
            typed=ask.typed,
        )
    ]
    for other in site.permits.values():  # safer at once, so accepted; the test that relied on the point ends
        if other.id != p.id and other.sanction and ask.point in other.sanction.points:
            why = f"{site.name(ask.by)} locked {site.graph.name(ask.point)} for {p.id}"
            events.append(e.SanctionEnded(permit=other.id, by=ask.by, at=ask.at, why=why))
    return events


def against_locking(site: Site, p: Permit, ask: c.ApplyLock) -> Iterator[Unmet]:
    yield from phase_is_not(p, Phase.ISOLATING, Phase.ISOLATED, asked="locking")
    yield from not_working_under(site, ask.by, p)
    yield from not_authorised(site, ask.by, p, ask.at)
    if ask.point not in p.plan_lock:
        yield Unmet(
            "not-in-plan",
            f"{name_of(site, ask.point)} is not a point to lock in the plan of {p.id}.",
            "Check the tag; go to the point that the next step names.",
        )
    else:
        yield from out_of_order(site, p, ask.point)
    if not p.told(Stage.BEFORE):
        yield Unmet(
            "not-told",
            "Affected people have not been told that the machine is being locked out.",
            f"{site.name(p.holder)} tells them and records it.",
        )
    yield from no_padlock(ask.padlock)
    yield from padlock_taken(site, ask.padlock.strip(), ask.by)
    if not ask.tag.strip():
        yield Unmet(
            "no-tag", "The danger tag's number is missing.", "Hang the danger tag and enter its number."
        )
    for hanging in p.hanging:
        if hanging.where == ask.point and hanging.owner == ask.by:
            yield Unmet(
                "already-locked",
                f"Your padlock {hanging.padlock} hangs on {name_of(site, ask.point)} already.",
                "Nothing is left to do here.",
            )


def out_of_order(site: Site, p: Permit, point: str) -> Iterator[Unmet]:
    """Every point that comes before this one in the plan's order must be locked or released."""
    for earlier in p.points[: p.points.index(point)]:
        if earlier not in p.locked and earlier not in p.released:
            yield Unmet(
                "out-of-order",
                f"{name_of(site, earlier)} comes before {name_of(site, point)} in the plan's order.",
                f"Make {name_of(site, earlier)} safe first.",
            )
            return


# ── release ─────────────────────────────────────────────────────────────────────────────────────────────


def release(site: Site, ask: c.ReleaseStore) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_release(site, p, ask))
    how = site.graph[ask.point].release
    events: list[e.Event] = []
    if ask.padlock.strip():
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
            )  # fmt: skip
        )
    events.append(
        e.StoreReleased(
            permit=p.id,
            by=ask.by,
            at=ask.at,
            point=ask.point,
            method=ask.method.strip() or (how.method if how else ""),
            counts_from=ask.at + timedelta(seconds=how.wait_s if how else 0),
        )
    )
    return events


def against_release(site: Site, p: Permit, ask: c.ReleaseStore) -> Iterator[Unmet]:
    yield from phase_is_not(p, Phase.ISOLATING, asked="releasing a store")
    yield from not_working_under(site, ask.by, p)
    yield from not_authorised(site, ask.by, p, ask.at)
    if ask.point not in p.plan_release:
        yield Unmet(
            "not-in-plan",
            f"{name_of(site, ask.point)} is not a store to release in the plan of {p.id}.",
            "Check the tag; go to the point that the next step names.",
        )
        return
    if ask.point in p.released:
        yield Unmet(
            "already-released",
            f"{name_of(site, ask.point)} is released already.",
            "Nothing is left to do here.",
        )
    unlocked = [point for point in p.plan_lock if point not in p.locked]
    if unlocked:
        yield Unmet(
            "upstream-not-locked",
            f"{', '.join(name_of(site, u) for u in unlocked)} must be locked before a store is released, "
            "or it may fill again.",
            "Lock the remaining points first.",
        )
    else:
        yield from out_of_order(site, p, ask.point)
    how = site.graph[ask.point].release
    if not ask.method.strip() and not (how and how.method):
        yield Unmet(
            "says-too-little", "It is not said how the store was released.", "Write how in a few words."
        )
    if how is not None and how.undoable:
        yield from no_padlock(ask.padlock)
        if not ask.tag.strip():
            yield Unmet(
                "no-tag", "The danger tag's number is missing.", "Hang the danger tag and enter its number."
            )
    if ask.padlock.strip():
        yield from padlock_taken(site, ask.padlock.strip(), ask.by)


# ── verify ──────────────────────────────────────────────────────────────────────────────────────────────


def verify(site: Site, ask: c.VerifyMachine) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_verifying(site, p, ask))
    return [verified(site, p, ask, given) for given in ask.points]


def verified(site: Site, p: Permit, ask: c.VerifyMachine, given: c.PointReadings) -> e.PointVerified:
    node = site.graph[given.point]
    test = test_of(node)
    return e.PointVerified(
        permit=p.id,
        by=ask.by,
        at=ask.at,
        point=given.point,
        method=BY_READING,
        readings=given.readings,
        limit=test.limit,
        unit=test.unit,
        instrument=ask.instrument.strip(),
        passed=all(abs(r.value) <= test.limit for r in given.readings),
        counts=counts_now(p, given.point, ask.at),
        fed=fed(site.graph, given.point, locked=site.locked, released=site.released) is not None,
        lapses_at=lapses_at(node, ask.at),
    )


def counts_now(p: Permit, point: str, now: datetime) -> bool:
    """A reading before the store's waiting time is over is kept but does not count."""
    released = p.release_of(point)
    return released is None or now >= released.counts_from


def lapses_at(node: Node, at: datetime) -> datetime | None:
    minutes = node.release.recheck_min if node.release else None
    return at + timedelta(minutes=minutes) if minutes else None


def to_verify(site: Site, p: Permit, machine: str) -> tuple[str, ...]:
    """The plan's points that belong to a machine ("" for those of no machine), in the plan's order."""
    return tuple(point for point in p.points if (site.graph[point].machine or "") == machine)


def machines_to_verify(site: Site, p: Permit) -> tuple[str, ...]:
    return tuple(dict.fromkeys(site.graph[point].machine or "" for point in p.points))


def against_verifying(site: Site, p: Permit, ask: c.VerifyMachine) -> Iterator[Unmet]:
    yield from not_ready_to_verify(site, p, ask.by, ask.at)
    mine = to_verify(site, p, ask.machine)
    given = {one.point for one in ask.points}
    for point in sorted(given - set(mine)):
        yield Unmet(
            "not-in-plan", f"{name_of(site, point)} is not a point of this machine's plan.", "Leave it out."
        )
    if not given:
        yield Unmet("no-reading", "No reading is given.", "Measure and enter what the instrument shows.")
    for one in ask.points:
        if one.point in mine:
            yield from incomplete_readings(site, one)
    if any(needs_qualified(site.graph[point]) for point in given & set(mine)):
        yield from against_electrical_test(site, p, ask)


def not_ready_to_verify(site: Site, p: Permit, by: str, at: datetime) -> Iterator[Unmet]:
    """A test before the last lock or release would prove nothing (29 CFR 1910.147(d)(6))."""
    yield from phase_is_not(p, Phase.ISOLATING, Phase.ISOLATED, asked="verifying")
    yield from not_working_under(site, by, p)
    yield from not_authorised(site, by, p, at)
    for point in p.points:
        if point in p.plan_lock and point not in p.locked:
            yield Unmet(
                "not-all-locked", f"{name_of(site, point)} is not locked yet.", "Lock it first; then test."
            )
        elif point in p.plan_release and point not in p.released:
            yield Unmet(
                "not-all-released",
                f"{name_of(site, point)} is not released yet.",
                "Release it first; then test.",
            )


def incomplete_readings(site: Site, given: c.PointReadings) -> Iterator[Unmet]:
    test = test_of(site.graph[given.point])
    name = name_of(site, given.point)
    wanted = test.combinations or ("",)
    measured = [reading.combination for reading in given.readings]
    missing = [pair for pair in wanted if pair not in measured]
    if missing:
        pairs = ", ".join(pair for pair in missing if pair)
        yield Unmet(
            "reading-missing",
            f"{name}: no reading {f'of {pairs}' if pairs else 'is given'}.",
            "Measure every conductor combination." if pairs else "Read the instrument at the point.",
        )
    for reading in given.readings:
        if reading.unit != test.unit:
            yield Unmet(
                "wrong-unit",
                f"{name} is read in {test.unit}, not {reading.unit}.",
                f"Enter it in {test.unit}.",
            )
        if reading.combination not in wanted or measured.count(reading.combination) > 1:
            yield Unmet(
                "reading-unknown",
                f"{name}: {reading.combination or 'a second value'} is not asked for.",
                "Leave it out.",
            )


def against_electrical_test(site: Site, p: Permit, ask: c.VerifyMachine) -> Iterator[Unmet]:
    for machine in site.machines_of(p.zones):
        if not site.standing(ask.by, machine, ask.at).qualified:
            yield Unmet(
                "not-qualified",
                f"{site.name(ask.by)} is not qualified to measure absence of voltage at {machine}.",
                f"A qualified person takes the readings: {qualified_people(site, p, ask.at)}.",
            )
    if not ask.instrument.strip():
        yield Unmet(
            "no-instrument", "The instrument is not named.", "Enter the number on the voltage tester."
        )
    if not (ask.proven_before and ask.proven_after):
        yield Unmet(
            "instrument-unproven",
            "The tester must be proven on a known source before and after; otherwise a dead tester looks like a dead machine.",
            "Prove it, test, prove it again, and confirm both.",
        )


def qualified_people(site: Site, p: Permit, at: datetime) -> str:
    machines = site.machines_of(p.zones)
    names = sorted(
        person.name
        for person in site.people.values()
        if machines and all(site.standing(person.ref, machine, at).qualified for machine in machines)
    )
    return ", ".join(names) or "nobody at this site is"


# ── try the controls ────────────────────────────────────────────────────────────────────────────────────


def try_start(site: Site, ask: c.TryStart) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_try_start(site, p, ask))
    return [
        e.PointVerified(
            permit=p.id,
            by=ask.by,
            at=ask.at,
            point=point,
            method=TRY_START,
            readings=(),
            limit=Decimal(0),
            unit="",
            instrument="normal controls",
            passed=ask.stayed_dead,
            # Beside a reading it only confirms; alone it counts where the point has nothing to read.
            counts=not ask.stayed_dead or (site.graph[point].test is None and counts_now(p, point, ask.at)),
            fed=fed(site.graph, point, locked=site.locked, released=site.released) is not None,
            lapses_at=lapses_at(site.graph[point], ask.at),
        )
        for point in tried(site, p, ask.machine)
    ]


def tried(site: Site, p: Permit, machine: str) -> tuple[str, ...]:
    """The points that a try of this machine's controls speaks about."""
    return to_verify(site, p, machine)


def against_try_start(site: Site, p: Permit, ask: c.TryStart) -> Iterator[Unmet]:
    yield from not_ready_to_verify(site, p, ask.by, ask.at)
    if not tried(site, p, ask.machine):
        yield Unmet(
            "not-in-plan", f"{ask.machine} has no point in this plan.", "Choose a machine of the plan."
        )
    for on in p.signed_on:
        yield Unmet(
            "crew-signed-on",
            f"{site.name(on.person)} is signed on; nobody may be in reach when the controls are tried.",
            f"{site.name(on.person)} signs off first.",
        )
    for told, what, who in (
        (ask.nobody_in_reach, "that nobody is in reach", "Look, then confirm."),
        (
            ask.controls_live,
            "that the controls' own supply is live; dead controls prove nothing",
            "Check the panel.",
        ),
        (ask.back_to_neutral, "that the controls are back in neutral", "Put them back, then confirm."),
    ):
        if not told:
            yield Unmet("try-start-unsafe", f"It is not confirmed {what}.", who)


# ── isolated by itself ──────────────────────────────────────────────────────────────────────────────────


def not_isolated(site: Site, p: Permit, now: datetime) -> Iterator[Unmet]:
    """What still stands between this permit and *isolated*."""
    for point in p.plan_lock:
        if point not in p.locked:
            yield Unmet("not-all-locked", f"{name_of(site, point)} is not locked.", "Lock it.")
    for point in p.plan_release:
        if point not in p.released:
            yield Unmet("not-all-released", f"{name_of(site, point)} is not released.", "Release it.")
    for point in p.points:
        if not p.is_verified(point, now):
            yield Unmet("not-verified", f"{name_of(site, point)} is not proven dead.", "Test it.")
    for zone, path in exposed(site.graph, p.zones, locked=p.locked, released=p.released).items():
        names = tuple(site.graph.name(id) for id in path)
        yield Unmet(
            "zone-exposed",
            f"Energy reaches {site.graph.name(zone)} through {' → '.join(names)}.",
            f"Ask for a new permit whose plan covers this path: {site.holders_of('issuer')}.",
            names,
        )


def isolated_now(site: Site, p: Permit, now: datetime, by: str) -> list[e.Event]:
    """The event *isolated*, when the last condition has just been met; otherwise nothing."""
    if p.phase is not Phase.ISOLATING or any(not_isolated(site, p, now)):
        return []
    return [e.Isolated(permit=p.id, by=by, at=now)]


def name_of(site: Site, point: str) -> str:
    node = site.graph.nodes.get(point)
    if node is None:
        return point
    return (
        f"{node.designation} {node.name}".strip() if node.kind in (Kind.ISOLATOR, Kind.STORE) else node.name
    )
