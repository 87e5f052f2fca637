"""How a refusal names whoever can meet a condition, and where: closed lists, beside what the site knows."""

import re
from collections.abc import Iterable

from permits.work.rules.state import Site

# Where no one person is known, a sentence begins with one of these.
IN_WORDS = (
    "You", "An issuer", "Another issuer", "An officer", "An officer or issuer", "One officer",
    "Another officer or issuer", "Someone with that role",
    "A safety officer", "An administrator", "A qualified person, named on", "Anyone who sees",
    "Someone else named on", "Whoever keeps watch", "Whoever went in", "Whoever works under",
    "Those who were there", "The holder", "Its holder", "The crew",
)  # fmt: skip

PLACES = (
    r"this page", r"on \S+'s page", r"on its page", r"on the axis' page", r"under “[^”]+”", r"the board",
    r"the box", r"own phone", r"on the server", r"at the machine", r"from where you stand", r"next step",
    r"this path", r"during the test", r"on your (padlock|danger tag)", r"the plant",
)  # fmt: skip
SOMEWHERE = re.compile("|".join(PLACES))
OVER = "You have nothing left to do"
"""Then there is nowhere to go."""


def begins_with_someone(who: str, names: Iterable[str] = ()) -> bool:
    """Is the first thing said who does it: a known person, or one of the few words for whoever may?"""
    return any(re.match(rf"{re.escape(one)}\b", who) for one in (*names, *IN_WORDS))


def says_where(who: str, places: Iterable[str] = ()) -> bool:
    return who.startswith(OVER) or bool(SOMEWHERE.search(who)) or any(f"({one})" in who for one in places)


def bare(who: str, site: Site) -> list[str]:
    """Points and areas that are named without saying where they are."""
    nodes = [node for node in site.graph.nodes.values() if node.place]
    return [n.name for n in nodes if re.search(rf"\b{re.escape(n.name)}\b(?! \({re.escape(n.place)}\))", who)]


def everyone(site: Site) -> tuple[str, ...]:
    return (*(one.name for one in site.people.values()), *site.former.values())
