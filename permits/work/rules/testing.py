"""Power under control: sanction, test cycles, ready to energise. Making it dead again: reisolating.py."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from . import commands as c
from . import events as e
from .against import (
    crew_signed_on,
    has_expired,
    lacks_role,
    name_of,
    not_authorised,
    not_clear,
    not_holder,
    not_told_back,
    phase_is_not,
    says_too_little,
    the_permit,
)
from .clearing import areas_to_confirm, others_inside
from .occupying import defects_open, is_checked
from .reaching import opened, reached_crew, relied_on
from .refusal import Unmet, refuse_if
from .state import Permit, Site
from .whom import (
    EARLIER_END,
    LATER_END,
    LEAVE_OUT,
    NOTHING_LEFT,
    job_of,
    looks_inside,
    page_of,
    sanctions,
    spot,
    takes_off,
    tells,
    the_crew,
)
from .words import Phase


def give_sanction(site: Site, ask: c.GiveSanction) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_sanction(site, p, ask))
    return [
        e.SanctionGiven(
            permit=p.id,
            by=ask.by,
            at=ask.at,
            points=tuple(point for point in p.points if point in ask.points),
            limits=ask.limits.strip(),
            cycles=ask.cycles,
            until=ask.until,
            signed=c.SIGNED[c.GiveSanction],
        )
    ]


def against_sanction(site: Site, p: Permit, ask: c.GiveSanction) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, Phase.ISOLATED, asked="a sanction for test")
    yield from lacks_role(site, ask.by, "issuer", to="sanction a test")
    yield from has_expired(site, p, ask.at)
    if ask.by == p.holder and not site.policy.own_issue:
        yield Unmet(
            "own-issue",
            "The holder cannot sanction their own test.",
            f"Another issuer gives it, {page_of(p)}: {site.holders_of('issuer', but=ask.by)}.",
        )
    if p.sanction is not None:
        yield Unmet(
            "sanctioned-already",
            f"{p.id} has a sanction in force.",
            f"You end it first, {page_of(p)}, if its terms must change.",
        )
    if not ask.points:
        yield Unmet(
            "no-point",
            "No point to energise is named.",
            "You name the points that the test needs, and no others, on this page.",
        )
    for point in ask.points:
        if point not in p.points:
            yield Unmet(
                "not-in-plan", f"{name_of(site, point)} is not a point of this plan.", LEAVE_OUT
            )
    if ask.cycles < 1:
        yield Unmet("no-cycle", f"{ask.cycles} test cycles are none.", "You allow one or more, on this page.")
    latest = min(p.ends_at, ask.at + timedelta(hours=site.policy.test_hours))
    if ask.until <= ask.at:
        yield Unmet("window-past", "The sanction would be over already.", LATER_END)
    elif ask.until > latest:
        yield Unmet(
            "window-too-long",
            f"A sanction ends with its permit and runs at most {site.policy.test_hours} hours here "
            f"(site policy): at the latest {site.clock(latest)}.",
            EARLIER_END,
        )
    yield from says_too_little(
        ask.limits, "The limits of the test are empty.", "speed, mode and what is run"
    )
    yield from others_in_the_way(site, p, frozenset(ask.points))


def others_in_the_way(site: Site, p: Permit, freed: frozenset[str]) -> Iterator[Unmet]:
    """Nobody under any other permit may be reached, and none may have a lock on a point to be freed.

    This permit's own crew signs off before the cycle begins; that is asked for there, by name.
    """
    for other in site.others(p):
        yield from reached_crew(site, other, freed)
    yield from relied_on(opened(site, p, freed))
    for point in sorted(freed):
        for other, hanging in site.locks_on(point):
            if other.id != p.id:
                yield Unmet(
                    "locked-by-another",
                    f"{site.name(hanging.owner)}'s padlock {hanging.padlock} hangs on {name_of(site, point)} "
                    f"for permit {other.id}.",
                    f"{site.name(hanging.owner)} takes it off {spot(site, point)} when that work is done, "
                    "or the test leaves the point out.",
                )


def begin_cycle(site: Site, ask: c.BeginCycle) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_cycle(site, p, ask))
    assert p.sanction is not None
    return [e.CycleBegun(permit=p.id, by=ask.by, at=ask.at, cycle=p.sanction.cycle + 1)]


def against_cycle(site: Site, p: Permit, ask: c.BeginCycle) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, Phase.ISOLATED, asked="beginning a test cycle")
    yield from not_holder(site, ask.by, p, "begin a test cycle")
    yield from may_not_energise(site, p, ask)
    yield from has_expired(site, p, ask.at)
    sanction = p.sanction
    if sanction is None:
        yield Unmet(
            "no-sanction", "No sanction is in force.", sanctions(site, p)
        )
    else:
        if ask.at >= sanction.until:
            yield Unmet(
                "sanction-over",
                "The sanction's time is over.",
                sanctions(site, p, another="a new one"),
            )
        if sanction.cycle >= sanction.cycles:
            yield Unmet(
                "cycles-used",
                f"All {sanction.cycles} sanctioned cycles are used.",
                sanctions(site, p, another="a new one"),
            )
        yield from others_in_the_way(site, p, frozenset(sanction.points))
    if not is_checked(p):
        again = " since the stop" if p.checks else ""
        yield Unmet(
            "not-checked", f"The machine check is not done{again}.", looks_inside(site, p, "it")
        )
    yield from defects_open(site, p)
    yield from crew_signed_on(site, p, "nobody may be inside when points are freed")
    yield from others_inside(site, p)
    if not ask.tools_out:
        yield Unmet(
            "tools-in",
            "It is not confirmed that tools and material are out.",
            "You clear them, then confirm it on this page.",
        )
    if not ask.guards_on:
        yield Unmet(
            "guards-off",
            "It is not confirmed that the guards are on.",
            "You fit them, then confirm it on this page.",
        )
    if not p.told_of_tests():
        yield Unmet(
            "not-told-of-test",
            "Affected people have not been told that the machine will be started for tests.",
            tells(site, p),
        )


def may_not_energise(site: Site, p: Permit, ask: c.Ask) -> Iterator[Unmet]:
    """Who tests under power is authorised, was told what there is to tell, and was sanctioned by another."""
    yield from not_authorised(site, ask.by, p, ask.at)
    yield from not_told_back(site, ask.by)
    if p.sanction is not None and p.sanction.by == p.holder and not site.policy.own_issue:
        yield Unmet(
            "own-issue",
            f"{site.name(p.holder)} gave this sanction, and has taken the permit over since.",
            f"Another issuer gives a new one, {page_of(p)}: {site.holders_of('issuer', but=p.holder)}.",
        )


def ready(site: Site, ask: c.Ready) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_ready(site, p, ask))
    return [e.ReadyToEnergise(permit=p.id, by=ask.by, at=ask.at, signed=c.SIGNED[c.Ready])]


def against_ready(site: Site, p: Permit, ask: c.Ready) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, Phase.TESTING, asked="ready to energise")
    yield from not_holder(site, ask.by, p, "sign ready to energise")
    yield from may_not_energise(site, p, ask)
    if p.sanction is not None and p.sanction.ready_at is not None:
        yield Unmet(
            "ready-already",
            "Ready is signed for this cycle already.",
            f"{the_crew(site, p)} runs the test pieces, {job_of(p.id)}.",
        )
    yield from has_expired(site, p, ask.at)
    sanction = p.sanction
    if sanction is None:
        yield Unmet(
            "no-sanction", "No sanction is in force.", sanctions(site, p)
        )
        return
    if ask.at >= sanction.until:
        yield Unmet(
            "sanction-over",
            "The sanction's time is over.",
            f"{the_crew(site, p)} isolates again, {page_of(p)}; then an issuer gives a new one.",
        )
    yield from crew_signed_on(site, p, "nobody may be inside")
    for hanging in p.hanging:
        if hanging.where in sanction.points:
            yield Unmet(
                "lock-still-on",
                f"{site.name(hanging.owner)}'s padlock {hanging.padlock} still hangs on "
                f"{name_of(site, hanging.where)}.",
                takes_off(site, p, hanging),
            )
    yield from others_inside(site, p)
    yield from others_in_the_way(site, p, frozenset(sanction.points))
    yield from not_clear(site, p, areas_to_confirm(site, p), ask.at)


def end_sanction(site: Site, ask: c.EndSanction) -> list[e.Event]:
    p = the_permit(site, ask.permit)

    def against() -> Iterator[Unmet]:
        if p.sanction is None:
            yield Unmet("no-sanction", "No sanction is in force.", NOTHING_LEFT)
        if ask.by != p.holder:
            yield from lacks_role(site, ask.by, "issuer", "officer", to="end another's sanction")

    refuse_if(against())
    return [e.SanctionEnded(permit=p.id, by=ask.by, at=ask.at, why=ask.why.strip() or "ended by hand")]
