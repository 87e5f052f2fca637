"""What the whole site is under, for every page; and what an officer has to see to, for the site's own."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from textwrap import shorten
from zoneinfo import ZoneInfo

from permits.people.models import Site
from permits.work import store
from permits.work.queries.otherwise import HeldUp, held_up
from permits.work.rules import state
from permits.work.rules.words import Declared

MOST = 120  # characters of a reason at the head of every page


@dataclass(frozen=True, slots=True)
class DeclaredLine:
    """What stands at the head of every page while it lasts: the look's state, one word, one sentence."""

    state: str
    word: str
    text: str


def declared(site: Site) -> list[DeclaredLine]:
    """The emergency and the paper mode that the site is under, the emergency first. One query."""
    found = store.standing_of(site)
    lines = []
    if emergency := found["emergency"]:
        text = f"since {short_clock(site, emergency.at)}: {ended(short(emergency.why))} Come out, stay out."
        lines.append(DeclaredLine("unsafe", "EMERGENCY", text))
    if paper := found["paper"]:
        text = (
            f"since {short_clock(site, paper.at)}: {ended(short(paper.why))} "
            "Only what makes things safer is accepted until every form is entered."
        )
        lines.append(DeclaredLine("unproven", "ON PAPER", text))
    return lines


def short_clock(site: Site, at: datetime) -> str:
    """A time at the plant: "10:05, 25 Nov"."""
    local = at.astimezone(ZoneInfo(site.timezone))
    return f"{local:%H:%M}, {local.day} {local:%b}"


def short(words: str) -> str:
    """As much of a reason as leaves room for the page beneath it."""
    return shorten(words, MOST, placeholder=" …")


def ended(words: str) -> str:
    return f"{words.rstrip('.')}."


@dataclass(frozen=True, slots=True)
class WholeSitePage:
    """`emergency`, `paper`: who declared it, why and when, in one sentence; "" where there is none.

    `untold`: (name, permits) of people who are to be told that their lock was taken off. `stopped`: the
    permits that are held up, each with what holds it.
    """

    emergency: str
    paper: str
    untold: list[tuple[str, str]]
    stopped: list[tuple[str, list[HeldUp]]]


def whole_site_page(now: state.Site) -> WholeSitePage:
    return WholeSitePage(
        emergency=in_words(now, now.emergency),
        paper=in_words(now, now.paper),
        untold=[(now.name(person), ", ".join(permits)) for person, permits in now.untold.items()],
        stopped=[(p.id, held_up(now, p)) for p in now.open if p.halted],
    )


def in_words(now: state.Site, one: Declared | None) -> str:
    """ "Since 10:05 on 25 November: fire in hall 2. Declared by Maud Ferrisdale."."""
    if one is None:
        return ""
    return f"Since {now.clock(one.at)}: {ended(one.why)} Declared by {now.name(one.by)}."

