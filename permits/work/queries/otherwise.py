"""What goes otherwise with a permit, in words: what held it up, who takes it over, who was told."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from permits.work.queries.look import Look
from permits.work.rules import state
from permits.work.rules.against import not_authorised
from permits.work.rules.held_up import in_words, who_lifts
from permits.work.rules.on_paper import not_on_paper as paper_is_off
from permits.work.rules.out_of_use import what_is_open
from permits.work.rules.refusal import Refused
from permits.work.rules.restoring import held_by_others
from permits.work.rules.words import AT_WORK, Halt, HaltKind, OutOfUse, Phase, Stage


@dataclass(frozen=True, slots=True)
class HeldUp:
    """A stop, a suspension or an emergency: who, when and why; `then`: how it was lifted, or who can."""

    what: str
    then: str
    is_on: bool


def held_up(site: state.Site, p: state.Permit) -> list[HeldUp]:
    """All that holds the permit up, or did, the latest first."""
    own = [halt_line(site, p, halt) for halt in reversed(p.halts)]
    emergency = site.emergency
    if emergency is None or p.phase.is_over or any(h.kind is HaltKind.EMERGENCY for h in p.halted):
        return own
    since = Halt(HaltKind.EMERGENCY, emergency.by, emergency.at, emergency.why)
    return [halt_line(site, p, since), *own]


def may_no_longer(site: state.Site, p: state.Permit, at: datetime) -> list[str]:
    """Of people inside whose authorisation or host is over meanwhile: why, in sentences."""
    why = [no for on in p.signed_on for no in not_authorised(site, on.person, p, at)]
    return [no.what for no in why if no.code != "zone-of-no-machine"]  # the plant's matter, not theirs


def halt_line(site: state.Site, p: state.Permit, halt: Halt) -> HeldUp:
    said = in_words(site, halt)
    what = f"{said[0].upper()}{said[1:]}."
    if halt.lifted_at is None:
        return HeldUp(what, "" if p.phase.is_over else who_lifts(site, p), not p.phase.is_over)
    how = halt.how_lifted.rstrip(".")
    return HeldUp(
        what, f"Lifted by {site.name(halt.lifted_by)} at {site.clock(halt.lifted_at)}: {how}.", False
    )


def not_on_paper(seen: Look) -> Refused:
    """Why nothing can be entered late now, and who can change that."""
    return Refused([paper_is_off(seen.site)], "enter what happened on paper")


def handover(site: state.Site, p: state.Permit) -> str:
    """To whom the permit passes, and what is awaited; "" where it stays where it is."""
    if not p.next_holder or p.phase.is_over:
        return ""
    then, now = site.name(p.next_holder), site.name(p.holder)
    if p.holder_gone:
        return f"{now} is absent. An officer named {then} the new holder, who takes it over by signing."
    return (
        f"{now} hands it over to {then}, who signs once their own locks hang beside. "
        f"Until then it is {now}'s."
    )


@dataclass(frozen=True, slots=True)
class NoticeLine:
    """A notice to affected people. `acknowledged`: the names of those who said that it reached them."""

    what: str
    how: str
    acknowledged: str


ABOUT = {Stage.BEFORE: "of the lockout", Stage.AFTER: "that the machine starts again"}


def notices(site: state.Site, p: state.Permit) -> list[NoticeLine]:
    return [
        NoticeLine(
            what=f"{notice.whom}{', also of the tests' if notice.covers_tests else ''}",
            how=f"{notice.how}: {site.name(notice.by)} at {site.clock(notice.at)}, {ABOUT[notice.stage]}",
            acknowledged=", ".join(site.name(a.person) for a in p.acknowledgements if a.notice == n),
        )
        for n, notice in enumerate(p.notices)
    ]


def to_be_told(site: state.Site, p: state.Permit) -> Iterator[str]:
    """People of this permit who are not told yet that their lock was taken off in their absence."""
    if p.phase.is_over:
        return
    for person, permits in site.untold.items():
        if p.id in permits or p.works_under_it(person):
            yield (
                f"{site.name(person)} is not told yet that their lock was taken off for "
                f"{', '.join(permits)}; before they resume work, "
                f"{site.holders_of('officer', 'issuer')} tells them."
            )


def service(site: state.Site, p: state.Permit) -> str:
    """Is the machine back in service? Several permits on one machine: only when the last of them ends."""
    others = held_by_others(site, p)
    if p.reenergised_at is not None or p.phase is Phase.CLOSED:
        if others:
            return f"not in service until {' and '.join(others)} {'end' if others[1:] else 'ends'}"
        out = [site.out_of_use[m] for m in site.machines_of(p.zones) if m in site.out_of_use]
        if out:
            return f"out of use: {', '.join(map(not_proven, out))}"
        return "" if p.in_service else "in service again: no open permit holds it now"
    if p.phase in (*AT_WORK, Phase.RESTORING) and others:
        holding = [one.id for one in site.open if one.id in (p.id, *others)]
        return f"in service only when the last of {', '.join(holding)} ends"
    return ""


def not_proven(one: OutOfUse) -> str:
    left = what_is_open(one)
    return f"{one.machine} not proven ({left})" if left else f"{one.machine} not proven"
