"""What stands on the printed form that carries on when the server is down, in names; nothing is written.

Filled in is what the ledger knows at the time of printing; all else are blanks for a hand.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import get_args
from zoneinfo import ZoneInfo

from permits.people.models import Site
from permits.plant import queries as plant
from permits.plant.models import Procedure
from permits.plant.rules.codes import shown
from permits.work.queries.look import Look, clock, day_and_clock, zone_names
from permits.work.queries.otherwise import handover, held_up
from permits.work.queries.paper_points import PaperPoint, PaperTest, hanging, paper_points, paper_tests
from permits.work.queries.permit import facts_of, sanction_text
from permits.work.queries.states import badge
from permits.work.rules import commands as c
from permits.work.rules import state
from permits.work.rules.clearing import areas_to_confirm
from permits.work.rules.out_of_use import defects_left
from permits.work.rules.proving import machines_to_verify
from permits.work.rules.words import CHECK_ITEMS, Phase, Stage

LATE: tuple[type[c.Ask], ...] = get_args(c.LateCommand)
"""What the server takes late from a form; all else is done again there, or not at all."""


@dataclass(frozen=True, slots=True)
class PaperCrew:
    """Someone who is signed on when the form is printed."""

    name: str
    padlock: str
    on_at: str


@dataclass(frozen=True, slots=True)
class PaperNotice:
    """Affected people who were told before the form was printed; `stage`: before the first lock or after."""

    stage: Stage
    whom: str
    how: str
    of_tests: bool
    by: str
    at: str


@dataclass(frozen=True, slots=True)
class PaperForm:
    """The whole form. `permit` is empty on one for a permit that begins on paper.

    `word`: the state in one word; `more`: sentences about it; `hanging`: (point, what hangs there);
    `machines`: those whose controls are tried; `checked`: how the machine check stood, and what earlier
    permits left for it, "" where neither is so; `before_issue`: issue and acceptance are still to come.
    """

    number: str
    site: str
    permit: str
    title: str
    facts: tuple[tuple[str, str], ...]
    printed_at: datetime
    entry: int
    word: str
    more: tuple[str, ...]
    hanging: tuple[tuple[str, str], ...]
    points: tuple[PaperPoint, ...]
    tests: tuple[PaperTest, ...]
    machines: tuple[str, ...]
    crew: tuple[PaperCrew, ...]
    notices: tuple[PaperNotice, ...]
    checks: tuple[str, ...]
    checked: str
    areas: tuple[str, ...]
    before_issue: bool


def is_late(command: type[c.Ask]) -> bool:
    """Does the server take it late from a form?"""
    return command in LATE


def paper_form(seen: Look, *, site_name: str, plates: Mapping[str, str], entry: int) -> PaperForm:
    """The form as things are at `seen.at`. `plates`: point → short code; `entry`: the site's last."""
    now, p = seen.site, seen.permit
    return PaperForm(
        number=form_number(now, p.id, seen.at),
        site=site_name,
        permit=p.id,
        title=f"{p.kind_of_work}: {p.reason}",
        facts=facts(seen),
        printed_at=seen.at.astimezone(ZoneInfo(now.timezone)),
        entry=entry,
        word=badge(p)[1],
        more=tuple(about_state(seen)),
        hanging=tuple(hanging(now, p)),
        points=tuple(paper_points(now, p, plates)),
        tests=tuple(paper_tests(now, p, plates, seen.at)),
        machines=tuple(name for name in machines_to_verify(now, p) if name),
        crew=tuple(
            PaperCrew(now.name(on.person), on.padlock or "own locks", day_and_clock(now, on.on_at))
            for on in p.signed_on
        ),
        notices=tuple(
            PaperNotice(n.stage, n.whom, n.how, n.covers_tests, now.name(n.by), clock(now, n.at))
            for n in p.notices
        ),
        checks=tuple(words for _, words in CHECK_ITEMS),
        checked=checked(now, p),
        areas=every_area(now, p),
        before_issue=p.phase in (Phase.REQUESTED, Phase.ISSUED),
    )


def blank_form(
    now: state.Site,
    machine: state.Procedure,
    order: tuple[tuple[str, str], ...],
    *,
    name: str,
    keep_live: tuple[str, ...],
    at: datetime,
    site_name: str,
    plates: Mapping[str, str],
    entry: int,
) -> PaperForm:
    """The form for a permit that begins on paper, by a machine's approved procedure.

    `order`: ("lock" or "release", point) as the procedure has it; `name`: the machine as people call it.
    """
    p = state.Permit(
        id="", number=0, phase=Phase.REQUESTED, zones=machine.zones, keep_live=keep_live, kind_of_work="",
        reason="", requested_by="", requested_at=at, starts_at=at, ends_at=at + timedelta(hours=1),
        plan_lock=machine.lock, plan_release=machine.release, plan_order=order,
        procedures=((machine.machine, machine.revision),),
    )  # fmt: skip
    live = (("Stays live", zone_names(now, keep_live)),) if keep_live else ()
    return PaperForm(
        number=form_number(now, machine.machine, at),
        site=site_name,
        permit="",
        title=name,
        facts=(
            ("Machine", name),
            ("Zones", zone_names(now, machine.zones)),
            ("Procedure", f"revision {machine.revision}"),
            *live,
        ),
        printed_at=at.astimezone(ZoneInfo(now.timezone)),
        entry=entry,
        word="No permit yet",
        more=(
            "The server knows nothing of this work until a permit is asked for there.",
            f"Good only while revision {machine.revision} of the procedure is the approved one.",
        ),
        hanging=tuple(hanging(now, p)),
        points=tuple(paper_points(now, p, plates)),
        tests=tuple(paper_tests(now, p, plates, at)),
        machines=tuple(code for code in machines_to_verify(now, p) if code),
        crew=(),
        notices=(),
        checks=tuple(words for _, words in CHECK_ITEMS),
        checked=checked(now, p),
        areas=every_area(now, p),
        before_issue=True,
    )


def form_number(now: state.Site, of: str, at: datetime) -> str:
    """ "P-7/2026-11-25-1005": of what, and when it was printed at the plant."""
    return f"{of}/{at.astimezone(ZoneInfo(now.timezone)):%Y-%m-%d-%H%M}"


def facts(seen: Look) -> tuple[tuple[str, str], ...]:
    """Zones, machines and people of the permit; what is not settled yet is left out."""
    now, p = seen.site, seen.permit
    first = [("Zones", zone_names(now, p.zones)), ("Machines", ", ".join(now.machines_of(p.zones)))]
    return tuple((name, value) for name, value in (*first, *facts_of(seen)) if value)


def about_state(seen: Look) -> Iterator[str]:
    """What holds it up, a handover on its way, a sanction that runs: what the one word leaves out."""
    now, p = seen.site, seen.permit
    for one in held_up(now, p):
        if one.is_on:
            yield f"{one.what} {one.then}".strip()
    if p.stopped_because and not p.halted:
        yield p.stopped_because
    if coming := handover(now, p):
        yield coming
    if p.sanction:
        yield f"Sanction for test until {clock(now, p.sanction.until)}. {sanction_text(now, p.sanction)}"


def every_area(now: state.Site, p: state.Permit) -> tuple[str, ...]:
    """All danger areas that power can reach once every point is free, also where a sanction frees a few."""
    return tuple(map(now.graph.name, areas_to_confirm(now, replace(p, sanctions=()))))


def checked(now: state.Site, p: state.Permit) -> str:
    """The last machine check, whether it is asked for again, and what it found or finds still open."""
    words = []
    if p.checks:
        last = p.checks[-1]
        words.append(f"When printed: checked by {now.name(last.by)}, {clock(now, last.at)}.")
        if not p.checked:
            words.append("It is asked for again.")
    found = [f"{dict(CHECK_ITEMS).get(one.item, one.item)}: {one.what}" for _, one in p.open_defects]
    if found:
        words.append(f"Still open: {'; '.join(found)}.")
    if left := defects_left(now, p):
        words.append(f"Look at these again: {'; '.join(left)}.")
    return " ".join(words)


def over(seen: Look) -> dict[str, str]:
    """Why a permit that is over has no form."""
    return {
        "what": f"{seen.permit.id} is {seen.permit.phase.value}: there is nothing to carry on with.",
        "who": "For new work, print the form of its machine, or ask for a permit.",
    }


def no_procedure(machine: str, revision: int) -> dict[str, str]:
    """Why a machine has no blank form. `revision`: the approved one, which holds no longer; 0: none."""
    what = (
        f"{machine} has no approved procedure, so its form would have no plan."
        if not revision
        else f"Revision {revision} of {machine}'s procedure no longer holds: the plant has changed since."
    )
    return {"what": what, "who": "A safety officer writes a new revision, another approves it."}


def plates_of(site: Site) -> dict[str, str]:
    """Point → the short code on its plate, as printed. Two queries."""
    return {one.node.code: shown(one.tag.short_code) for one in plant.points(site) if one.tag}


def blank_form_of(site: Site, now: state.Site, found: Procedure, *, at: datetime, entry: int) -> PaperForm:
    """The form by a procedure as its row has it. Two queries."""
    by = state.Procedure(
        found.machine.code, found.revision, tuple(found.zones), tuple(found.lock), tuple(found.release)
    )
    return blank_form(
        now,
        by,
        tuple((step["do"], step["point"]) for step in found.order),
        name=found.machine.name,
        keep_live=tuple(found.keep_live),
        at=at,
        site_name=site.name,
        plates=plates_of(site),
        entry=entry,
    )
