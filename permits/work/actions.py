"""The one way to change a permit: load, settle what fell due, ask the rules, write entries and rows."""

from __future__ import annotations

import dataclasses
import logging
from collections.abc import Iterable
from contextlib import suppress
from datetime import datetime, timedelta

from permits.ledger.models import Head
from permits.ledger.pen import (
    CLOCK,
    AlreadyDone,
    Author,
    Key,
    NothingWritten,
    Pen,
    SentOtherwise,
    writing,
)
from permits.people.inside import hold
from permits.people.models import Person, Site
from permits.plant.rules.energy import Graph
from permits.work import store
from permits.work.happened import happened_since
from permits.work.models import SitePolicy
from permits.work.plant_news import plant_news_since
from permits.work.rules import commands, events, policy, state
from permits.work.rules.clock_behind import how_far, is_behind, refuse_while_behind
from permits.work.rules.decide import decide
from permits.work.rules.due import due, plant_changed
from permits.work.rules.evolve import fold
from permits.work.rules.moved_on import News, refuse_if_moved_on
from permits.work.rules.refusal import Refused, refuse_if
from permits.work.rules.words import Declared, Halt, HaltKind, Policy
from permits.work.rules.written import WHOLE_SITE, kind_of, to_data
from permits.work.telling import tell

logger = logging.getLogger("permits.clock")

HOLDS_UP = (commands.StopWork, commands.SuspendPermit, commands.DeclareEmergency)
"""What no used key may stand in the way of: whoever asks for it is told it is so only while it is."""


def perform(
    *,
    site: Site,
    command: commands.Command,
    by: Author,
    key: Key | None = None,
    seen: int | None = None,
) -> list[events.Event]:
    """Carry out one command in its own transaction and return what happened.

    `by` is who acts, and on whose device. `key` makes a repeated request count once (then nothing happens
    and the list is empty); what holds work up happens again where it no longer does. `seen` is the last entry
    of the site that the person's page could show, read before what it shows; None where no page was shown.
    Raises SentOtherwise where another request was carried out under the key, Refused with every unmet
    condition, PageStale where something happened since that the command cannot stand beside; nothing has
    changed then, except that what fell due before is written. While the clock is behind the ledger's last
    entry only what makes things safer is carried out.
    """
    late = False
    try:
        with writing(site.head_id, by=by, at=command.at, key=key) as pen:
            first = pen.next_number
            try:
                return apply(pen, site, command, seen=seen)
            finally:
                late = pen.next_number > first
    except (AlreadyDone, SentOtherwise) as used:
        if isinstance(command, HOLDS_UP):
            holds = still_holds(store.load(site), command)
            return [] if holds else perform(site=site, command=command, by=by)
        if isinstance(used, SentOtherwise):
            raise
        return []
    except Refused:
        if late:  # what fell due is kept, but under no key: sent again, the request must be refused again
            settle_site(site=site, at=command.at)
        raise


def still_holds(
    now: state.Site, ask: commands.StopWork | commands.SuspendPermit | commands.DeclareEmergency
) -> bool:
    """Is it so already, by this person and for the reason that they give, if they give one?"""
    there = now.permits.get(ask.permit)
    standing: list[Halt | Declared] = []
    if isinstance(ask, commands.DeclareEmergency):
        standing += [now.emergency] if now.emergency else []
    elif there:
        kind = HaltKind.STOP if isinstance(ask, commands.StopWork) else HaltKind.SUSPENSION
        standing += [halt for halt in there.halted if halt.kind is kind]
    why = ask.why.strip()
    return any(one.by == ask.by and (not why or one.why == why) for one in standing)


def apply(pen: Pen, site: Site, command: commands.Command, *, seen: int | None = None) -> list[events.Event]:
    """Carry out a command inside an action that holds the pen; it writes entries and rows, closes nothing.

    `seen` goes with the first command of an action alone: what the action itself wrote is no
    news to the page.
    """
    refuse_by_clock(pen, site, command)
    if isinstance(command, commands.SignOnCrew):
        hold(command.by)  # who is inside is not disabled, at this site or another
    now = settle(pen, site)
    command = dataclasses.replace(command, at=pen.at)
    happened = decided(now, command, () if seen is None else news_since(site, now, command, seen))
    record(pen, site, now, happened)
    return happened


def news_since(site: Site, now: state.Site, command: commands.Command, seen: int) -> tuple[News, ...]:
    """What the command's page could not know: of its permit, and of the plant that it shows; in order."""
    found = (*happened_since(site, command, seen), *plant_news_since(site, now, command, seen))
    return tuple(sorted(found, key=lambda news: news.at))


def refuse_by_clock(pen: Pen, site: Site, command: commands.Command | None = None) -> None:
    """Raise Refused for what no clock can be asked about now: it is behind the ledger's last entry."""
    warn_of_clock(site, pen.behind)
    refuse_while_behind(pen.behind, command)


def warn_of_clock(site: Site, behind: timedelta) -> None:
    if is_behind(behind):
        logger.warning("site %s: the clock is %s behind the ledger's last entry", site.code, how_far(behind))


def decided(
    now: state.Site, command: commands.Command, since: tuple[News, ...]
) -> list[events.Event]:
    """What the command makes happen; or one refusal, for what its page did not show and what is unmet."""
    try:
        happened = decide(now, command)
    except Refused as refused:
        refuse_if_moved_on(now, command, since, besides=refused.unmet)
        raise
    refuse_if_moved_on(now, command, since)
    return happened


def settle(pen: Pen, site: Site) -> state.Site:
    """Write what fell due by the pen's time, each with its due time, and return the settled state."""
    now = store.load(site)
    late = due(now, pen.at)
    return record(pen, site, now, late) if late else now


def settle_site(*, site: Site, at: datetime) -> int:
    """Write what fell due, without any command: the job of each minute. Returns how many entries it wrote."""
    if (last := Head.objects.values_list("last_at", flat=True).get(pk=site.head_id)) is not None:
        warn_of_clock(site, last - at)
    if not due(store.load(site), at):
        return 0
    with suppress(NothingWritten), writing(site.head_id, by=CLOCK, at=at) as pen:
        first = pen.next_number
        settle(pen, site)
        return pen.next_number - first
    return 0  # another request wrote it first


def record(pen: Pen, site: Site, before: state.Site, happened: Iterable[events.Event]) -> state.Site:
    """One ledger entry per event, then the rows, then the messages to whom it concerns.

    The state afterwards has the entries' own times.
    """
    author, written, last = pen.by, [], {}
    numbers: list[int] = []
    for event in map(with_second_digest, happened):
        pen.by = author_of(event, author)
        about = f"permit:{event.permit}" if event.permit else WHOLE_SITE
        entry = pen.write(kind_of(event), about, to_data(event), at=event.at)
        written.append(dataclasses.replace(event, at=entry.at))
        numbers.append(entry.number)
        if event.permit:
            last[event.permit] = entry.number
    pen.by = author
    after = fold(before, written)
    store.save(site, before, after, last)
    tell(site, before, written, numbers)
    return after


def author_of(event: events.Event, asking: Author) -> Author:
    """Who an event is of: whoever asked; the clock; or, of what is entered late, the person who did it."""
    if not event.by:
        return CLOCK
    if asking.ref == f"person:{event.by}":
        return asking
    return Person.objects.get(ref=event.by).author


def with_second_digest(event: events.Event) -> events.Event:
    """An event that two sign, bound to the second person's name as its entry is to the first's."""
    if not isinstance(event, events.SignedByTwo):
        return event
    return dataclasses.replace(event, second_digest=Person.objects.get(ref=event.second).author.digest)


def plant_has_changed(pen: Pen, site: Site, graph: Graph) -> None:
    """Asked by the plant room in the transaction that changes the graph: stop the permits it exposes."""
    before = dataclasses.replace(store.load(site), graph=graph)
    by = pen.by.ref.removeprefix("person:") if pen.by.ref.startswith("person:") else ""
    stops = plant_changed(before, pen.at, by)
    if stops:
        record(pen, site, before, stops)


def carries_locks(site: Site, codes: Iterable[str]) -> list[str]:
    """Why these nodes cannot leave the plant: a lock hangs there, or an open permit names them."""
    now = store.load(site)
    reasons: list[str] = []
    for code in codes:
        for permit, lock in now.locks_on(code):
            reasons.append(
                f"{now.name(lock.owner)}'s padlock {lock.padlock} hangs on {code} for permit {permit.id}."
            )
        for permit in now.permits.values():
            if code in permit.points or code in permit.zones or code in permit.keep_live:
                reasons.append(f"Open permit {permit.id} names {code}.")
    return reasons


def set_policy(
    *,
    site: Site,
    chosen: Policy,
    shown: Policy | None = None,
    by: Author,
    at: datetime,
    key: Key | None = None,
) -> None:
    """Change the site's own numbers: one entry, with all of them before and after. In force at once.

    `shown` is what the officer's page showed; `key` makes a repeated request count once. Raises Refused where
    a number is out of its range, nothing changes, another officer changed them since the page was shown, or
    the clock is behind the ledger's last entry.
    """
    with suppress(AlreadyDone), writing(site.head_id, by=by, at=at, key=key) as pen:
        refuse_by_clock(pen, site)
        before = store.policy_of(site)
        refuse_if(policy.against_changing(before, chosen, shown))
        settle(pen, site)  # what fell due before now fell due under the numbers that were in force then
        SitePolicy.objects.update_or_create(site=site, defaults=policy.as_data(chosen))
        data = {"before": policy.as_data(before), "after": policy.as_data(chosen)}
        pen.write(policy.CHANGED, WHOLE_SITE, data)
