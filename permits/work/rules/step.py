"""A next step, and those that several phases of a permit share."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from .against import is_fresh, is_signed_on
from .clearing import areas_to_confirm
from .restoring import may_be_running
from .state import Permit, Site
from .whom import spots


@dataclass(frozen=True, slots=True)
class Step:
    """`action` names what to do ("" while waiting); `point` and `machine` say where; `until` ends a wait."""

    action: str
    title: str
    why: str = ""
    point: str = ""
    machine: str = ""
    until: datetime | None = None


def wait(title: str, why: str = "", until: datetime | None = None) -> Step:
    return Step("", title, why, until=until)


def names_on(site: Site, p: Permit) -> str:
    return ", ".join(site.name(on.person) for on in p.signed_on)


def owners_of(site: Site, p: Permit) -> str:
    return ", ".join(sorted({site.name(lock.owner) for lock in p.hanging}))


def not_fresh(site: Site, p: Permit, now: datetime) -> str:
    """By name and place, the danger areas whose confirmation is missing or stale."""
    return spots(site, (area for area in areas_to_confirm(site, p) if not is_fresh(site, p, area, now)))


def hand_back_next(site: Site, p: Permit, person: str, now: datetime, why: str) -> Step:
    """Hand back; where the machine may still be under power the danger areas are confirmed clear first."""
    if may_be_running(site, p) and (unclear := not_fresh(site, p, now)):
        return Step("confirm-clear", "Confirm the areas clear", unclear)
    if person == p.holder:
        return Step("hand-back", "Hand the machine back", why)
    return wait(f"{site.name(p.holder)} hands the machine back", why)


def sign_off_or(site: Site, p: Permit, person: str, then: Step) -> Step:
    """Everyone comes out before the holder takes the next step."""
    if is_signed_on(p, person):
        return Step("sign-off", "Come out and sign off", then.title + " follows.")
    if p.signed_on:
        return wait(f"{names_on(site, p)} must come out and sign off", then.title + " follows.")
    if person != p.holder:
        return wait(f"{site.name(p.holder)}: {then.title[0].lower()}{then.title[1:]}")
    return then
