"""The next step before a permit is accepted, and how it is cancelled."""

from __future__ import annotations

from datetime import datetime

from .against import is_expired
from .reaching import names, plan_falls_short, through
from .state import Permit, Site
from .step import Step, wait


def when_requested(site: Site, p: Permit, person: str, now: datetime) -> Step:
    if dead_end := no_way_on(site, p, now):
        return cancel_next(site, p, person, dead_end)
    if "issuer" in site.roles_of(person):
        return Step("issue", "Issue the permit", "Look at the plan, name the holder and the crew, sign.")
    return wait("An issuer signs the permit out", f"Who can: {site.holders_of('issuer')}.")


def no_way_on(site: Site, p: Permit, now: datetime) -> str:
    """Why a permit that nobody has accepted can't go on; "" while it can."""
    if is_expired(p, now):
        return "Its time is over and no work was done."
    for path in plan_falls_short(site, p).values():
        return f"The plant has changed: this plan does not cover {through(names(site, path))}."
    return ""


def cancel_next(site: Site, p: Permit, person: str, why: str) -> Step:
    if may_cancel(site, p, person):
        return Step("cancel", "Cancel this permit", why)
    return wait(f"{site.name(p.holder or p.requested_by)} cancels this permit", why)


def may_cancel(site: Site, p: Permit, person: str) -> bool:
    return person in (p.requested_by, p.holder) or bool(site.roles_of(person) & {"issuer", "officer"})
