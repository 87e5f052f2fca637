"""Request, issue, accept, name crew, tell affected people, cancel."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from permits.plant.rules.energy import Kind
from permits.plant.rules.plan import NoPlan, isolates, plan

from . import commands as c
from . import events as e
from .against import (
    crew_signed_on,
    has_expired,
    lacks_role,
    not_authorised,
    not_holder,
    phase_is_not,
    the_permit,
)
from .refusal import Refused, Unmet, refuse_if
from .state import Permit, Site
from .words import Phase, Stage


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
        yield Unmet("no-zone", "No zone is named.", "Name every zone that a body part will be in.")
    for zone in ask.zones:
        node = site.graph.nodes.get(zone)
        if node is None or node.kind is not Kind.ZONE:
            yield Unmet(
                "no-such-zone", f"{zone} is not a zone of this site.", "Choose from the machine's zones."
            )
    for keep in ask.keep_live:
        if keep not in site.graph.nodes:
            yield Unmet(
                "no-such-node", f"{keep} is not part of this site.", "Choose from the machine's nodes."
            )
    for what, text in (("kind of work", ask.kind_of_work), ("reason", ask.reason)):
        if not text.strip():
            yield Unmet("says-too-little", f"The {what} is empty.", f"Write the {what} in a few words.")
    longest = timedelta(hours=site.policy.permit_hours)
    if ask.ends_at <= ask.starts_at:
        yield Unmet("window-backwards", "The permit would end before it starts.", "Choose a later end.")
    elif ask.ends_at - ask.starts_at > longest:
        yield Unmet(
            "window-too-long",
            f"A permit runs at most {site.policy.permit_hours} hours here (site policy).",
            "Choose an earlier end.",
        )
    if ask.ends_at <= ask.at:
        yield Unmet("window-past", "The permit would be over already.", "Choose a later end.")


def no_plan(site: Site, made: NoPlan) -> Iterator[Unmet]:
    names = tuple(site.graph.name(id) for id in made.path)
    for conflict in made.conflicts:
        yield Unmet(
            "keep-live-conflict",
            f"{site.graph.name(conflict.keep)} cannot stay live while {site.graph.name(conflict.zone)} is isolated.",
            "Leave one of the two out of this permit.",
            names,
        )
    if not made.conflicts:
        yield Unmet(
            "cannot-isolate",
            f"Nothing that can be locked stands between {names[0]} and {names[-1]}.",
            f"A lockable isolator has to be fitted on this path: {site.holders_of('officer')}.",
            names,
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
    yield from phase_is_not(p, Phase.REQUESTED, asked="issuing")
    yield from lacks_role(site, ask.by, "issuer", to="issue permits")
    yield from has_expired(site, p, ask.at)
    if ask.holder == ask.by and not site.policy.own_issue:
        yield Unmet(
            "own-issue",
            "Issuer and holder are the same person.",
            f"Another issuer signs it out: {site.holders_of('issuer')}.",
        )
    for person in dict.fromkeys((ask.holder, *ask.crew)):
        if person not in site.people:
            yield Unmet(
                "no-such-person", f"{person} is not known at this site.", "Choose from the list of people."
            )
        else:
            yield from lacks_role(site, person, "technician", to="work under a permit")
            yield from not_authorised(site, person, p, ask.at)
    yield from unproven_procedures(site, p)
    for zone, path in isolates(site.graph, p.zones, p.plan_lock, p.plan_release).items():
        names = tuple(site.graph.name(id) for id in path)
        yield Unmet(
            "plan-no-longer-isolates",
            f"The plant has changed: the plan no longer isolates {site.graph.name(zone)}.",
            "Cancel this request and ask again; the plan is made anew.",
            names,
        )
    others = sharing_machines(site, p)
    if others and ask.coordinator not in site.people:
        yield Unmet(
            "no-coordinator",
            f"{', '.join(o.id for o in others)} is open on the same machine and nobody coordinates the permits.",
            "Name one coordinator for all of them.",
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
                f"One officer drafts it and another approves it: {officers}.",
            )
            continue
        uncovered = [z for z in p.zones if site.graph[z].machine == machine and z not in procedure.zones]
        for zone in uncovered:
            yield Unmet(
                "procedure-too-narrow",
                f"Revision {procedure.revision} of {machine}'s procedure does not cover {site.graph.name(zone)}.",
                f"An officer drafts a revision that does: {officers}.",
            )
        for zone, path in isolates(
            site.graph, procedure.zones, procedure.lock, procedure.release
        ).items():  # fmt: skip
            yield Unmet(
                "procedure-unproven",
                f"Revision {procedure.revision} of {machine}'s procedure no longer isolates {site.graph.name(zone)}.",
                f"An officer drafts a new revision: {officers}.",
                tuple(site.graph.name(id) for id in path),
            )


def sharing_machines(site: Site, p: Permit) -> list[Permit]:
    """Other open permits on a machine of this one."""
    mine = set(site.machines_of(p.zones))
    return [o for o in site.permits.values() if o.id != p.id and mine & set(site.machines_of(o.zones))]


def clashes(site: Site, p: Permit) -> Iterator[Unmet]:
    """Other open permits that want a point of this one in another state: shown when planned, not when too late."""
    for other in site.permits.values():
        if other.id == p.id:
            continue
        freed = set(other.sanction.points) if other.sanction else set()
        for point in p.points:
            if point in freed:
                yield Unmet(
                    "wanted-live",
                    f"{other.id} has a sanction to energise {site.graph.name(point)}; a lock there ends it.",
                    f"Agree with {site.name(other.holder)} first.",
                )
            elif point in other.points:
                yield Unmet(
                    "shared-point",
                    f"{other.id} locks {site.graph.name(point)} as well; neither can free it for a test alone.",
                    f"Agree with {site.name(other.holder) if other.holder else site.name(other.requested_by)}.",
                )
        for keep in other.keep_live:
            path = isolates(site.graph, (keep,), p.plan_lock, ()) if keep in site.graph.nodes else {}
            if not path:
                yield Unmet(
                    "kept-live",
                    f"{other.id} needs {site.graph.name(keep)} live; this plan takes its energy away.",
                    f"Agree with {site.name(other.holder) if other.holder else site.name(other.requested_by)}.",
                )


def accept(site: Site, ask: c.AcceptPermit) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_accept(site, p, ask))
    return [e.PermitAccepted(permit=p.id, by=ask.by, at=ask.at, signed=c.SIGNED[c.AcceptPermit])]


def against_accept(site: Site, p: Permit, ask: c.AcceptPermit) -> Iterator[Unmet]:
    yield from phase_is_not(p, Phase.ISSUED, asked="accepting")
    yield from not_holder(site, ask.by, p, "accept the permit")
    yield from not_authorised(site, ask.by, p, ask.at)
    yield from has_expired(site, p, ask.at)
    for known, what in (
        (ask.knows_energies, "the kind and magnitude of each energy"),
        (ask.knows_hazards, "the hazards of each energy"),
        (ask.knows_control, "the means by which each energy is controlled"),
    ):
        if not known:
            yield Unmet(
                "not-understood", f"It is not confirmed that you know {what}.", "Read the plan, then confirm."
            )


def name_crew(site: Site, ask: c.NameCrew) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_naming(site, p, ask))
    return [e.CrewNamed(permit=p.id, by=ask.by, at=ask.at, person=ask.person)]


def against_naming(site: Site, p: Permit, ask: c.NameCrew) -> Iterator[Unmet]:
    yield from phase_is_not(
        p, Phase.ISSUED, Phase.ISOLATING, Phase.ISOLATED, Phase.TESTING, asked="naming crew"
    )
    if ask.by != p.holder:
        yield from lacks_role(site, ask.by, "issuer", to="name crew on another's permit")
    if p.works_under_it(ask.person):
        yield Unmet("already-named", f"{site.name(ask.person)} is named already.", "Nothing is left to do.")
    if ask.person not in site.people:
        yield Unmet(
            "no-such-person", f"{ask.person} is not known at this site.", "Choose from the list of people."
        )
    else:
        yield from lacks_role(site, ask.person, "technician", to="work under a permit")
        yield from not_authorised(site, ask.person, p, ask.at)


def tell(site: Site, ask: c.TellAffected) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_telling(site, p, ask))
    stage = Stage.AFTER if p.phase is Phase.RESTORING else Stage.BEFORE
    return [
        e.AffectedTold(
            permit=p.id,
            by=ask.by,
            at=ask.at,
            stage=stage,
            whom=ask.whom.strip(),
            how=ask.how.strip(),
            covers_tests=ask.covers_tests,
        )
    ]


def against_telling(site: Site, p: Permit, ask: c.TellAffected) -> Iterator[Unmet]:
    yield from phase_is_not(
        p, Phase.ISOLATING, Phase.ISOLATED, Phase.TESTING, Phase.RESTORING, asked="telling affected people"
    )
    if p.phase is Phase.RESTORING and p.hanging:
        on = ", ".join(sorted({site.graph.name(lock.where) for lock in p.hanging}))
        yield Unmet(
            "locks-still-on",
            f"Locks still hang on {on}; the second notice comes after the last one is off.",
            "Their owners take them off first.",
        )
    for what, text in (("who was told", ask.whom), ("how they were told", ask.how)):
        if not text.strip():
            yield Unmet("says-too-little", f"It is not said {what}.", "Write it in a few words.")


def cancel(site: Site, ask: c.CancelPermit) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_cancelling(site, p, ask))
    return [e.PermitCancelled(permit=p.id, by=ask.by, at=ask.at, why=ask.why.strip())]


def against_cancelling(site: Site, p: Permit, ask: c.CancelPermit) -> Iterator[Unmet]:
    yield from phase_is_not(p, Phase.REQUESTED, Phase.ISSUED, Phase.ISOLATING, asked="cancelling")
    if ask.by not in (p.requested_by, p.holder):
        yield from lacks_role(site, ask.by, "issuer", "officer", to="cancel another's permit")
    if not ask.why.strip():
        yield Unmet("says-too-little", "The reason is empty.", "Write why in a few words.")
    if p.ever_signed_on or p.sanctions:
        yield Unmet(
            "work-has-begun",
            f"Work under {p.id} has begun; it ends by hand-back, so that the machine is looked at.",
            f"{site.name(p.holder)} hands it back.",
        )
    yield from crew_signed_on(site, p, "nobody may be inside when it ends")
    for lock in p.hanging:
        yield Unmet(
            "locks-still-on",
            f"{site.name(lock.owner)}'s padlock {lock.padlock} still hangs on {site.graph.name(lock.where)}.",
            f"{site.name(lock.owner)} takes it off.",
        )
