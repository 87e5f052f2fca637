"""Where two permits may stand at the start, how their plant may change, and what could harm someone."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime

from permits.plant.rules.energy import Graph, Kind, Link, Node
from permits.work.rules import commands as c
from permits.work.rules.state import Permit, Site
from permits.work.rules.words import BOX
from tests.work.small_plant import (
    GRAPH,
    accept,
    check,
    hand_back,
    isolate,
    issue,
    lock,
    request,
    sanction,
    sign_on,
    tell,
)

# What a change of the plant may add, each by its name; and the isolator that may turn out to be none.
EXTRA: dict[str, tuple[Node | Link, ...]] = {
    "second feed": (Node("F3", Kind.SUPPLY, "Second feeder"), Link("F3", "DRV")),
    "feed of the bus": (Node("F4", Kind.SUPPLY, "Charger"), Link("F4", "C1")),
    "tie": (Link("F2", "Q1"),),
    "back-feed": (Link("CON", "B1"),),
}


def plant(extra: frozenset[str], unlockable: bool) -> Graph:
    nodes = [replace(n, lockable=False) if n.id == "Q2" and unlockable else n for n in GRAPH.nodes.values()]
    links = list(GRAPH.links)
    for name in sorted(extra):
        nodes += [x for x in EXTRA[name] if isinstance(x, Node)]
        links += [x for x in EXTRA[name] if isinstance(x, Link)]
    return Graph.of(nodes, links)


def with_recheck(site: Site) -> Site:
    """The bus has to be read again every 45 minutes."""
    node = replace(GRAPH["C1"], release=replace(GRAPH["C1"].release, recheck_min=45))
    return replace(
        site, graph=Graph.of([*(n for n in GRAPH.nodes.values() if n.id != "C1"), node], GRAPH.links)
    )


def asked(*zones: str) -> list[c.Command]:
    return [request(), request(zones=zones, by="pia")]


def work(permit: str, by: str, *, from_minute: int) -> list[c.Command]:
    return [
        issue(from_minute, permit, holder=by, crew=("hal",)),
        accept(from_minute + 1, permit, by=by),
        tell(from_minute + 2, permit, by=by),
    ]


def inside_under_a_sanction() -> list[c.Command]:
    """Everything is ready for a test of P-1 but one: Odo and Hal are inside."""
    crew = [sign_on("odo", "201", 14), check("odo", 15), sign_on("hal", "202", 16)]
    return [*asked("NEXT"), *work("P-1", "odo", from_minute=1), *isolate(), *crew, sanction(21)]


def proven_behind_the_board() -> list[c.Command]:
    """P-1 was proven while Pia's lock for P-2 kept the board dead; Hal is inside, and Pia hands back."""
    board = [*work("P-2", "pia", from_minute=1), lock("Q0", "301", 4, "P-2", by="pia")]
    cell = [*work("P-1", "odo", from_minute=5), *isolate(8), sign_on("hal", "202", 20)]
    return [*asked("LUG"), *board, *cell, hand_back(21, "P-2", by="pia")]


STARTS: dict[str, Callable[[], list[c.Command]]] = {
    "asked for, next door": lambda: asked("NEXT"),
    "asked for, at the board": lambda: asked("LUG"),
    "asked for, the same outfeed": lambda: asked("OUT"),
    "asked for, across": lambda: asked("NEXT", "SAW"),
    "inside under a sanction": inside_under_a_sanction,
    "proven behind the board": proven_behind_the_board,
}


def taken_for_absent(p: Permit, now: datetime) -> Iterator[c.Command]:
    """Every lock of the permit, as if its owner were absent; and the same entered late."""
    for hanging in (k for k in p.locks if k.removed_at is None):
        yield c.TakeOffForAbsent(
            permit=p.id, by="sig", at=now, where=hanging.where, owner=hanging.owner, second="maud",
            not_on_site="gate", tried="called", searched="both zones",
        )  # fmt: skip
        if hanging.where != BOX:
            off = c.RemoveLocks(permit=p.id, by=hanging.owner, at=now, points=(hanging.where,))
            yield c.EnterLate(
                permit=p.id, by="sig", at=now, what=off, happened_at=now, second="maud", form="F1"
            )


def dangerous(site: Site, now: datetime) -> Iterator[c.Command]:
    """Every command that could take protection away or put someone in reach, asked for by whoever may."""
    for p in site.open:
        holder = {"permit": p.id, "by": p.holder, "at": now}
        yield c.BeginCycle(**holder, tools_out=True, guards_on=True)
        yield c.Ready(**holder)
        yield c.HandBack(
            **holder, machine_whole=True, guards_on=True, tools_out=True, people_out=True, standstill=True,
            neutral=True,
        )  # fmt: skip
        yield c.Reenergise(**holder, visual_check=True)
        yield c.SignClosed(**holder)
        yield c.CancelPermit(**holder, why="not needed")
        yield c.EndSanction(**holder, why="enough")
        known = {"knows_energies": True, "knows_hazards": True, "knows_control": True}
        yield c.AcceptHandover(**{**holder, "by": p.next_holder}, **known)
        yield from taken_for_absent(p, now)
        for who in (ref for ref, person in site.people.items() if "technician" in person.roles):
            mine = {"permit": p.id, "by": who, "at": now}
            yield c.SignOnCrew(**mine, padlock=f"{who}-{p.id}-box")
            yield c.SignOnCrew(**mine)
            for point in {k.where for k in p.hanging if k.owner == who} | p.released:
                yield c.RemoveLocks(**mine, points=(point,))
