"""Accept a permit, give it more time, name crew, tell affected people, cancel."""

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
    no_technician,
    not_authorised,
    not_holder,
    not_told_back,
    phase_is_not,
    says_too_little,
    the_permit,
)
from .issuing import plan_no_longer_isolates
from .refusal import Unmet, refuse_if
from .state import Permit, Site
from .whom import (
    EARLIER_END,
    FROM_THE_LIST,
    LATER_END,
    NOTHING_LEFT,
    page_of,
    take_theirs_off,
    takes_off,
)
from .words import AT_WORK, Phase, Stage


def accept(site: Site, ask: c.AcceptPermit) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_accept(site, p, ask))
    return [e.PermitAccepted(permit=p.id, by=ask.by, at=ask.at, signed=c.SIGNED[c.AcceptPermit])]


def against_accept(site: Site, p: Permit, ask: c.AcceptPermit) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, Phase.ISSUED, asked="accepting")
    yield from not_holder(site, ask.by, p, "accept the permit")
    yield from not_authorised(site, ask.by, p, ask.at)
    yield from has_expired(site, p, ask.at)
    yield from plan_no_longer_isolates(site, p)
    yield from not_told_back(site, ask.by)
    yield from not_understood(ask)


def not_understood(ask: c.AcceptPermit | c.AcceptHandover) -> Iterator[Unmet]:
    """Who takes a permit knows type and magnitude of the energy, its hazards, and its control.

    29 CFR 1910.147(d)(1).
    """
    for known, what in (
        (ask.knows_energies, "the kind and magnitude of each energy"),
        (ask.knows_hazards, "the hazards of each energy"),
        (ask.knows_control, "the means by which each energy is controlled"),
    ):
        if not known:
            yield Unmet(
                "not-understood",
                f"It is not confirmed that you know {what}.",
                "You read the plan, then confirm it on this page.",
            )


def extend(site: Site, ask: c.ExtendPermit) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_extending(site, p, ask))
    return [e.PermitExtended(permit=p.id, by=ask.by, at=ask.at, ends_at=ask.until)]


def against_extending(site: Site, p: Permit, ask: c.ExtendPermit) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, Phase.ISSUED, *AT_WORK, Phase.RESTORING, asked="extending")
    yield from lacks_role(site, ask.by, "issuer", to="extend a permit")
    if ask.by == p.holder and not site.policy.own_issue:
        yield Unmet(
            "own-issue",
            "The holder cannot extend their own permit.",
            f"Another issuer extends it {page_of(p)}: {site.holders_of('issuer', but=ask.by)}.",
        )
    longest = timedelta(hours=site.policy.permit_hours)
    if ask.until <= max(ask.at, p.ends_at):
        yield Unmet("window-past", "The permit would not run any longer.", LATER_END)
    elif ask.until - ask.at > longest:
        yield Unmet(
            "window-too-long",
            f"A permit runs at most {site.policy.permit_hours} hours from its extension here (site policy).",
            EARLIER_END,
        )


def name_crew(site: Site, ask: c.NameCrew) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_naming(site, p, ask))
    return [e.CrewNamed(permit=p.id, by=ask.by, at=ask.at, person=ask.person)]


def against_naming(site: Site, p: Permit, ask: c.NameCrew) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, Phase.ISSUED, *AT_WORK, asked="naming crew")
    if ask.by != p.holder:
        yield from lacks_role(site, ask.by, "issuer", to="name crew on another's permit")
    if p.works_under_it(ask.person):
        yield Unmet("already-named", f"{site.name(ask.person)} is named already.", NOTHING_LEFT)
    if ask.person not in site.people:
        yield Unmet(
            "no-such-person", f"{ask.person} is not known at this site.", FROM_THE_LIST
        )
    else:
        yield from no_technician(site, ask.person, to="work under a permit")
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
    yield from phase_is_not(site, p, *AT_WORK, Phase.RESTORING, asked="telling affected people")
    if not p.works_under_it(ask.by):
        yield from lacks_role(site, ask.by, "issuer", "officer", to="record a notice for another's permit")
    if p.phase is Phase.RESTORING and p.hanging:
        on = ", ".join(sorted({name_of(site, lock.where) for lock in p.hanging}))
        yield Unmet(
            "locks-still-on",
            f"Locks still hang on {on}; the second notice comes after the last one is off.",
            take_theirs_off(site, p, p.hanging),
        )
    for what, text in (("who was told", ask.whom), ("how they were told", ask.how)):
        yield from says_too_little(text, f"It is not said {what}.", "it in a few words")


def acknowledge(site: Site, ask: c.AcknowledgeNotice) -> list[e.Event]:
    """Whoever was told may say so; nothing waits for it, but a notice nobody acknowledged shows."""
    p = the_permit(site, ask.permit)

    def against() -> Iterator[Unmet]:
        if not 0 <= ask.notice < len(p.notices):
            yield Unmet("no-such-notice", f"{p.id} has no such notice.", FROM_THE_LIST)
        elif any(a.notice == ask.notice and a.person == ask.by for a in p.acknowledgements):
            yield Unmet(
                "acknowledged-already", "You have said so already.", NOTHING_LEFT
            )

    refuse_if(against())
    return [e.NoticeAcknowledged(permit=p.id, by=ask.by, at=ask.at, notice=ask.notice)]


def cancel(site: Site, ask: c.CancelPermit) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_cancelling(site, p, ask))
    return [e.PermitCancelled(permit=p.id, by=ask.by, at=ask.at, why=ask.why.strip())]


def against_cancelling(site: Site, p: Permit, ask: c.CancelPermit) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, Phase.REQUESTED, Phase.ISSUED, Phase.ISOLATING, asked="cancelling")
    if ask.by not in (p.requested_by, p.holder):
        yield from lacks_role(site, ask.by, "issuer", "officer", to="cancel another's permit")
    yield from says_too_little(ask.why, "The reason is empty.", "why, in a few words")
    if p.ever_signed_on or p.sanctions:
        yield Unmet(
            "work-has-begun",
            f"Work under {p.id} has begun; it ends by hand-back, so that the machine is looked at.",
            f"{site.name(p.holder)} hands it back {page_of(p)}.",
        )
    yield from crew_signed_on(site, p, "nobody may be inside when it ends")
    for lock in p.hanging:
        yield Unmet(
            "locks-still-on",
            f"{site.name(lock.owner)}'s padlock {lock.padlock} still hangs on {name_of(site, lock.where)}.",
            takes_off(site, p, lock),
        )
