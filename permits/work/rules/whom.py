"""Who can meet a condition, and where: what refusals say of people and places, each phrase once."""

from __future__ import annotations

from collections.abc import Iterable

from .state import Permit, Site
from .words import AT_WORK, Lock, Phase, SignOn

NAMED_AT_MOST = 3

# Said to whoever asked: they meet it themselves, on the page that refuses.
NOTHING_LEFT = "You have nothing left to do here."
FROM_THE_LIST = "You choose from the list, on this page."
ANOTHER_PERSON = "You choose another person, on this page."
LEAVE_OUT = "You leave it out, on this page."
LATER_END = "You choose a later end, on this page."
EARLIER_END = "You choose an earlier end, on this page."
LOOK_AND_CONFIRM = "You look, then confirm it on this page."
OVER_THERE = "under “The whole site”"


# ── where ───────────────────────────────────────────────────────────────────────────────────────────────


def spot(site: Site, id: str) -> str:
    """A point by its designation, an area by its name, and where it is: "=L3+H3-QB1 (Board 3)"."""
    node = site.graph.nodes.get(id)
    if node is None:
        return id
    called = node.designation if node.is_point and node.designation else node.name
    return f"{called} ({node.place})" if node.place else called


def spots(site: Site, points: Iterable[str]) -> str:
    return ", ".join(spot(site, point) for point in points)


def page_of(p: Permit) -> str:
    return f"on {p.id}'s page"


def job_of(permit: str) -> str:
    """The page of the permit's calibration job, by its title."""
    return f"under “Calibration job, {permit}”"


# ── who ─────────────────────────────────────────────────────────────────────────────────────────────────


def either(names: Iterable[str]) -> str:
    """ "Odo, Pia or Hal"."""
    *first, last = names
    return f"{', '.join(first)} or {last}" if first else last


def the_holder(site: Site, p: Permit) -> str:
    """By name; of a permit that is not issued, in words. Whoever is named for one who is gone comes first."""
    if p.holder_gone and p.next_holder:
        return f"{site.name(p.next_holder)}, once they have taken {p.id} over,"
    return site.name(p.holder) if p.holder else f"The holder of {p.id}, once an issuer names one,"


def the_crew(site: Site, p: Permit) -> str:
    """Whoever may lock, release, test and work under the permit, by name while they are few."""
    holder = "" if p.holder_gone else p.holder
    named = tuple(dict.fromkeys(one for one in (holder, p.next_holder, *p.crew_named) if one))
    if not named:
        return f"The crew of {p.id}, once an issuer names one,"
    if len(named) > NAMED_AT_MOST:
        return f"{site.name(named[0])} or anyone of the crew"
    return either(site.name(one) for one in named)


# ── who does what, where ────────────────────────────────────────────────────────────────────────────────


def comes_out(site: Site, p: Permit, on: SignOn) -> str:
    """The way out of someone who is signed on under the permit."""
    padlock = ", takes their padlock off the box" if on.padlock else ""
    return f"{site.name(on.person)} comes out{padlock} and signs off {page_of(p)}."


def signs_on(site: Site, person: str, p: Permit) -> str:
    return f"{site.name(person)} hangs their padlock on the box and signs on, {page_of(p)}."


def makes_safe(site: Site, p: Permit, point: str) -> str:
    """Of a point of the plan that is not held yet."""
    does = "releases" if point in p.plan_release and point not in p.released else "locks"
    return f"{the_crew(site, p)} {does} {spot(site, point)} first."


def comes_off_now(p: Permit, point: str) -> bool:
    """Is it this point's turn to lose what holds it: nobody is inside, and no work lies between?"""
    if p.signed_on:
        return False
    if p.phase is Phase.TESTING:
        return p.sanction is not None and point in p.sanction.points
    before_work = p.phase is Phase.ISOLATING and not p.ever_signed_on and not p.sanctions
    return p.phase is Phase.RESTORING or before_work


def takes_off(site: Site, p: Permit, lock: Lock) -> str:
    """Nobody is told to take a lock off before its time: a refusal is read at the switch."""
    if comes_off_now(p, lock.where):
        return f"{site.name(lock.owner)} takes it off {spot(site, lock.where)}."
    return (
        f"{site.name(lock.owner)} leaves it on {spot(site, lock.where)} until {p.id}'s next step says that "
        "it comes off."
    )


def take_theirs_off(site: Site, p: Permit, locks: Iterable[Lock]) -> str:
    """Each owner in a sentence, with every point that their locks come off, or not yet."""
    owned: dict[tuple[str, bool], dict[str, None]] = {}
    for lock in sorted(locks, key=lambda lock: site.name(lock.owner)):
        owned.setdefault((lock.owner, comes_off_now(p, lock.where)), {})[lock.where] = None
    return " ".join(
        f"{site.name(owner)} takes theirs off {spots(site, on)}."
        if now
        else f"{site.name(owner)} leaves theirs on {spots(site, on)} until {p.id}'s next step says otherwise."
        for (owner, now), on in owned.items()
    )


def takes_away(site: Site, p: Permit, point: str) -> str:
    """What holds a store released, as `takes_off`."""
    if comes_off_now(p, point):
        return f"{the_holder(site, p)} takes it away at {spot(site, point)}, and records it."
    return (
        f"{the_holder(site, p)} leaves it at {spot(site, point)} until {p.id}'s next step says that it "
        "comes off."
    )


def tells(site: Site, p: Permit) -> str:
    """Affected people are told, and it is recorded."""
    return f"{the_holder(site, p)} tells them, and records it {page_of(p)}."


def may_issue(site: Site, p: Permit, person: str) -> bool:
    """An issuer, and another person than the holder, unless the site allows one's own issue."""
    return "issuer" in site.roles_of(person) and (person != p.holder or site.policy.own_issue)


def issuers_for(site: Site, p: Permit) -> str:
    """By name, whoever `may_issue`."""
    return site.holders_of("issuer", but="" if site.policy.own_issue else p.holder)


def sanctions(site: Site, p: Permit, *, another: str = "one") -> str:
    return f"An issuer gives {another} {page_of(p)}: {issuers_for(site, p)}."


def looks_inside(site: Site, p: Permit, recording: str) -> str:
    """The machine check is for who is signed on; where nobody is, someone of the crew signs on for it."""
    does = f"looks and records {recording}"
    if p.signed_on:
        return f"{either(site.name(on.person) for on in p.signed_on)} {does}, {page_of(p)}."
    return f"{the_crew(site, p)} signs on, {does}, {page_of(p)}."


def goes_to_the_next(p: Permit) -> str:
    return f"You check the tag, and go to the point that {p.id}'s next step names."


def leads_to(site: Site, p: Permit, right: tuple[Phase, ...]) -> str:
    """Who takes the permit on from its phase to one of those in which a step is possible.

    Only where the step says where it leads: nobody is told to bring power back, or to isolate again, for a
    step that may as well be over already.
    """
    at_work = {*right} <= {*AT_WORK} and {*right} != {*AT_WORK}
    if p.phase is Phase.REQUESTED:
        does = f"An issuer issues it first, {page_of(p)}: {site.holders_of('issuer')}."
    elif p.phase is Phase.ISSUED and {*right} - {Phase.REQUESTED}:
        does = f"{the_holder(site, p)} accepts it first, {page_of(p)}."
    elif p.phase is Phase.ISOLATING and {*right} & {Phase.ISOLATED, Phase.TESTING}:
        does = f"{the_crew(site, p)} locks and tests every point of the plan first, {page_of(p)}."
    elif p.phase is Phase.ISOLATED and right == (Phase.TESTING,) and not p.signed_on:
        does = f"{the_holder(site, p)} begins a test cycle first, {page_of(p)}."
    elif p.phase in (Phase.TESTING, Phase.RESTORING) and at_work and right != (Phase.TESTING,):
        does = f"{the_crew(site, p)} isolates again first, {page_of(p)}."
    elif right == (Phase.RESTORING,):
        does = f"{the_holder(site, p)} hands the machine back first, {page_of(p)}."
    else:
        does = f"You go on with the next step of {p.id}, on its page."
    return does
