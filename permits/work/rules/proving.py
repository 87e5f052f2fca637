"""Prove points dead by reading or by trying the controls; and when *isolated* comes by itself."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from decimal import Decimal

from permits.plant.rules.energy import Kind, Medium, Node, Test
from permits.plant.rules.exposure import fed

from . import commands as c
from . import events as e
from .against import name_of, not_authorised, not_working_under, phase_is_not, the_permit
from .held_up import halted
from .reaching import carries_lock, is_undoable, names, reached_zones, through, truly_locked
from .refusal import Unmet, refuse_if
from .state import Permit, Site
from .whom import (
    LEAVE_OUT,
    LOOK_AND_CONFIRM,
    comes_out,
    either,
    issuers_for,
    makes_safe,
    page_of,
    spot,
    the_crew,
    the_holder,
)
from .words import Phase

# What is asked at a point whose node states no test: the person looks for movement or pressure.
LOOK = Test("energy seen (0 = none)", "", Decimal(0))
# An electrical point always gets a reading. 50 V: the line of 29 CFR 1910.333(a)(1), below which parts need
# not be made dead; the plant file may be stricter.
NO_VOLTAGE = Test("voltage", "V", Decimal(50))
TRY_START = "try-start"
BY_READING = "reading"


def test_of(node: Node) -> Test:
    """How zero energy is proven at this point."""
    return node.test or (NO_VOLTAGE if node.medium is Medium.ELECTRICAL else LOOK)


def needs_qualified(node: Node) -> bool:
    """An electrical test is done by a qualified person with a proven instrument."""
    return node.medium is Medium.ELECTRICAL


def is_proven_by_trying(node: Node) -> bool:
    """May a try of the controls prove this point by itself? Never electrical energy, never a store."""
    return node.kind is Kind.ISOLATOR and node.test is None and not needs_qualified(node)


def counts_now(p: Permit, point: str, now: datetime) -> bool:
    """A reading before the store's waiting time is over is kept but does not count."""
    released = p.release_of(point)
    return released is None or now >= released.counts_from


def lapses_at(site: Site, node: Node, at: datetime) -> datetime | None:
    """When a store that can recharge must have been read again; a site may ask for it sooner."""
    minutes = node.release.recheck_min if node.release else None
    if minutes and site.policy.recheck_minutes:
        minutes = min(minutes, site.policy.recheck_minutes)
    return at + timedelta(minutes=minutes) if minutes else None


def fed_now(site: Site, point: str) -> bool:
    """Does energy stand upstream of the point, past every lock and release at the site?"""
    return fed(site.graph, point, locked=site.locked, released=site.released) is not None


def to_verify(site: Site, p: Permit, machine: str) -> tuple[str, ...]:
    """The plan's points that belong to a machine ("" for those of no machine), in the plan's order."""
    return tuple(point for point in p.points if (site.graph[point].machine or "") == machine)


def machines_to_verify(site: Site, p: Permit) -> tuple[str, ...]:
    return tuple(dict.fromkeys(site.graph[point].machine or "" for point in p.points))


# ── readings ────────────────────────────────────────────────────────────────────────────────────────────


def verify(site: Site, ask: c.VerifyMachine) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_verifying(site, p, ask))
    read = [verified(site, p, ask, given) for given in ask.points]
    filled = [one.point for one in read if one.counts and not one.passed and was_emptied(site, p, one.point)]
    return [
        *read,
        *(e.ReleaseUndone(permit=p.id, by=ask.by, at=ask.at, point=point) for point in filled),
    ]


def was_emptied(site: Site, p: Permit, point: str) -> bool:
    """Does the permit take the store for empty? One that is found full is released again, its wait too."""
    return point in p.released and not is_undoable(site, point)


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
        fed=fed_now(site, given.point),
        lapses_at=lapses_at(site, node, ask.at),
    )


def against_verifying(site: Site, p: Permit, ask: c.VerifyMachine) -> Iterator[Unmet]:
    yield from not_ready_to_verify(site, p, ask.by, ask.at)
    mine = to_verify(site, p, ask.machine)
    given = [one.point for one in ask.points]
    for point in sorted(set(given)):
        if point not in mine:
            yield Unmet(
                "not-in-plan",
                f"{name_of(site, point)} is not a point of this machine's plan.",
                LEAVE_OUT,
            )
        if given.count(point) > 1:
            yield Unmet(
                "point-twice",
                f"{name_of(site, point)} is given {given.count(point)} times; one could hide the other.",
                "You enter each point once, on this page.",
            )
    if not given:
        yield Unmet(
            "no-reading",
            "No reading is given.",
            "You measure, and enter what the instrument shows, on this page.",
        )
    for one in ask.points:
        if one.point in mine:
            yield from incomplete_readings(site, one)
    if any(needs_qualified(site.graph[point]) for point in set(given) & set(mine)):
        yield from against_electrical_test(site, p, ask)


def not_ready_to_verify(site: Site, p: Permit, by: str, at: datetime) -> Iterator[Unmet]:
    """A test before the last lock or release would prove nothing (29 CFR 1910.147(d)(6))."""
    yield from phase_is_not(site, p, Phase.ISOLATING, Phase.ISOLATED, asked="verifying")
    yield from not_working_under(site, by, p)
    yield from not_authorised(site, by, p, at)
    yield from not_held(site, p)


def not_held(site: Site, p: Permit) -> Iterator[Unmet]:
    """Points of the plan that lack the permit's own lock or release."""
    locked = truly_locked(site, p)
    for point in p.points:
        name = name_of(site, point)
        if point in p.plan_release and point not in p.released:
            yield Unmet("not-all-released", f"{name} is not released.", makes_safe(site, p, point))
        elif point in carries_lock(site, p) and point not in locked:
            yield Unmet("not-all-locked", f"{name} is not locked.", makes_safe(site, p, point))


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
            f"You measure every conductor combination at {spot(site, given.point)}."
            if pairs
            else f"You read the instrument at {spot(site, given.point)}.",
        )
    for reading in given.readings:
        if reading.unit != test.unit:
            yield Unmet(
                "wrong-unit",
                f"{name} is read in {test.unit or 'plain numbers'}, not {reading.unit or 'plain numbers'}.",
                f"You enter it {f'in {test.unit}' if test.unit else 'without a unit'}, on this page.",
            )
        if not reading.value.is_finite():
            yield Unmet(
                "not-a-number",
                f"{name}: {reading.value} is not a number.",
                "You enter what the instrument shows, on this page.",
            )
    for pair in dict.fromkeys(measured):
        if pair not in wanted or measured.count(pair) > 1:
            yield Unmet(
                "reading-unknown", f"{name}: {pair or 'a second value'} is not asked for.", LEAVE_OUT
            )


def against_electrical_test(site: Site, p: Permit, ask: c.VerifyMachine) -> Iterator[Unmet]:
    for machine in site.machines_of(p.zones):
        if not site.standing(ask.by, machine, ask.at).qualified:
            yield Unmet(
                "not-qualified",
                f"{site.name(ask.by)} is not qualified to measure absence of voltage at {machine}.",
                f"A qualified person, named on {p.id}, takes the readings, {page_of(p)}: "
                f"{qualified_people(site, p, ask.at)}.",
            )
    if not ask.instrument.strip():
        yield Unmet(
            "no-instrument",
            "The instrument is not named.",
            "You enter the number on the voltage tester, on this page.",
        )
    if not (ask.proven_before and ask.proven_after):
        yield Unmet(
            "instrument-unproven",
            "The tester must be proven on a known source before and after; "
            "otherwise a dead tester looks like a dead machine.",
            "You prove it, test, prove it again, and confirm both on this page.",
        )


def is_qualified(site: Site, p: Permit, person: str, now: datetime) -> bool:
    """May the person measure absence of voltage at every machine of the permit?"""
    return all(site.standing(person, machine, now).qualified for machine in site.machines_of(p.zones))


def qualified_people(site: Site, p: Permit, at: datetime) -> str:
    able = (one for one in site.people.values() if is_qualified(site, p, one.ref, at))
    found = sorted(one.name for one in able if site.machines_of(p.zones))
    return ", ".join(found) or "nobody at this site is"


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
            # Beside a reading it only confirms; alone it counts where there is nothing else to prove it by.
            counts=not ask.stayed_dead or is_proven_by_trying(site.graph[point]),
            fed=fed_now(site, point),
            lapses_at=lapses_at(site, site.graph[point], ask.at),
        )
        for point in to_verify(site, p, ask.machine)
    ]


def against_try_start(site: Site, p: Permit, ask: c.TryStart) -> Iterator[Unmet]:
    yield from not_ready_to_verify(site, p, ask.by, ask.at)
    if not to_verify(site, p, ask.machine):
        yield Unmet(
            "not-in-plan",
            f"{ask.machine} has no point in this plan.",
            "You choose a machine of the plan, on this page.",
        )
    for permit in site.open:
        if permit.id != p.id and ask.machine not in site.machines_of(permit.zones):
            continue
        for on in permit.signed_on:
            yield Unmet(
                "crew-signed-on",
                f"{site.name(on.person)} is signed on under {permit.id}; "
                "nobody may be in reach when the controls are tried.",
                comes_out(site, permit, on),
            )
    for told, what, who in (
        (ask.nobody_in_reach, "that nobody is in reach", LOOK_AND_CONFIRM),
        (
            ask.controls_live,
            "that the controls' own supply is live; dead controls prove nothing",
            "You check the panel, then confirm it on this page.",
        ),
        (
            ask.back_to_neutral,
            "that the controls are back in neutral",
            "You put them back, then confirm it on this page.",
        ),
    ):
        if not told:
            yield Unmet("try-start-unsafe", f"It is not confirmed {what}.", who)


# ── isolated by itself ──────────────────────────────────────────────────────────────────────────────────


def not_isolated(site: Site, p: Permit, now: datetime) -> Iterator[Unmet]:
    """What still stands between this permit and *isolated*."""
    yield from halted(site, p)
    yield from not_held(site, p)
    yield from inside_without_own_locks(site, p)
    yield from not_proven(site, p, now)
    for zone, path in reached_zones(site, p).items():
        way = names(site, path)
        if zone not in site.graph.nodes:
            yield Unmet(
                "zone-gone",
                f"{zone} is no longer in the plant, so nothing proves that it is dead.",
                f"{the_holder(site, p)} hands back, {page_of(p)}, and asks for a permit for the plant as it "
                "is.",
            )
            continue
        yield Unmet(
            "zone-exposed",
            f"Energy reaches {site.graph.name(zone)} through {through(way)}.",
            f"An issuer ({issuers_for(site, p)}) adds points on this path, {page_of(p)}; or "
            f"{site.name(p.holder)} asks for a new permit that covers it.",
            way,
        )


def not_proven(site: Site, p: Permit, now: datetime) -> Iterator[Unmet]:
    """Points without a good test; an electrical one is tested by whoever is qualified."""
    untested = [point for point in p.points if not p.is_verified(point, now)]
    if not untested:
        return
    crew = the_crew(site, p)
    able = the_qualified(site, p, now)
    for point in untested:
        node = site.graph.nodes.get(point)
        who = able if node is not None and needs_qualified(node) else crew
        yield Unmet(
            "not-verified", f"{name_of(site, point)} is not proven dead.", f"{who} tests {spot(site, point)}."
        )


def the_qualified(site: Site, p: Permit, now: datetime) -> str:
    """Who may measure absence of voltage: of the crew, or who could be named to it."""
    crew = dict.fromkeys((p.holder, p.next_holder, *p.crew_named))
    able = [site.name(one) for one in crew if one and is_qualified(site, p, one, now)]
    if able:
        return either(able)
    return f"A qualified person, named on {p.id} ({qualified_people(site, p, now)}),"


def inside_without_own_locks(site: Site, p: Permit) -> Iterator[Unmet]:
    """Who is inside without a padlock on the box has their own on every point, also on one added since."""
    for on in (on for on in p.signed_on if not on.padlock):
        own = {lock.where for lock in p.hanging if lock.owner == on.person and not lock.is_tag}
        for point in (point for point in carries_lock(site, p) if point not in own):
            yield Unmet(
                "own-locks-protect",
                f"{site.name(on.person)} is inside on their own locks; none hangs on {name_of(site, point)}.",
                comes_out(site, p, on),
            )


def isolated_now(site: Site, p: Permit, now: datetime, by: str) -> list[e.Event]:
    """The event *isolated*, when the last condition has just been met; otherwise nothing."""
    tested = p.phase is Phase.ISOLATING and all(p.is_verified(point, now) for point in p.points)
    if not tested or any(not_isolated(site, p, now)):  # without a test nobody waits for words of who tests
        return []
    return [e.Isolated(permit=p.id, by=by, at=now)]
