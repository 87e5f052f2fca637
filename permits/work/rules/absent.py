"""Locks of absent people: an officer and a second person, after two checks, and one that stays open.

29 CFR 1910.147(e)(3): verify that they are not at the facility, make every reasonable effort to reach them,
and make sure that they know before they resume work.
"""

from __future__ import annotations

from collections.abc import Iterator

from . import commands as c
from . import events as e
from .against import is_signed_on, lacks_role, name_of, phase_is_not, says_too_little, the_permit
from .refusal import Unmet, refuse_if
from .restoring import is_last, stays_on
from .state import Permit, Site
from .whom import NOTHING_LEFT, OVER_THERE, page_of
from .words import AT_WORK, BOX, Lock, Phase


def take_off(site: Site, ask: c.TakeOffForAbsent) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_taking_off(site, p, ask))
    signed, second_signed = c.SIGNED[c.TakeOffForAbsent], c.SECOND_SIGNED[c.TakeOffForAbsent]
    if ask.where == BOX:
        on = next(s for s in p.signed_on if s.person == ask.owner)
        return [
            e.AbsentSignedOff(
                permit=p.id, by=ask.by, at=ask.at, owner=ask.owner, padlock=on.padlock, second=ask.second,
                not_on_site=ask.not_on_site.strip(), tried=ask.tried.strip(), searched=ask.searched.strip(),
                signed=signed, second_signed=second_signed,
            )
        ]  # fmt: skip
    events: list[e.Event] = [
        e.AbsentLockRemoved(
            permit=p.id, by=ask.by, at=ask.at, point=ask.where, padlock=lock.padlock, owner=ask.owner,
            second=ask.second, not_on_site=ask.not_on_site.strip(), tried=ask.tried.strip(), signed=signed,
            second_signed=second_signed,
        )
        for lock in locks_of(p, ask.owner, ask.where)
    ]  # fmt: skip
    if ask.where in p.released and is_last(p, ask.where, ask.owner):
        events.append(e.ReleaseUndone(permit=p.id, by=ask.by, at=ask.at, point=ask.where))
    return events


def locks_of(p: Permit, owner: str, point: str) -> list[Lock]:
    return [lock for lock in p.hanging if lock.owner == owner and lock.where == point]


def against_taking_off(site: Site, p: Permit, ask: c.TakeOffForAbsent) -> Iterator[Unmet]:
    yield from lacks_role(site, ask.by, "officer", to="take an absent person's lock off")
    yield from phase_is_not(site, p, *AT_WORK, Phase.RESTORING, asked="taking an absent person's lock off")
    if ask.by == ask.owner:
        yield Unmet(
            "own-lock",
            "It is your own lock; you are not absent.",
            f"You take it off as its owner, {page_of(p)}.",
        )
    if ask.second not in site.people or ask.second in (ask.by, ask.owner):
        yield Unmet(
            "no-second-person",
            "A second person takes part, neither the officer nor the lock's owner.",
            "You name someone else of this site, who signs on this page as well.",
        )
    for text, missing, write in (
        (
            ask.not_on_site,
            "how it was found that they are not on site",
            "what the gate says and where you looked",
        ),
        (ask.tried, "how they were sought", "how you called them, and whom else you asked"),
    ):
        yield from says_too_little(text, f"It is not said {missing}.", write)
    if ask.where == BOX:
        yield from against_signing_off(site, p, ask)
    else:
        yield from against_taking_from_point(site, p, ask)


def against_signing_off(site: Site, p: Permit, ask: c.TakeOffForAbsent) -> Iterator[Unmet]:
    if not is_signed_on(p, ask.owner):
        yield Unmet(
            "not-on", f"{site.name(ask.owner)} is not signed on under {p.id}.", NOTHING_LEFT
        )
    zones = ", ".join(site.graph.name(z) for z in p.zones if z in site.graph.nodes)
    yield from says_too_little(
        ask.searched, f"It is not said that {zones} were searched.", "who searched every zone, and when"
    )


def against_taking_from_point(site: Site, p: Permit, ask: c.TakeOffForAbsent) -> Iterator[Unmet]:
    if not locks_of(p, ask.owner, ask.where):
        yield Unmet(
            "no-such-lock",
            f"No lock of {site.name(ask.owner)} hangs on {name_of(site, ask.where)} for {p.id}.",
            "You choose from the locks that hang, on this page.",
        )
    for permit in site.open:
        if is_signed_on(permit, ask.owner):
            yield Unmet(
                "owner-signed-on",
                f"{site.name(ask.owner)} is signed on under {permit.id}.",
                f"{site.name(ask.owner)} comes out and signs off, {page_of(permit)}; or the zones are "
                "searched and an officer takes their padlock off the box first.",
            )
    yield from stays_on(site, p, ask.owner, (ask.where,))


def tell_returned(site: Site, ask: c.TellReturned) -> list[e.Event]:
    def against() -> Iterator[Unmet]:
        yield from lacks_role(site, ask.by, "officer", "issuer", to="record that someone was told")
        if ask.person not in site.untold:
            yield Unmet(
                "nothing-to-tell",
                f"Nothing is to be told to {site.name(ask.person)}.",
                NOTHING_LEFT,
            )
        if ask.by == ask.person:
            yield Unmet(
                "told-oneself",
                "Nobody records it for themselves.",
                "Another officer or issuer records it, "
                f"{OVER_THERE}: {site.holders_of('officer', 'issuer', but=ask.by)}.",
            )
        yield from says_too_little(ask.how, "It is not said how they were told.", "how, in a few words")

    refuse_if(against())
    return [e.ReturnedTold(permit="", by=ask.by, at=ask.at, person=ask.person, how=ask.how.strip())]
