"""Conditions that several commands share: which phase, who, which crew would be reached, what relies on what."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from permits.plant.rules.exposure import exposed, fed

from .refusal import Refused, Unmet
from .state import Permit, Site
from .words import BOX, Confirmation, Phase


def the_permit(site: Site, id: str) -> Permit:
    """The open permit with this id; raises Refused when there is none."""
    permit = site.permits.get(id)
    if permit is None:
        raise Refused([Unmet(
            "no-such-permit",
            f"There is no open permit {id} at this site.",
            "Open the board and choose the permit from there.",
        )])  # fmt: skip
    return permit


def phase_is_not(permit: Permit, *right: Phase, asked: str) -> Iterator[Unmet]:
    if permit.phase not in right:
        phases = " or ".join(phase.value for phase in right)
        yield Unmet(
            "wrong-phase",
            f"Permit {permit.id} is {permit.phase.value}; {asked} is possible while it is {phases}.",
            "Follow the permit's next step.",
        )


def lacks_role(site: Site, person: str, *roles: str, to: str) -> Iterator[Unmet]:
    known = site.people.get(person)
    if known is None or not known.roles.intersection(roles):
        yield Unmet(
            "no-role",
            f"{site.name(person)} has not the role to {to}.",
            f"Someone who has it: {site.holders_of(roles[0])}.",
        )


def not_authorised(site: Site, person: str, permit: Permit, at: datetime) -> Iterator[Unmet]:
    """Every machine of the permit needs an authorisation of this person that is in date."""
    for machine in site.machines_of(permit.zones):
        held = site.standing(person, machine, at)
        if not held.authorised:
            yield Unmet(
                "not-authorised",
                f"{site.name(person)} is not authorised for {machine}: {held.reason}",
                f"A safety officer authorises them: {site.holders_of('officer')}.",
            )


def not_working_under(site: Site, person: str, permit: Permit) -> Iterator[Unmet]:
    if not permit.works_under_it(person):
        yield Unmet(
            "not-named",
            f"{site.name(person)} is not named on permit {permit.id}.",
            f"Its holder {site.name(permit.holder)} or an issuer names them as crew.",
        )


def not_holder(site: Site, person: str, permit: Permit, to: str) -> Iterator[Unmet]:
    if person != permit.holder:
        yield Unmet(
            "not-holder",
            f"Only the holder can {to}.",
            f"{site.name(permit.holder)} holds permit {permit.id}.",
        )


def crew_signed_on(site: Site, permit: Permit, why: str) -> Iterator[Unmet]:
    for on in permit.signed_on:
        yield Unmet(
            "crew-signed-on",
            f"{site.name(on.person)} is still signed on under {permit.id}; {why}.",
            f"{site.name(on.person)} comes out, takes their padlock off the box and signs off.",
        )


def has_expired(site: Site, permit: Permit, at: datetime) -> Iterator[Unmet]:
    if permit.expired_at is not None or at >= permit.ends_at:
        yield Unmet(
            "expired",
            f"The time of permit {permit.id} is over.",
            "Sign off, hand the machine back, and ask for a new permit.",
        )


def not_started(permit: Permit, at: datetime) -> Iterator[Unmet]:
    if at < permit.starts_at:
        yield Unmet(
            "too-early",
            f"Permit {permit.id} starts at {permit.starts_at:%H:%M} UTC on {permit.starts_at:%d %B %Y}.",
            "Wait until then, or ask for a permit that starts now.",
        )


def padlock_taken(site: Site, padlock: str, person: str) -> Iterator[Unmet]:
    """A padlock hangs in one place, for one permit, and belongs to one person."""
    owner = site.padlock_owners.get(padlock)
    if owner is not None and owner != person:
        yield Unmet(
            "padlock-of-another",
            f"Padlock {padlock} belongs to {site.name(owner)}.",
            "Use a padlock of your own and enter its number.",
        )
    for permit in site.permits.values():
        for lock in permit.locks:
            if lock.padlock == padlock and lock.removed_at is None:
                where = "the group box" if lock.where == BOX else site.graph.name(lock.where)
                yield Unmet(
                    "padlock-in-use",
                    f"Padlock {padlock} already hangs on {where} for permit {permit.id}.",
                    "Check the number, or use another padlock of your own.",
                )


def no_padlock(padlock: str) -> Iterator[Unmet]:
    if not padlock.strip():
        yield Unmet(
            "no-padlock",
            "A padlock of one's own is needed and its number was not given.",
            "Hang it first, then enter the number stamped on it.",
        )


# ── energy ──────────────────────────────────────────────────────────────────────────────────────────────


def reached_crew(
    site: Site, *, opening: frozenset[str] = frozenset(), leaving_out: str = ""
) -> Iterator[Unmet]:
    """Everyone signed on whom energy would reach if the `opening` points were closed: person and path.

    Each permit is judged by its own locks and releases alone, without those at the opening points.
    `leaving_out`: a permit whose crew is not looked at.
    """
    for permit in site.permits.values():
        if not permit.signed_on or permit.id == leaving_out:
            continue
        hits = exposed(
            site.graph, permit.zones, locked=permit.locked - opening, released=permit.released - opening
        )
        for zone, path in hits.items():
            for on in permit.signed_on:
                names = tuple(site.graph.name(id) for id in path)
                yield Unmet(
                    "exposes-crew",
                    f"{site.name(on.person)}, signed on under {permit.id} in {site.graph.name(zone)}, "
                    f"would be reached through {' → '.join(names)}.",
                    f"Wait until {site.name(on.person)} has signed off, or leave out "
                    "the points on this path.",
                    (*names, site.name(on.person)),
                )


def relying_on_dead_upstream(before: Site, after: Site) -> Iterator[tuple[Permit, str, tuple[str, ...]]]:
    """Good verifications of points that were tested with nothing upstream and would be fed again now.

    Yields the permit, the point and the path that feeds it again.
    """
    if before.locked <= after.locked and before.released <= after.released:
        return
    for permit in after.permits.values():
        if permit.phase not in (Phase.ISOLATING, Phase.ISOLATED):
            continue
        for point in permit.points:
            test = permit.verification(point)
            if test is None or test.void_at is not None or test.fed or not test.passed:
                continue
            path = fed(after.graph, point, locked=after.locked, released=after.released)
            if path is not None and fed(
                before.graph, point, locked=before.locked, released=before.released
            ) is None:  # fmt: skip
                yield permit, point, path


# ── clear of people ─────────────────────────────────────────────────────────────────────────────────────


def goes_stale(site: Site, confirmation: Confirmation) -> datetime | None:
    """When a clear confirmation goes stale; None while a watcher keeps it fresh."""
    if confirmation.watching:
        return None
    return confirmation.at + timedelta(minutes=site.policy.clear_minutes)


def is_fresh(site: Site, permit: Permit, area: str, now: datetime) -> bool:
    found = permit.confirmation(area)
    if found is None:
        return False
    until = goes_stale(site, found)
    return until is None or now < until


def not_clear(site: Site, permit: Permit, areas: tuple[str, ...], now: datetime) -> Iterator[Unmet]:
    """Every danger area needs a fresh confirmation by someone who sees it."""
    for area in areas:
        name = site.graph.name(area)
        found = permit.confirmation(area)
        if found is None:
            yield Unmet(
                "not-confirmed-clear",
                f"Nobody has confirmed that {name} is clear of people.",
                f"Someone who sees {name} confirms it.",
            )
        elif not is_fresh(site, permit, area, now):
            minutes = int((now - found.at).total_seconds() // 60)
            yield Unmet(
                "confirmation-stale",
                f"{site.name(found.by)} confirmed {name} clear {minutes} minutes ago; that is too old "
                f"(good for {site.policy.clear_minutes} minutes).",
                f"Someone who sees {name} looks again and confirms it.",
            )
