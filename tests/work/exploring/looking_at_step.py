"""What no single step may do: whose lock comes off, who goes in, what precedes power and the end."""

from __future__ import annotations

from collections.abc import Iterator

from permits.plant.rules.energy import Medium
from permits.work.rules import commands as c
from permits.work.rules.state import Permit, Site
from permits.work.rules.words import BOX, Phase, Seen, Stage
from tests.work.physics import own_locks, own_releases

from .charge import inside
from .looking_at_people import left_unsaid, wrong_person
from .looking_at_state import areas_reached, in_danger
from .moving import Move, Stand
from .places import NOW

STARTS_SOMETHING: tuple[type[c.Ask], ...] = (
    c.AcceptPermit, c.GiveSanction, c.OpenJob, c.BeginCycle, c.Ready,
)  # fmt: skip
MAY_CALL_OUT: tuple[type[c.Ask], ...] = (
    c.StopWork, c.SuspendPermit, c.DeclareEmergency, c.VerifyMachine, c.TryStart, c.AmendPlan, c.Reisolate,
)  # fmt: skip


def wrong_step(before: Stand, move: Move, after: Stand) -> Iterator[str]:
    """`after` with its history."""
    ask = move.command
    for _, person, zone in sorted(newly_in_danger(before, move, after)):
        yield f"energy reaches {person} in {zone}"
    if ask is None:
        return
    was, now = before.site.permits.get(ask.permit), after.site.permits.get(ask.permit)
    yield from wrong_person(before.site, was, ask)
    yield from left_unsaid(was, ask)
    for id, p in after.site.permits.items():
        if p is not before.site.permits[id]:  # a permit that the step left alone has lost nothing
            yield from wrong_removal(before.site.permits[id], p, ask)
            yield from undoes_a_proof(before.site.permits[id], p, ask)
    if was is None or now is None:
        return
    yield from goes_on_while_held_up(before.site, was, now, ask)
    yield from wrong_entry(before.site, was, now)
    yield from still_seen(after.site, was, now)
    yield from wrong_isolating(after.site, was, now, ask)
    yield from wrong_power(before.site, was, now, ask)
    yield from wrong_end(was, now, ask)


def newly_in_danger(before: Stand, move: Move, after: Stand) -> set[tuple[str, str, str]]:
    """Whom the move itself exposes: not a deadline, nor a reading that finds what was so before it."""
    if isinstance(move.command, c.VerifyMachine):
        return after.charge.reached(after.site) - before.charge.reached(before.site)
    return in_danger(after) - in_danger(before) if move.awaited or move.command else set()


# ── locks ───────────────────────────────────────────────────────────────────────────────────────────────


def wrong_removal(was: Permit, now: Permit, ask: c.Command) -> Iterator[str]:
    hang = {(k.where, k.padlock) for k in now.locks if k.removed_at is None}
    gone = [k for k in was.locks if k.removed_at is None and (k.where, k.padlock) not in hang]
    by = ask.what.by if isinstance(ask, c.EnterLate) else ask.by
    for k in gone:
        if isinstance(ask, c.TakeOffForAbsent):
            if k.owner == by or ask.second in (by, k.owner):
                yield f"{k.owner}'s lock is taken off for them without a second person"
            if k.where != BOX and k.owner in inside(now):
                yield f"{k.owner}'s lock on {k.where} is taken off while they are inside"
        elif k.owner != by:
            yield f"{by} takes {k.owner}'s lock off {k.where}"
    lost = (own_locks(was) | own_releases(was)) - (own_locks(now) | own_releases(now))
    if inside(now) and lost and not isinstance(ask, c.VerifyMachine):  # who reads it full empties nothing
        yield f"{sorted(lost)[0]} loses its protection while {inside(now)[0]} is inside"
    if inside(now) and was.stopped_because and any(k.where != BOX for k in gone):
        yield f"a lock comes off while {inside(now)[0]}, called out, is inside"
    last = lost & own_locks(was) and was.phase in (Phase.ISOLATING, Phase.ISOLATED)
    if last and (was.ever_signed_on or was.sanctions or was.next_holder):
        yield f"{sorted(lost)[0]} loses its last lock before the machine is handed back"
    freed = lost & own_locks(was) - set(was.sanction.points if was.sanction else ())
    if was.phase is Phase.TESTING and freed:
        yield f"{sorted(freed)[0]} is freed for a test without a sanction"


def undoes_a_proof(was: Permit, now: Permit, ask: c.Command) -> Iterator[str]:
    """Nobody takes away what someone inside relies on, but by calling them out or looking again."""
    if not inside(now) or isinstance(ask, MAY_CALL_OUT):
        return
    good = {v.point for v in was.verifications if v.passed and v.void_at is None}
    left = {v.point for v in now.verifications if v.passed and v.void_at is None}
    if good - left:
        yield f"the proof of {sorted(good - left)[0]}, on which {inside(now)[0]} relies, is undone"


def goes_on_while_held_up(site: Site, was: Permit, now: Permit, ask: c.Command) -> Iterator[str]:
    held = "held up" if was.halted else "in an emergency" if site.emergency else ""
    held = held or ("on paper" if site.paper and not isinstance(ask, c.EnterLate) else "")
    if not held or isinstance(ask, c.LiftHalt):
        return
    goes_on = {Phase.TESTING, Phase.RESTORING, *([] if held == "on paper" else [Phase.ISOLATED])}
    if now.phase is not was.phase and now.phase in goes_on:
        yield f"{now.id} becomes {now.phase.value} while {held}"
    if set(inside(now)) - set(inside(was)) or own_locks(was) - own_locks(now):
        yield f"people go in or locks come off while {held}"


# ── isolate, go in ──────────────────────────────────────────────────────────────────────────────────────


def wrong_isolating(site: Site, was: Permit, now: Permit, ask: c.Command) -> Iterator[str]:
    held = own_locks(was) | own_releases(was)
    new = (own_locks(now) | own_releases(now)) - held
    for point in new:
        if point not in now.points:
            yield f"{point} is locked and is no point of the plan"
        elif was.phase is not Phase.TESTING:
            earlier = now.points[: now.points.index(point)]
            if any(e not in held | new for e in earlier):
                yield f"{point} is made safe out of the plan's order"
    if isinstance(ask, c.VerifyMachine):
        electrical = any(site.graph[one.point].medium is Medium.ELECTRICAL for one in ask.points)
        grants = {g.machine for g in site.people[ask.by].authorisations if g.qualified}
        if electrical and not {site.graph[z].machine for z in now.zones} <= grants:
            yield f"{ask.by}, not qualified, measures absence of voltage"
    if isinstance(ask, c.VerifyMachine | c.TryStart):
        if not set(was.plan_lock) <= own_locks(was) or not set(was.plan_release) <= own_releases(was):
            yield "tested before the last lock and release"
        for v in now.verifications[len(was.verifications) :]:
            waits = [r for r in now.releases if r.point == v.point and r.undone_at is None]
            if v.counts and v.passed and any(r.counts_from > NOW for r in waits):
                yield f"a test of {v.point} before its wait is over counts"
    if isinstance(ask, c.TryStart):
        for p in site.permits.values():
            if inside(p) and ask.machine in {site.graph[zone].machine for zone in p.zones}:
                yield f"the controls are tried while {inside(p)[0]} is inside"
    if isinstance(ask, c.AcceptHandover) and not was.holder_gone:
        of = {who: {k.where for k in was.hanging if k.owner == who} for who in (was.holder, ask.by)}
        if bare := of[was.holder] - of[ask.by]:
            yield f"{ask.by} takes over with no lock of their own on {sorted(bare)[0]}"


def wrong_entry(site: Site, was: Permit, now: Permit) -> Iterator[str]:
    for who in sorted(set(inside(now)) - set(inside(was))):
        if was.phase is not Phase.ISOLATED:
            yield f"{who} goes in while {was.id} is {was.phase.value}"
        if was.expired_at is not None:
            yield f"{who} goes in after the permit's time is over"
        if was.starts_at > NOW:
            yield f"{who} goes in before the permit's time has come"
        for p in site.permits.values():
            if p.id != was.id and p.phase is Phase.TESTING and set(p.zones) & set(was.zones):
                yield f"{who} goes into a zone of {p.id}, which is tested under power"


def still_seen(site: Site, was: Permit, now: Permit) -> Iterator[str]:
    for who in sorted(set(inside(now)) - set(inside(was))):
        for p in site.permits.values():
            for said in p.confirmations:
                if said.void_at is None and who == (said.seen_by or said.by):
                    yield f"{who} has gone in, and {said.area} counts as seen by them for {p.id}"


# ── power ───────────────────────────────────────────────────────────────────────────────────────────────


def wrong_power(site: Site, was: Permit, now: Permit, ask: c.Command) -> Iterator[str]:
    if isinstance(ask, c.BeginCycle):
        if was.sanction is None or was.sanction.cycle >= was.sanction.cycles:
            yield "a test cycle begins without a sanction for it"
        if not was.checked or was.open_defects:
            yield "a test cycle begins on a machine that was not looked over, or has a defect"
        if not any(n.covers_tests for n in was.notices):
            yield "a test cycle begins and nobody was told of it"
    if isinstance(ask, c.BeginCycle | c.Ready):
        for p in site.permits.values():
            if p.id != was.id and inside(p) and set(p.zones) & set(was.zones):
                yield f"{was.id} is tested while {inside(p)[0]} is in a zone of it under {p.id}"
    if isinstance(ask, STARTS_SOMETHING) and was.expired_at is not None:
        yield f"{type(ask).__name__} after the permit's time is over"
    freed: tuple[str, ...] = ()
    if isinstance(ask, c.Ready):
        freed = was.sanction.points if was.sanction else ()
        hang = {k.where for p in site.permits.values() for k in p.hanging if not p.phase.is_over}
        if was.phase is not Phase.TESTING or was.sanction is None:
            yield "ready is signed outside a test cycle"
        if hang & set(freed):
            yield "ready is signed while a lock hangs on a freed point"
    if isinstance(ask, c.Reenergise):
        freed = was.points
        if was.hanging or set(own_releases(was)) - set(own_releases(now)) & held_open(site, was):
            yield "power comes back while something of the permit hangs or is propped"
        if not any(n.stage is Stage.AFTER for n in was.notices):
            yield "power comes back and nobody was told"
    if isinstance(ask, c.Ready | c.Reenergise):
        if inside(was):
            yield f"{type(ask).__name__} while {inside(was)[0]} is inside"
        for area in areas_reached(site, freed):
            said = [s for s in was.confirmations if s.area == area and s.void_at is None]
            old = [s for s in said if not s.watching and (NOW - s.at).total_seconds() >= 600]
            if not said or old:
                yield f"{area} can be under power and nobody has just seen it clear"
    if isinstance(ask, c.ConfirmClear):
        if ask.how is Seen.RADIO and ask.seen_by not in site.people:
            yield "areas are called clear by radio, and nobody is named who sees them"
        zones = {(who, zone) for p in site.permits.values() for who in inside(p) for zone in p.zones}
        for who, zone in sorted(zones):
            if zone in ask.areas:
                yield f"{zone} is called clear while {who} is inside"
        if ask.watching and ask.by in {who for who, _ in zones}:
            yield f"{ask.by} keeps watch from inside"
    if isinstance(ask, c.TakeReading) and (was.sanction is None or was.sanction.ready_at is None):
        yield "a piece is read outside a cycle under power"


def held_open(site: Site, p: Permit) -> set[str]:
    """Stores of the plan that a prop or pin holds."""
    stores = (site.graph[point] for point in p.plan_release)
    return {node.id for node in stores if node.release is not None and node.release.undoable}


def wrong_end(was: Permit, now: Permit, ask: c.Command) -> Iterator[str]:
    if isinstance(ask, c.HandBack) and inside(was):
        yield f"the machine is handed back while {inside(was)[0]} is inside"
    if now.phase is Phase.CANCELLED and (was.ever_signed_on or was.sanctions):
        yield "work had begun, and the permit ends without anyone handing the machine back"
    if isinstance(ask, c.CloseOutOfUse | c.SignClosed) and was.reenergised_at is None:
        yield "closed before power is back"
    unfinished = was.open_defects or was.open_jobs or any(job.unproven for job in was.jobs)
    if isinstance(ask, c.SignClosed) and now.phase is Phase.CLOSED and unfinished:
        yield "closed with a defect, a job or an unproven correction open"
    if isinstance(ask, c.CloseJob) and any(job.unproven for _, job in was.open_jobs):
        yield "a job is closed with a correction that was not proven"
