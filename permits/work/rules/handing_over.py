"""The permit passes to another holder: at the change of shift, or because the holder is absent."""

from __future__ import annotations

from collections.abc import Iterator

from . import commands as c
from . import events as e
from .accepting import not_understood
from .against import (
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
from .reaching import carries_lock
from .refusal import Unmet, refuse_if
from .state import Permit, Site
from .whom import ANOTHER_PERSON, FROM_THE_LIST, NOTHING_LEFT, page_of, spot, the_holder
from .words import AT_WORK, Phase

AT_SHIFT = (Phase.ISOLATING, Phase.ISOLATED)


def offer(site: Site, ask: c.OfferHandover) -> list[e.Event]:
    p = the_permit(site, ask.permit)

    def against() -> Iterator[Unmet]:
        yield from phase_is_not(site, p, *AT_SHIFT, asked="handing over")
        yield from not_holder(site, ask.by, p, "hand the permit over")
        yield from may_not_hold(site, p, ask.to, ask)

    refuse_if(against())
    signed = c.SIGNED[c.OfferHandover]
    return [e.HandoverOffered(permit=p.id, by=ask.by, at=ask.at, to=ask.to, signed=signed)]


def name_holder(site: Site, ask: c.NameHolder) -> list[e.Event]:
    p = the_permit(site, ask.permit)

    def against() -> Iterator[Unmet]:
        yield from phase_is_not(site, p, *AT_WORK, Phase.RESTORING, asked="naming a new holder")
        yield from lacks_role(site, ask.by, "officer", to="name a new holder")
        yield from may_not_hold(site, p, ask.to, ask)
        yield from says_too_little(
            ask.why, "It is not said why the holder is replaced.", "how you know that they are absent"
        )

    refuse_if(against())
    signed = c.SIGNED[c.NameHolder]
    return [e.HolderNamed(permit=p.id, by=ask.by, at=ask.at, to=ask.to, why=ask.why.strip(), signed=signed)]


def may_not_hold(site: Site, p: Permit, person: str, ask: c.Ask) -> Iterator[Unmet]:
    """The next holder is known, a technician, authorised, and neither the holder nor the issuer."""
    if person == p.holder:
        yield Unmet("holder-already", f"{site.name(person)} holds {p.id} already.", ANOTHER_PERSON)
    if person not in site.people:
        yield Unmet(
            "no-such-person", f"{person} is not known at this site.", FROM_THE_LIST
        )
        return
    yield from no_technician(site, person, to="hold a permit")
    yield from not_authorised(site, person, p, ask.at)
    amended = {s.person for s in p.signatures if s.meaning == c.SIGNED[c.AmendPlan]}
    if person in {p.issuer, *amended} and not site.policy.own_issue:
        did = "issued" if person == p.issuer else "added points to"
        yield Unmet(
            "own-issue",
            f"{site.name(person)} {did} {p.id}; issuer and holder are two people.",
            ANOTHER_PERSON,
        )


def withdraw(site: Site, ask: c.WithdrawHandover) -> list[e.Event]:
    p = the_permit(site, ask.permit)

    def against() -> Iterator[Unmet]:
        if not p.next_holder:
            yield Unmet("no-handover", f"{p.id} is not being handed over.", NOTHING_LEFT)
        elif ask.by not in (p.holder, p.next_holder):
            yield from lacks_role(site, ask.by, "officer", to="withdraw another's handover")

    refuse_if(against())
    return [e.HandoverWithdrawn(permit=p.id, by=ask.by, at=ask.at, why=ask.why.strip())]


def accept(site: Site, ask: c.AcceptHandover) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_accepting(site, p, ask))
    return [
        e.HandoverAccepted(
            permit=p.id,
            by=ask.by,
            at=ask.at,
            before=p.holder,
            own_issue=ask.by == p.issuer,
            signed=c.SIGNED[c.AcceptHandover],
        )
    ]


def against_accepting(site: Site, p: Permit, ask: c.AcceptHandover) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, *phases_to_take_over(p), asked="taking over")
    if ask.by != p.next_holder:
        awaited = (
            f"It is offered to {site.name(p.next_holder)}." if p.next_holder else "It is offered to nobody."
        )
        yield Unmet(
            "not-offered",
            f"{p.id} is not being handed over to {site.name(ask.by)}.",
            f"{the_holder(site, p)} hands it over, or an officer names a new holder, {page_of(p)}. {awaited}",
        )
    yield from not_authorised(site, ask.by, p, ask.at)
    yield from not_told_back(site, ask.by)
    for point in lacking(site, p, ask.by):
        yield Unmet(
            "no-own-lock",
            f"{site.name(p.holder)}'s lock hangs on {name_of(site, point)}, {site.name(ask.by)}'s does not.",
            f"{site.name(ask.by)} hangs their own at {spot(site, point)} first; then the other comes off.",
        )
    yield from not_understood(ask)


def phases_to_take_over(p: Permit) -> tuple[Phase, ...]:
    """A shift changes only while nothing is freed; a holder who is gone is replaced at any time."""
    return (*AT_WORK, Phase.RESTORING) if p.holder_gone else AT_SHIFT


def lacking(site: Site, p: Permit, incoming: str) -> tuple[str, ...]:
    """Points where the outgoing holder's lock hangs and the incoming's does not, in the plan's order.

    So no point is ever without a lock at the change of shift. A holder who is gone is replaced first: the new
    one locks what they find, and an officer takes the old locks off after that.
    """
    if p.holder_gone:
        return ()
    own = {lock.where for lock in p.hanging if lock.owner == incoming}
    theirs = {lock.where for lock in p.hanging if lock.owner == p.holder}
    return tuple(point for point in carries_lock(site, p) if point in theirs - own)
