"""Paper mode: printed forms carried on while the server was down; two people enter it late."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta

from . import commands as c
from . import events as e
from .against import lacks_role, says_too_little, the_permit
from .refusal import Unmet, refuse_if
from .state import Permit, Site
from .whom import NOTHING_LEFT, OVER_THERE, comes_out, looks_inside, page_of
from .words import AT_WORK, Phase

TIME_ON_THE_FORM = "You enter the time that stands on the form, on this page."
WHEN_IT_WENT_DOWN = "You enter when the server went down, on this page."
LONGEST = timedelta(days=7)  # site policy: a plant that is longer without its server begins new permits


def declare(site: Site, ask: c.DeclarePaper) -> list[e.Event]:
    def against() -> Iterator[Unmet]:
        yield from lacks_role(site, ask.by, "officer", to="declare paper mode")
        if site.paper is not None:
            yield Unmet(
                "paper-already",
                f"Paper mode is declared since {site.clock(site.paper.at)}.",
                NOTHING_LEFT,
            )
        if ask.since > ask.at:
            yield Unmet(
                "not-yet", "Paper mode would begin in the future.", WHEN_IT_WENT_DOWN
            )
        if ask.since < ask.at - LONGEST:
            yield Unmet(
                "too-long-ago",
                f"Paper mode would begin at {site.clock(ask.since)}, more than {LONGEST.days} days ago.",
                WHEN_IT_WENT_DOWN,
            )
        yield from says_too_little(ask.why, "The reason is empty.", "what failed, in a few words")

    refuse_if(against())
    return [e.PaperDeclared(permit="", by=ask.by, at=ask.at, since=ask.since, why=ask.why.strip())]


def end(site: Site, ask: c.EndPaper) -> list[e.Event]:
    def against() -> Iterator[Unmet]:
        yield from lacks_role(site, ask.by, "officer", to="end paper mode")
        if site.paper is None:
            yield Unmet("not-on-paper", "Paper mode is not declared.", NOTHING_LEFT)
        yield from says_too_little(
            ask.how,
            "It is not said how the forms were entered.",
            "which forms, and where they are kept",
        )
        if not ask.all_inside_signed_on:
            yield Unmet(
                "inside-on-paper",
                "It is not confirmed that nobody is in a zone who is not signed on here.",
                "Whoever went in on paper comes out, and signs on here when they go in again; then you "
                "confirm it on this page.",
            )

    refuse_if(against())
    signed = c.SIGNED[c.EndPaper]
    ended = e.PaperEnded(permit="", by=ask.by, at=ask.at, how=ask.how.strip(), signed=signed)
    return [ended, *proven_anew(site, ask)]


def proven_anew(site: Site, ask: c.EndPaper) -> Iterator[e.Event]:
    """Nothing here knows of a test under power on paper, nor who walked in: tests and confirmations are void.

    But where people are signed on, who were inside all the while, their tests stand: nobody freed a point
    over their padlocks.
    """
    why = "the site was on paper, and a test under power may have come between"
    for p in site.open:
        if areas := tuple(dict.fromkeys(s.area for s in p.confirmations if s.void_at is None)):
            yield e.ConfirmationsVoided(permit=p.id, by=ask.by, at=ask.at, areas=areas)
        if p.phase not in AT_WORK or p.signed_on:
            continue
        for point in p.points:
            test = p.verification(point)
            if test is not None and test.void_at is None:
                yield e.VerificationVoided(permit=p.id, by=ask.by, at=ask.at, point=point, why=why)


def enter(
    site: Site, ask: c.EnterLate, dispatch: Callable[[Site, c.Command], list[e.Event]]
) -> list[e.Event]:
    """The paper's event, decided as if it were asked for now, behind an entry that says whose word it is.

    It counts from now: what the ledger learns late can't have protected anyone in between.
    """
    p = the_permit(site, ask.permit)
    refuse_if(against_entering(site, ask))
    asked = replace(ask.what, permit=p.id, at=ask.at)
    happened = dispatch(site, asked)
    return [
        e.LateEntered(
            permit=p.id,
            by=ask.by,
            at=ask.at,
            what=type(asked).__name__,
            happened_at=ask.happened_at,
            second=ask.second,
            form=ask.form.strip(),
            entries=len(happened),
            signed=c.SIGNED[c.EnterLate],
            second_signed=c.SECOND_SIGNED[c.EnterLate],
        ),
        *happened,
    ]


def not_so_late(site: Site, p: Permit, ask: c.EnterLate) -> Iterator[Unmet]:
    """What the order of things forbids: a lock off before it was on, a word of starting too early."""
    if ask.happened_at < p.requested_at:
        yield Unmet(
            "before-the-permit",
            f"{p.id} was asked for at {site.clock(p.requested_at)}, after {site.clock(ask.happened_at)}.",
            TIME_ON_THE_FORM,
        )
    if isinstance(ask.what, c.RemoveLocks):
        points, owner = ask.what.points, ask.what.by
        for lock in (k for k in p.hanging if k.where in points and k.owner == owner):
            if ask.happened_at < lock.applied_at:
                yield Unmet(
                    "before-it-hung",
                    f"Padlock {lock.padlock} went on at {site.clock(lock.applied_at)}; "
                    f"it did not come off at {site.clock(ask.happened_at)}.",
                    TIME_ON_THE_FORM,
                )
    for on in p.signed_on:
        left = isinstance(ask.what, c.SignOffCrew) and ask.what.by == on.person
        if left and ask.happened_at < on.on_at:
            yield Unmet(
                "before-they-went-in",
                f"{site.name(on.person)} signed on at {site.clock(on.on_at)}, "
                f"and did not come out at {site.clock(ask.happened_at)}.",
                f"{TIME_ON_THE_FORM} But if they are inside: {comes_out(site, p, on)}",
            )
    if isinstance(ask.what, c.RecordMachineCheck) and any(halt.at >= ask.happened_at for halt in p.halts):
        yield Unmet(
            "check-again",
            f"{p.id} was held up after that check; the machine is looked at again.",
            looks_inside(site, p, "the check now"),
        )
    if isinstance(ask.what, c.TellAffected) and p.phase is Phase.RESTORING:
        yield Unmet(
            "tell-again-now",
            "That the machine starts is told again now: what was said on paper may have been too early.",
            f"You tell them now, and record it as you do, {page_of(p)}.",
        )


def against_entering(site: Site, ask: c.EnterLate) -> Iterator[Unmet]:
    yield from lacks_role(site, ask.by, "officer", "issuer", "technician", to="enter what happened on paper")
    if ask.second not in site.people or ask.second == ask.by:
        yield Unmet(
            "no-second-person",
            "Two people vouch for what is entered late.",
            "You name a second person of this site, who signs on this page as well.",
        )
    if ask.what.by not in site.people:
        yield Unmet(
            "no-such-person",
            f"{ask.what.by} is not known at this site.",
            "You name the person who did it, on this page.",
        )
    yield from not_so_late(site, site.permits[ask.permit], ask)
    yield from says_too_little(ask.form, "The printed form is not named.", "the number that stands on it")
    if site.paper is None:
        yield not_on_paper(site)
    elif not site.paper.at <= ask.happened_at <= ask.at:
        yield Unmet(
            "not-in-paper-time",
            f"The site was on paper from {site.clock(site.paper.at)} until now, not at "
            f"{site.clock(ask.happened_at)}.",
            TIME_ON_THE_FORM,
        )


def not_on_paper(site: Site) -> Unmet:
    return Unmet(
        "not-on-paper",
        "Paper mode is not declared: what happens now is entered when it happens.",
        f"An officer declares it, {OVER_THERE}: {site.holders_of('officer')}.",
    )
