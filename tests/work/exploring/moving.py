"""One move: a command that someone gives, or time that passes; what it does to the site and its stores."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from permits.work.rules import commands as c
from permits.work.rules import events as e
from permits.work.rules.decide import decide
from permits.work.rules.due import due
from permits.work.rules.evolve import fold
from permits.work.rules.state import Site

from .charge import FULL, Charge
from .forgetting import forget, key
from .places import NOW


@dataclass(frozen=True, slots=True)
class Move:
    """`label` says it in words, one label for one move of a state.

    `passing`: what time, or a change of the plant, does to the site. `awaited`: time that people only have to
    wait for; other times that pass are deadlines, and no permit may depend on one to come to its end.
    """

    label: str
    command: c.Command | None = None
    passing: Callable[[Site], Site] | None = None
    awaited: bool = True


@dataclass(frozen=True, slots=True)
class Stand:
    """Where everything stands: the site as the rules have it, and the charge of its stores in the world."""

    site: Site
    charge: Charge = FULL

    @property
    def key(self) -> object:
        return (key(self.site), self.charge)


def moved(stand: Stand, move: Move, now: datetime = NOW) -> Stand:
    """The stand after the move, with its history. Raises Refused.

    What fell due by the move's time is settled, as it is before every command.
    """
    if move.command is not None:
        events = decide(stand.site, move.command)
        site = fold(stand.site, events)
    else:
        assert move.passing is not None
        changed = move.passing(stand.site)
        events = due(changed, now)
        site = fold(changed, events)
    return Stand(site, recharged(stand.charge, site, events))


def recharged(charge: Charge, site: Site, events: list[e.Event]) -> Charge:
    for event in events:
        match event:
            case e.StoreReleased():
                charge = charge.release(site, event.permit, event.point)
            case e.ReleaseUndone():
                charge = charge.undo(event.permit, event.point)
            case e.PermitClosed() | e.PermitCancelled() | e.Reenergised():
                for point in site.permits[event.permit].points:
                    charge = charge.undo(event.permit, point)
    return charge.settle(site)


def forgotten(stand: Stand, now: datetime = NOW) -> Stand:
    return Stand(forget(stand.site, now), stand.charge)
