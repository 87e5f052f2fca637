"""One permit's page: its state, the next step, its points, people and areas."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from permits.work.queries.look import Look, day_and_clock, zone_names
from permits.work.queries.otherwise import (
    HeldUp,
    NoticeLine,
    handover,
    held_up,
    may_no_longer,
    notices,
    service,
    to_be_told,
)
from permits.work.queries.states import AreaLine, PointLine, area_lines, badge, point_line, steps_of
from permits.work.rules import state
from permits.work.rules.against import name_of
from permits.work.rules.choices import Choice, choices
from permits.work.rules.closing import still_open
from permits.work.rules.issuing import clashes
from permits.work.rules.next_step import next_step
from permits.work.rules.proving import machines_to_verify
from permits.work.rules.refusal import Unmet
from permits.work.rules.step import Step
from permits.work.rules.words import CHECK_ITEMS, Sanction

NOTHING = Step("", "Nothing for you to do here")


@dataclass(frozen=True, slots=True)
class PermitPage:
    """Everything that a permit's page shows, in names."""

    id: str
    state: str
    word: str
    say: str
    work: str
    zones: str
    machines: str
    steps: list[tuple[str, str]]
    next: Step
    choices: tuple[Choice, ...]
    points: list[PointLine]
    facts: list[tuple[str, str]]
    crew: list[tuple[str, str, str, datetime]]  # name, whose contractor and guest, padlock, since when
    defects: list[str]
    areas: list[AreaLine]
    clashes: list[Unmet]
    still_open: list[str]
    stopped_path: tuple[str, ...]
    people_inside: list[str]
    may_no_longer: list[str]  # why somebody inside could not go in again, in sentences
    sanction_until: datetime | None
    sanction_text: str
    ends_at: datetime
    held_up: list[HeldUp]
    is_held_up: bool
    handover: str
    notices: list[NoticeLine]
    to_be_told: list[str]
    is_over: bool
    at: datetime


def permit_page(seen: Look, person: str) -> PermitPage:
    """The page as this person sees it; nothing is read from the database."""
    site, p, at = seen.site, seen.permit, seen.at
    shape, word = badge(p)
    inside = [seen.name(on.person) for on in p.signed_on]
    sanction, known = p.sanction, person in site.people
    return PermitPage(
        id=p.id,
        state=shape,
        word=word,
        say=why_not_proven(p) or (f"Inside: {', '.join(inside)}" if inside else ""),
        work=f"{p.kind_of_work}: {p.reason}",
        zones=zone_names(site, p.zones),
        machines=", ".join(site.machines_of(p.zones)),
        steps=steps_of(p),
        next=next_step(site, p, person, at) if known else NOTHING,
        choices=choices(site, p, person, at) if known and not p.phase.is_over else (),
        points=[point_line(site, p, point, at) for point in p.points],
        facts=facts_of(seen),
        crew=[
            (seen.name(on.person), seen.hosting(on.person), on.padlock, on.on_at) for on in p.signed_on
        ],
        defects=[f"{dict(CHECK_ITEMS).get(d.item, d.item)}: {d.what}" for _, d in p.open_defects],
        areas=list(area_lines(site, p, at)),
        clashes=[] if p.phase.is_over else list(clashes(site, p)),
        still_open=[unmet.what for unmet in still_open(site, p)],
        stopped_path=p.stopped_path,
        people_inside=inside if shape == "unsafe" else [],
        may_no_longer=may_no_longer(site, p, at),
        sanction_until=sanction.until if sanction else None,
        sanction_text=sanction_text(site, sanction) if sanction else "",
        ends_at=p.ends_at,
        held_up=held_up(site, p),
        is_held_up=bool(p.halted) and not p.phase.is_over,
        handover=handover(site, p),
        notices=notices(site, p),
        to_be_told=list(to_be_told(site, p)),
        is_over=p.phase.is_over,
        at=at,
    )


def why_not_proven(p: state.Permit) -> str:
    """What holds it up now, the latest of several; or why isolation was lost; "" where neither is so."""
    if p.halted and not p.phase.is_over:
        return p.halted[-1].why
    return f"The proof was lost: {p.stopped_because}" if p.stopped_because else ""


def sanction_text(site: state.Site, sanction: Sanction) -> str:
    points = ", ".join(name_of(site, point) for point in sanction.points)
    cycles = (
        f"Cycle {sanction.cycle} of {sanction.cycles}" if sanction.cycle else f"Cycles: {sanction.cycles}"
    )
    return f"{cycles}. {sanction.limits.rstrip('.')}. Points: {points}."


def facts_of(seen: Look) -> list[tuple[str, str]]:
    site, p = seen.site, seen.permit
    facts = [
        ("Asked for by", seen.name(p.requested_by)),
        ("Issuer", seen.name(p.issuer)),
        ("Holder", seen.named(p.holder)),
        ("Crew", ", ".join(seen.named(person) for person in p.crew_named)),
        ("From", day_and_clock(site, p.starts_at)),
        ("Until", day_and_clock(site, p.ends_at)),
        ("Procedure", ", ".join(f"{machine} revision {revision}" for machine, revision in p.procedures)),
    ]
    if p.keep_live:
        facts.append(("Stays live", zone_names(site, p.keep_live)))
    if p.coordinator:
        facts.append(("Coordinator", seen.name(p.coordinator)))
    if p.own_issue:
        facts.append(("Exception", "issuer and holder are one person"))
    if standing := service(site, p):
        facts.append(("Machine", standing))
    if not p.proven_cheapest:
        facts.append(("Plan", "not proven cheapest"))
    return facts


def next_point(seen: Look, person: str) -> str:
    """The point at which this person's next step is; "" where it is at none."""
    return next_step(seen.site, seen.permit, person, seen.at).point if person in seen.site.people else ""


def machines_to_test(seen: Look) -> tuple[str, ...]:
    """The machines whose points the permit's plan names ("" for points of no machine)."""
    return machines_to_verify(seen.site, seen.permit)
