"""People inside: crew on and off, the machine check and its defects."""

from __future__ import annotations

from collections.abc import Iterator

from . import commands as c
from . import events as e
from .against import (
    has_expired,
    is_signed_on,
    lacks_role,
    name_of,
    not_authorised,
    not_started,
    not_told_back,
    not_working_under,
    padlock_taken,
    phase_is_not,
    says_too_little,
    the_permit,
)
from .clearing import under_test
from .proving import not_isolated
from .reaching import carries_lock
from .refusal import Unmet, refuse_if
from .state import Permit, Site
from .whom import FROM_THE_LIST, NOTHING_LEFT, page_of, signs_on, the_crew
from .words import CHECK_ITEMS, Finding, Phase


def sign_on(site: Site, ask: c.SignOnCrew) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_sign_on(site, p, ask))
    return [
        e.CrewSignedOn(permit=p.id, by=ask.by, at=ask.at, padlock=ask.padlock.strip()),
        *voids_confirmations(site, p, ask),
    ]


def against_sign_on(site: Site, p: Permit, ask: c.SignOnCrew) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, Phase.ISOLATED, asked="signing on")
    yield from not_isolated(site, p, ask.at)
    yield from not_working_under(site, ask.by, p)
    yield from not_authorised(site, ask.by, p, ask.at)
    yield from not_told_back(site, ask.by)
    yield from not_started(site, p, ask.at)
    yield from has_expired(site, p, ask.at)
    yield from under_test(site, p)
    if is_signed_on(p, ask.by):
        yield Unmet("already-on", f"{site.name(ask.by)} is signed on already.", NOTHING_LEFT)
    if ask.padlock.strip():
        yield from padlock_taken(site, ask.padlock.strip(), ask.by)
    else:
        yield from no_lock_of_ones_own(site, p, ask.by)


def no_lock_of_ones_own(site: Site, p: Permit, person: str) -> Iterator[Unmet]:
    """Without a padlock on the box, a person's own locks on every point of the plan are it."""
    own = {lock.where for lock in p.hanging if lock.owner == person and not lock.is_tag}
    points = carries_lock(site, p)
    bare = [name_of(site, point) for point in points if point not in own]
    if bare or not points:
        without = f"; without one, your own locks would have to hang on {', '.join(bare)} too" if bare else ""
        yield Unmet(
            "no-padlock",
            "A name on a screen is not a lock: hang your own padlock on the group box "
            f"and enter its number{without}.",
            f"{site.name(person)} hangs it on the box, and enters its number on this page.",
        )


def voids_confirmations(site: Site, p: Permit, ask: c.SignOnCrew) -> list[e.Event]:
    """Where someone goes in, nobody can still say that it is clear, under this permit or another: not the
    zones, nor the danger areas of their machines.

    Nor does who goes in still see, or watch, what they confirmed from outside.
    """
    machines = site.machines_of(p.zones)
    beside = {area.id for area in site.graph.danger_areas if area.machine in machines}
    events: list[e.Event] = []
    for permit in site.open:
        areas = tuple(dict.fromkeys(
            standing.area
            for standing in permit.confirmations
            if standing.void_at is None
            and (permit.id == p.id or standing.area in {*p.zones, *beside} or standing.eyes == ask.by)
        ))  # fmt: skip
        if areas:
            events.append(e.ConfirmationsVoided(permit=permit.id, by=ask.by, at=ask.at, areas=areas))
    return events


def sign_off(site: Site, ask: c.SignOffCrew) -> list[e.Event]:
    """Signing off is never refused to someone who is on: coming out only makes things safer."""
    p = the_permit(site, ask.permit)
    on = next((s for s in p.signed_on if s.person == ask.by), None)
    if on is None:
        refuse_if(
            [Unmet("not-on", f"{site.name(ask.by)} is not signed on under {p.id}.", NOTHING_LEFT)]
        )
    assert on is not None
    return [e.CrewSignedOff(permit=p.id, by=ask.by, at=ask.at, padlock=on.padlock)]


# ── machine check ───────────────────────────────────────────────────────────────────────────────────────


def check_machine(site: Site, ask: c.RecordMachineCheck) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_check(site, p, ask))
    return [e.MachineChecked(permit=p.id, by=ask.by, at=ask.at, items=ask.items)]


def against_check(site: Site, p: Permit, ask: c.RecordMachineCheck) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, Phase.ISOLATED, asked="the machine check")
    if not is_signed_on(p, ask.by):
        yield Unmet(
            "not-signed-on",
            f"{site.name(ask.by)} is not signed on; whoever looks inside hangs their own padlock first.",
            signs_on(site, ask.by, p),
        )
    answered = {item.item for item in ask.items}
    for item, words in CHECK_ITEMS:
        if item not in answered:
            yield Unmet(
                "check-incomplete",
                f"{words}: not answered.",
                "You look, then say on this page: in order, or defect.",
            )
    for one in ask.items:
        if one.finding is Finding.DEFECT and not one.note.strip():
            words = dict(CHECK_ITEMS).get(one.item, one.item)
            yield Unmet(
                "defect-undescribed",
                f"{words}: the defect is not described.",
                "You write what is wrong, on this page.",
            )


def is_checked(p: Permit) -> bool:
    """Was the machine check done under this permit, and since it was last stopped?"""
    return p.checked


def against_defect(site: Site, p: Permit, number: int) -> Iterator[Unmet]:
    if number not in dict(p.open_defects):
        yield Unmet(
            "no-such-defect", f"Defect {number + 1} is not open on {p.id}.", FROM_THE_LIST
        )


def resolve_defect(site: Site, ask: c.ResolveDefect) -> list[e.Event]:
    p = the_permit(site, ask.permit)

    def against() -> Iterator[Unmet]:
        yield from phase_is_not(site, p, Phase.ISOLATED, asked="mending a defect")
        yield from against_defect(site, p, ask.defect)
        if not is_signed_on(p, ask.by):
            yield Unmet(
                "not-signed-on", f"{site.name(ask.by)} is not signed on.", signs_on(site, ask.by, p)
            )
        yield from says_too_little(ask.how, "It is not said what was done.", "it in a few words")

    refuse_if(against())
    return [e.DefectResolved(permit=p.id, by=ask.by, at=ask.at, defect=ask.defect, how=ask.how.strip())]


def accept_defect(site: Site, ask: c.AcceptDefect) -> list[e.Event]:
    p = the_permit(site, ask.permit)

    def against() -> Iterator[Unmet]:
        yield from lacks_role(site, ask.by, "officer", to="accept a defect")
        yield from against_defect(site, p, ask.defect)
        yield from says_too_little(ask.why, "The reason is empty.", "why the machine may run with it")

    refuse_if(against())
    return [e.DefectAccepted(permit=p.id, by=ask.by, at=ask.at, defect=ask.defect, why=ask.why.strip())]


def defects_open(site: Site, p: Permit) -> Iterator[Unmet]:
    for number, defect in p.open_defects:
        words = dict(CHECK_ITEMS).get(defect.item, defect.item)
        yield Unmet(
            "defect-open",
            f"Defect {number + 1} is open: {words}: {defect.what}",
            f"{the_crew(site, p)} mends it, or an officer accepts it with a reason, {page_of(p)}: "
            f"{site.holders_of('officer')}.",
        )
