"""Request a permit and issue it: the plan, the procedure, the people, other permits on the machine."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from permits.plant.rules.conflict import supplied
from permits.plant.rules.energy import Kind
from permits.plant.rules.plan import NoPlan, isolates, plan

from . import commands as c
from . import events as e
from .against import (
    has_expired,
    lacks_role,
    name_of,
    no_technician,
    not_authorised,
    of_no_machine,
    phase_is_not,
    says_too_little,
    the_permit,
)
from .reaching import names, plan_falls_short
from .refusal import Refused, Unmet, refuse_if
from .state import Permit, Site
from .whom import EARLIER_END, FROM_THE_LIST, LATER_END, page_of
from .words import Phase


def request(site: Site, ask: c.RequestPermit) -> list[e.Event]:
    refuse_if(against_request(site, ask))
    zones = tuple(dict.fromkeys(ask.zones))
    made = plan(site.graph, zones, ask.keep_live)
    if isinstance(made, NoPlan):
        raise Refused(no_plan(site, made))
    number = site.next_number
    return [
        e.PermitRequested(
            permit=f"P-{number}",
            by=ask.by,
            at=ask.at,
            number=number,
            zones=zones,
            keep_live=tuple(dict.fromkeys(ask.keep_live)),
            kind_of_work=ask.kind_of_work.strip(),
            reason=ask.reason.strip(),
            starts_at=ask.starts_at,
            ends_at=ask.ends_at,
            lock=made.lock,
            release=made.release,
            order=tuple((step.do.value, step.point or "") for step in made.order),
            proven_cheapest=made.proven_cheapest,
        )
    ]


def against_request(site: Site, ask: c.RequestPermit) -> Iterator[Unmet]:
    yield from lacks_role(site, ask.by, "technician", "issuer", "officer", to="ask for a permit")
    if not ask.zones:
        yield Unmet(
            "no-zone",
            "No zone is named.",
            "You name every zone that a body part will be in, on this page.",
        )
    for zone in ask.zones:
        node = site.graph.nodes.get(zone)
        if node is None or node.kind is not Kind.ZONE:
            yield Unmet(
                "no-such-zone", f"{zone} is not a zone of this site.", FROM_THE_LIST
            )
    yield from of_no_machine(site, ask.zones)
    for keep in ask.keep_live:
        if keep not in site.graph.nodes:
            yield Unmet(
                "no-such-node", f"{keep} is not part of this site.", FROM_THE_LIST
            )
    for what, text in (("kind of work", ask.kind_of_work), ("reason", ask.reason)):
        yield from says_too_little(text, f"The {what} is empty.", f"the {what} in a few words")
    longest = timedelta(hours=site.policy.permit_hours)
    if ask.ends_at <= ask.starts_at:
        yield Unmet("window-backwards", "The permit would end before it starts.", LATER_END)
    elif ask.ends_at - ask.starts_at > longest:
        yield Unmet(
            "window-too-long",
            f"A permit runs at most {site.policy.permit_hours} hours here (site policy).",
            EARLIER_END,
        )
    if ask.ends_at <= ask.at:
        yield Unmet("window-past", "The permit would be over already.", LATER_END)


def no_plan(site: Site, made: NoPlan) -> Iterator[Unmet]:
    way = names(site, made.path)
    for conflict in made.conflicts:
        yield Unmet(
            "keep-live-conflict",
            f"{site.graph.name(conflict.keep)} cannot stay live "
            f"while {site.graph.name(conflict.zone)} is isolated.",
            "You leave one of the two out of this permit, on this page.",
            way,
        )
    if not made.conflicts:
        yield Unmet(
            "cannot-isolate",
            f"Nothing that can be locked stands between {way[0]} and {way[-1]}.",
            f"A safety officer has a lockable isolator fitted on this path: {site.holders_of('officer')}.",
            way,
        )


def issue(site: Site, ask: c.IssuePermit) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_issue(site, p, ask))
    return [
        e.PermitIssued(
            permit=p.id,
            by=ask.by,
            at=ask.at,
            holder=ask.holder,
            crew=tuple(person for person in dict.fromkeys(ask.crew) if person != ask.holder),
            coordinator=ask.coordinator,
            procedures=tuple((m, site.procedures[m].revision) for m in site.machines_of(p.zones)),
            own_issue=ask.holder == ask.by,
            signed=c.SIGNED[c.IssuePermit],
        )
    ]


def against_issue(site: Site, p: Permit, ask: c.IssuePermit) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, Phase.REQUESTED, asked="issuing")
    yield from lacks_role(site, ask.by, "issuer", to="issue permits")
    yield from has_expired(site, p, ask.at)
    if ask.holder == ask.by and not site.policy.own_issue:
        yield Unmet(
            "own-issue",
            "Issuer and holder are the same person.",
            f"Another issuer signs it out, {page_of(p)}: {site.holders_of('issuer', but=ask.by)}.",
        )
    for person in dict.fromkeys((ask.holder, *ask.crew)):
        if person not in site.people:
            yield Unmet(
                "no-such-person", f"{person} is not known at this site.", FROM_THE_LIST
            )
        else:
            yield from no_technician(site, person, to="work under a permit")
            yield from not_authorised(site, person, p, ask.at)
    yield from unproven_procedures(site, p)
    yield from plan_no_longer_isolates(site, p)
    others = sharing_machines(site, p)
    if others and ask.coordinator not in site.people:
        yield Unmet(
            "no-coordinator",
            f"Open on the same machine: {', '.join(o.id for o in others)}; nobody coordinates the permits.",
            "You name one coordinator for all of them, on this page.",
        )
    for other in others:
        if other.coordinator not in site.people:  # who has left coordinates nothing
            continue
        if ask.coordinator and other.coordinator != ask.coordinator:
            yield Unmet(
                "another-coordinator",
                f"{site.name(other.coordinator)} coordinates {other.id} on the same machine.",
                f"You name one coordinator for all of them, on this page: {site.name(other.coordinator)}.",
            )


def plan_no_longer_isolates(site: Site, p: Permit) -> Iterator[Unmet]:
    """The plan was made on another plant than the one that stands now."""
    for zone, path in plan_falls_short(site, p).items():
        way = names(site, path)
        yield Unmet(
            "plan-no-longer-isolates",
            f"The plant has changed: the plan no longer isolates {names(site, (zone,))[0]}.",
            f"{site.name(p.holder or p.requested_by)} cancels it {page_of(p)}, and asks again: the plan is "
            "made anew.",
            way,
        )


def unproven_procedures(site: Site, p: Permit) -> Iterator[Unmet]:
    """Each machine of the permit needs an approved written procedure that still isolates its zones."""
    officers = site.holders_of("officer")
    for machine in site.machines_of(p.zones):
        procedure = site.procedures.get(machine)
        if procedure is None:
            yield Unmet(
                "no-procedure",
                f"{machine} has no approved written procedure (site policy: always one).",
                f"One officer drafts it and another approves it, under “Machines”: {officers}.",
            )
            continue
        mine = (z for z in p.zones if z in site.graph.nodes and site.graph[z].machine == machine)
        for zone in (z for z in mine if z not in procedure.zones):
            yield Unmet(
                "procedure-too-narrow",
                f"Revision {procedure.revision} of {machine}'s procedure "
                f"does not cover {site.graph.name(zone)}.",
                f"An officer drafts a revision that does, under “Machines”: {officers}.",
            )
        falls_short = isolates(site.graph, procedure.zones, procedure.lock, procedure.release)
        for zone, path in falls_short.items():
            yield Unmet(
                "procedure-unproven",
                f"Revision {procedure.revision} of {machine}'s procedure "
                f"no longer isolates {names(site, (zone,))[0]}.",
                f"An officer drafts a new revision, under “Machines”: {officers}.",
                names(site, path),
            )


def sharing_machines(site: Site, p: Permit) -> list[Permit]:
    """Other open permits on a machine of this one."""
    mine = set(site.machines_of(p.zones))
    return [o for o in site.others(p) if mine & set(site.machines_of(o.zones))]


def clashes(site: Site, p: Permit) -> Iterator[Unmet]:
    """Other permits that want a point of this one in another state: shown when planned, not when too late."""
    for other in site.others(p):
        whose = site.name(other.holder or other.requested_by)
        agree = f"You agree with {whose} first, who is named {page_of(other)}."
        freed = set(other.sanction.points) if other.sanction else set()
        for point in p.points:
            name = name_of(site, point)
            if point in freed:
                what = f"{other.id} has a sanction to energise {name}; a lock there ends it."
                yield Unmet("wanted-live", what, agree)
            elif point in other.points:
                what = f"{other.id} holds {name} as well; neither can free it for a test alone."
                yield Unmet("shared-point", what, agree)
        for keep in dead_under(site, other.keep_live, p):
            what = f"{other.id} needs {site.graph.name(keep)} live; this plan takes its energy away."
            yield Unmet("kept-live", what, agree)
        for keep in dead_under(site, p.keep_live, other):
            what = f"This permit needs {site.graph.name(keep)} live; {other.id} takes its energy away."
            yield Unmet("kept-live", what, agree)


def dead_under(site: Site, keep_live: tuple[str, ...], p: Permit) -> Iterator[str]:
    """Of the nodes to be kept live, those that no supply reaches any more under the permit's plan."""
    for keep in keep_live:
        if keep in site.graph.nodes and supplied(site.graph, keep, frozenset(p.plan_lock)) is None:
            yield keep
