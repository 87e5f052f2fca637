"""The board of open permits, and the permits that concern one person."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from permits.people.models import Site
from permits.work.queries.look import settled, zone_names
from permits.work.queries.otherwise import held_up, may_no_longer, service
from permits.work.queries.states import AreaLine, area_lines, badge
from permits.work.rules import state
from permits.work.rules.in_service import not_in_service_beside
from permits.work.rules.next_step import next_step
from permits.work.rules.step import Step

URGENCY = ("unsafe", "live", "unproven", "dead", "info", "over")


@dataclass(frozen=True, slots=True)
class BoardRow:
    """One open permit: most urgent first."""

    id: str
    state: str
    word: str
    work: str
    zones: str
    holder: str
    in_charge: str
    inside: list[str]
    next: str
    ends_at: datetime
    expired: bool
    areas: list[AreaLine]
    stopped_because: str
    held_up: list[str]  # who, when and why, of what holds it up now
    may_no_longer: list[str]  # why somebody inside could not go in again
    service: str  # of a machine that several permits hold


def board(site: Site, *, at: datetime) -> list[BoardRow]:
    """Open permits, most urgent first; the number of queries does not grow with the number of permits."""
    return board_of(settled(site, at), at)


def board_of(now: state.Site, at: datetime) -> list[BoardRow]:
    """The board of a site that is loaded: no query."""
    lines = [board_row(now, p, at) for p in now.open]
    return sorted(lines, key=lambda row: (URGENCY.index(row.state), row.ends_at))


def out_of_service(now: state.Site) -> list[str]:
    """Machines out of use, and those that a permit on another machine keeps out of service, in sentences."""
    return [why for reasons in not_in_service_beside(now).values() for why in reasons]


def board_row(now: state.Site, p: state.Permit, at: datetime) -> BoardRow:
    shape, word = badge(p)
    in_charge = p.holder or p.requested_by
    return BoardRow(
        id=p.id,
        state=shape,
        word=word,
        work=p.kind_of_work,
        zones=zone_names(now, p.zones),
        holder=now.name(in_charge),
        in_charge=f"Holder: {now.name(p.holder)}" if p.holder else f"Asked for by {now.name(p.requested_by)}",
        inside=[now.name(on.person) for on in p.signed_on],
        next=next_step(now, p, in_charge, at).title if in_charge in now.people else "",
        ends_at=p.ends_at,
        expired=p.expired_at is not None or at >= p.ends_at,
        areas=list(area_lines(now, p, at)),
        stopped_because=p.stopped_because,
        held_up=[one.what for one in held_up(now, p) if one.is_on],
        may_no_longer=may_no_longer(now, p, at),
        service=service(now, p),
    )


def mine(site: Site, person: str, at: datetime) -> list[tuple[BoardRow, Step]]:
    """Open permits that concern this person, with their next step; those they can act on come first."""
    now = settled(site, at)
    if person not in now.people:
        return []
    found = []
    for p in now.open:
        step = next_step(now, p, person, at)
        concerned = p.works_under_it(person) or person in (p.requested_by, p.issuer, p.coordinator)
        if concerned or step.action:
            found.append((board_row(now, p, at), step))
    return sorted(found, key=lambda pair: (not pair[1].action, URGENCY.index(pair[0].state)))
