"""A machine's written procedure: its states, the texts it needs, and whether its plan still holds. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from permits.plant.rules.conflict import supplied
from permits.plant.rules.cut import is_lockable, is_releasable
from permits.plant.rules.demands import in_short
from permits.plant.rules.energy import Graph
from permits.plant.rules.plan import isolates


class State(StrEnum):
    DRAFT = "draft"
    APPROVED = "approved"
    SUPERSEDED = "superseded"


# The parts that 29 CFR 1910.147(c)(4)(ii) wants in writing, in the order in which they are done.
TEXTS = {
    "shutdown": "how the machine is shut down",
    "isolation": "how it is isolated, and how locks are placed, removed and handed over",
    "release_text": "how stored energy is made harmless",
    "verification": "how zero energy is tested",
    "restoration": "how it is brought back",
    "local_rules": "what else holds here",
}
_MAY_BE_EMPTY = frozenset({"local_rules"})


@dataclass(frozen=True, slots=True)
class Flaw:
    """Why a plan does not hold: energy reaches the zone `id` by `path`; or, with no path, the zone or point
    `id` is no longer in the plant or can no longer be locked or released.

    `kept_dead`: the node `id` has to stay live and does not; `path` is then a supply's shortest way to it,
    which the plan's locks cut, or nothing where no supply leads to it.
    """

    id: str
    path: tuple[str, ...] = ()
    kept_dead: bool = False


@dataclass(frozen=True, slots=True)
class Choice:
    """What an officer asked for when they chose a plan other than the computed one: points that had to be in
    it (`pinned`), and points that it had to do without (`forbidden`). Both may be empty."""

    pinned: tuple[str, ...] = ()
    forbidden: tuple[str, ...] = ()


def flaws(
    graph: Graph,
    zones: Iterable[str],
    lock: Iterable[str],
    release: Iterable[str],
    keep_live: Iterable[str] = (),
) -> tuple[Flaw, ...]:
    """Everything that speaks against a plan made for an earlier graph; empty where it still holds.

    A point that is gone is a flaw even where the rest isolates: nobody could do what is written. So is a node
    to be kept live that no supply reaches any more with the plan's points locked.
    """
    lock, release = tuple(lock), tuple(release)
    reached = isolates(graph, zones, lock, release)
    usable = {id for id, node in graph.nodes.items() if is_lockable(node) or is_releasable(node)}
    gone = tuple(Flaw(id) for id in (*lock, *release) if id not in usable)
    exposed = tuple(Flaw(zone, path if len(path) > 1 else ()) for zone, path in reached.items())
    return gone + exposed + kept_dead(graph, lock, keep_live)


def kept_dead(graph: Graph, lock: Iterable[str], keep_live: Iterable[str]) -> tuple[Flaw, ...]:
    """The nodes to be kept live that no supply reaches with these isolators locked; one that is gone too."""
    locked = frozenset(lock)
    found = []
    for id in dict.fromkeys(keep_live):
        if id not in graph.nodes:
            found.append(Flaw(id, kept_dead=True))
        elif supplied(graph, id, locked) is None:
            found.append(Flaw(id, supplied(graph, id) or (), kept_dead=True))
    return tuple(found)


def as_stored(flaw: Flaw) -> dict[str, Any]:
    """The flaw as rows and ledger entries keep it."""
    stored = {"id": flaw.id, "path": list(flaw.path)}
    return stored | {"kept_dead": True} if flaw.kept_dead else stored


def stored_flaw(stored: Mapping[str, Any]) -> Flaw:
    """The flaw that `as_stored` wrote."""
    return Flaw(stored["id"], tuple(stored["path"]), stored.get("kept_dead", False))


def in_words(flaw: Flaw, graph: Graph) -> str:
    """The flaw as a sentence, nodes by name."""
    name = graph.name(flaw.id) if flaw.id in graph.nodes else flaw.id
    if flaw.kept_dead:
        return _kept_dead_in_words(flaw, name, graph)
    if not flaw.path and flaw.id in graph.nodes and (why := in_short(graph[flaw.id], {})):
        return f"{name} can't do what the plan needs of it now: {why}."
    if not flaw.path:
        return f"{name} is no longer in the plant as the zone or point that the plan needs."
    return f"Energy reaches {name} by {' → '.join(graph.name(id) for id in flaw.path)}."


def _kept_dead_in_words(flaw: Flaw, name: str, graph: Graph) -> str:
    if flaw.id not in graph.nodes:
        return f"{name} has to stay live and is no longer in the plant."
    if not flaw.path:
        return f"{name} has to stay live, and no supply leads to it."
    way = " → ".join(graph.name(id) for id in flaw.path)
    return f"{name} has to stay live, and the points locked cut it off from every supply, such as by {way}."


def missing_texts(texts: Mapping[str, str], *, releases: bool) -> tuple[str, ...]:
    """The parts that are not written yet, each in words. `releases`: the plan releases a store."""
    return tuple(
        words
        for field, words in TEXTS.items()
        if field not in _MAY_BE_EMPTY
        and (releases or field != "release_text")
        and not texts.get(field, "").strip()
    )
