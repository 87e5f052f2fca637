"""Conditions that several commands share: which phase, who, which padlock, who is still inside."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from permits.people.rules.hosting import out_of_days, without_host
from permits.plant.rules.energy import Kind

from .refusal import Refused, Unmet
from .state import Permit, Site
from .whom import OVER_THERE, comes_out, issuers_for, leads_to, page_of, spot, the_holder
from .words import BOX, Confirmation, Phase


def the_permit(site: Site, id: str) -> Permit:
    """The open permit with this id; raises Refused when there is none."""
    permit = site.permits.get(id)
    if permit is None or permit.phase.is_over:
        raise Refused([Unmet(
            "no-such-permit",
            f"There is no open permit {id} at this site.",
            "You open the board, and choose the permit there.",
        )])  # fmt: skip
    return permit


def name_of(site: Site, point: str) -> str:
    """What a person calls a point: its designation and its name."""
    node = site.graph.nodes.get(point)
    if node is None:
        return point
    return (
        f"{node.designation} {node.name}".strip() if node.kind in (Kind.ISOLATOR, Kind.STORE) else node.name
    )


def phase_is_not(site: Site, permit: Permit, *right: Phase, asked: str) -> Iterator[Unmet]:
    if permit.phase not in right:
        phases = " or ".join(phase.value for phase in right)
        yield Unmet(
            "wrong-phase",
            f"Permit {permit.id} is {permit.phase.value}; {asked} is possible while it is {phases}.",
            leads_to(site, permit, right),
        )


def lacks_role(site: Site, person: str, *roles: str, to: str) -> Iterator[Unmet]:
    if not site.roles_of(person).intersection(roles):
        yield Unmet(
            "no-role",
            f"{site.name(person)} has not the role to {to}.",
            f"Someone with that role does it, at their own phone or desk: {site.holders_of(*roles)}.",
        )


def no_technician(site: Site, person: str, to: str) -> Iterator[Unmet]:
    """Whoever is named to work has to be one."""
    if "technician" not in site.roles_of(person):
        yield Unmet(
            "no-role",
            f"{site.name(person)} has not the role to {to}.",
            "You name a technician, on this page; or an administrator gives them the role, under “People”.",
        )


def not_authorised(site: Site, person: str, permit: Permit, at: datetime) -> Iterator[Unmet]:
    """Every machine of the permit needs an authorisation of this person in date, and a contractor a host."""
    yield from not_hosted(site, person, at)
    yield from of_no_machine(site, permit.zones)
    for machine in site.machines_of(permit.zones):
        held = site.standing(person, machine, at)
        if not held.authorised:
            yield Unmet(
                "not-authorised",
                f"{site.name(person)} is not authorised for {machine}: {held.reason}",
                f"A safety officer authorises them, under “People”: {site.holders_of('officer')}.",
            )


def not_hosted(site: Site, person: str, at: datetime) -> Iterator[Unmet]:
    """A contractor works under a permit while one of the site's own people hosts them: 1910.147(f)(2)."""
    known = site.people.get(person)
    if known is None or not known.employer:
        return
    held, whose = known.hosting, f"{known.name} is a contractor of {known.employer}, and"
    if reason := without_host(held, held is not None and site.is_own(held.host)):
        yield Unmet(
            "not-hosted",
            f"{whose} {reason}.",
            f"A safety officer gives them a host of the site, under “People”: {site.holders_of('officer')}.",
        )
    if reason := out_of_days(held, site.day(at)):
        yield Unmet(
            "hosting-over",
            f"{whose} {reason}.",
            f"A safety officer gives them a host for today, under “People”: {site.holders_of('officer')}.",
        )


def hosting_in_words(site: Site, person: str, at: datetime) -> str:
    """Of a contractor: "contractor of X, hosted by Y", or that nobody hosts them now; "" for others."""
    known = site.people.get(person)
    if known is None or not known.employer:
        return ""
    held = known.hosting
    if held is None or any(not_hosted(site, person, at)):
        return f"contractor of {known.employer}, without a host now"
    return f"contractor of {known.employer}, hosted by {held.host_name}"


def of_no_machine(site: Site, zones: tuple[str, ...]) -> Iterator[Unmet]:
    """Authorisations and procedures are per machine: a zone of none would need neither."""
    for zone in zones:
        node = site.graph.nodes.get(zone)
        if node is not None and not node.machine:
            yield Unmet(
                "zone-of-no-machine",
                f"{node.name} belongs to no machine, so nobody is authorised for it.",
                "A safety officer says in the plant which machine it belongs to: "
                f"{site.holders_of('officer')}.",
            )


def not_working_under(site: Site, person: str, permit: Permit) -> Iterator[Unmet]:
    if not permit.works_under_it(person):
        yield Unmet(
            "not-named",
            f"{site.name(person)} is not named on permit {permit.id}.",
            f"Its holder ({site.name(permit.holder)}) or an issuer ({site.holders_of('issuer')}) "
            f"names them as crew, {page_of(permit)}.",
        )


def not_holder(site: Site, person: str, permit: Permit, to: str) -> Iterator[Unmet]:
    if person != permit.holder:
        yield Unmet(
            "not-holder",
            f"Only the holder can {to}.",
            f"{the_holder(site, permit)} does it {page_of(permit)}.",
        )


def not_told_back(site: Site, person: str) -> Iterator[Unmet]:
    """Whose lock was taken off while they were absent hears of it before they resume (design §5.14)."""
    if person in site.untold:
        yield Unmet(
            "not-told-back",
            f"{site.name(person)}'s lock was taken off under {', '.join(site.untold[person])} while "
            "they were absent, and nobody has told them yet.",
            f"An officer or issuer tells them and records it, {OVER_THERE}: "
            f"{site.holders_of('officer', 'issuer')}.",
        )


def crew_signed_on(site: Site, permit: Permit, why: str) -> Iterator[Unmet]:
    for on in permit.signed_on:
        yield Unmet(
            "crew-signed-on",
            f"{site.name(on.person)} is still signed on under {permit.id}; {why}.",
            comes_out(site, permit, on),
        )


def is_signed_on(permit: Permit, person: str) -> bool:
    return any(on.person == person for on in permit.signed_on)


def has_expired(site: Site, permit: Permit, at: datetime) -> Iterator[Unmet]:
    if is_expired(permit, at):
        yield Unmet(
            "expired",
            f"The time of permit {permit.id} is over.",
            more_time(site, permit),
        )


def more_time(site: Site, permit: Permit) -> str:
    """Who gives an expired permit more time, and who ends it otherwise."""
    if permit.phase is Phase.REQUESTED:
        return f"{site.name(permit.requested_by)} cancels it {page_of(permit)}, and asks for a new one."
    ends = "cancels it" if permit.phase is Phase.ISSUED else "hands the machine back once everyone is out"
    return (
        f"An issuer extends it {page_of(permit)}: {issuers_for(site, permit)}. "
        f"Otherwise {site.name(permit.holder)} {ends}."
    )


def is_expired(permit: Permit, at: datetime) -> bool:
    return permit.expired_at is not None or at >= permit.ends_at


def not_started(site: Site, permit: Permit, at: datetime) -> Iterator[Unmet]:
    if at < permit.starts_at:
        yield Unmet(
            "too-early",
            f"Permit {permit.id} starts at {site.clock(permit.starts_at)}.",
            "You wait until then, or ask for a permit that starts now, under “Ask for a permit”.",
        )


def padlock_taken(site: Site, padlock: str, person: str, called: str = "Padlock") -> Iterator[Unmet]:
    """A padlock hangs in one place, for one permit, and belongs to one person; "k7" and "K7" are one.

    Once its owner is no longer of the site, it may be somebody else's. `called`: what carries the number, as
    people call it; a tag that stands for a lock is as much one's own.
    """
    number = padlock.casefold()
    owners = {owner for known, owner in site.padlock_owners.items() if known.casefold() == number}
    for owner in sorted((owners & set(site.people)) - {person}):
        yield Unmet(
            "padlock-of-another",
            f"{called} {padlock} belongs to {site.name(owner)}.",
            f"You use a {called.lower()} of your own, and enter its number on this page.",
        )
    for permit in site.open:
        for lock in permit.locks:
            if lock.padlock.casefold() == number and lock.removed_at is None:
                where = "the group box" if lock.where == BOX else name_of(site, lock.where)
                yield Unmet(
                    "padlock-in-use",
                    f"{called} {padlock} already hangs on {where} for permit {permit.id}.",
                    f"You check the number on your {called.lower()}, or use another of your own.",
                )


def no_padlock(padlock: str) -> Iterator[Unmet]:
    if not padlock.strip():
        yield Unmet(
            "no-padlock",
            "A padlock of one's own is needed and its number was not given.",
            "You hang it first, then enter the number stamped on it, on this page.",
        )


def no_tag(tag: str) -> Iterator[Unmet]:
    if not tag.strip():
        yield Unmet(
            "no-tag",
            "The danger tag's number is missing.",
            "You hang the danger tag, and enter its number on this page.",
        )


def says_too_little(text: str, missing: str, write: str) -> Iterator[Unmet]:
    """`write`: what is to be written: "why, in a few words"."""
    if not text.strip():
        yield Unmet("says-too-little", missing, f"You write {write}, on this page.")


# ── clear of people ─────────────────────────────────────────────────────────────────────────────────────


def goes_stale(site: Site, confirmation: Confirmation) -> datetime | None:
    """When a clear confirmation goes stale; None while a watcher keeps it fresh."""
    if confirmation.watching:
        return None
    return confirmation.at + timedelta(minutes=site.policy.clear_minutes)


def is_fresh(site: Site, permit: Permit, area: str, now: datetime) -> bool:
    found = permit.confirmation(area)
    if found is None or found.eyes not in site.people:  # nobody watches who has left the site for good
        return False
    until = goes_stale(site, found)
    return until is None or now < until


def not_clear(site: Site, permit: Permit, areas: tuple[str, ...], now: datetime) -> Iterator[Unmet]:
    """Every danger area needs a fresh confirmation by someone who sees it."""
    for area in areas:
        name = site.graph.name(area)
        found = permit.confirmation(area)
        if found is None or found.eyes not in site.people:
            yield Unmet(
                "not-confirmed-clear",
                f"Nobody has confirmed that {name} is clear of people.",
                f"Anyone who sees {spot(site, area)} confirms it, {page_of(permit)}.",
            )
        elif not is_fresh(site, permit, area, now):
            minutes = int((now - found.at).total_seconds() // 60)
            yield Unmet(
                "confirmation-stale",
                f"{site.name(found.eyes)} saw {name} clear {minutes} minutes ago; that is too old "
                f"(good for {site.policy.clear_minutes} minutes).",
                f"{site.name(found.eyes)}, or anyone who sees {spot(site, area)}, looks again and confirms "
                f"it, {page_of(permit)}.",
            )
