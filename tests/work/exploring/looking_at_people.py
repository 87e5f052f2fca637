"""Who does what: the office each command stands for, the holder, the crew; and what was left unsaid."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

from permits.work.rules import commands as c
from permits.work.rules.state import Permit, Site
from permits.work.rules.words import Phase

from .charge import inside
from .places import ROLES, TECHNICIANS

# Who may do it at all, by the office each command stands for (written here again, by hand).
OFFICE: dict[type[c.Ask], str] = {
    c.IssuePermit: "issuer", c.ExtendPermit: "issuer", c.GiveSanction: "issuer", c.AmendPlan: "issuer",
    c.AcceptDefect: "officer", c.CloseOutOfUse: "officer", c.DeclareEmergency: "officer",
    c.EndEmergency: "officer", c.NameHolder: "officer", c.TakeOffForAbsent: "officer",
    c.DeclarePaper: "officer", c.EndPaper: "officer",
}  # fmt: skip
HOLDERS: tuple[type[c.Ask], ...] = (
    c.AcceptPermit, c.BeginCycle, c.Ready, c.HandBack, c.Reenergise, c.OfferHandover,
)  # fmt: skip
HANDS_ON: tuple[type[c.Ask], ...] = (
    c.ApplyLock, c.ReleaseStore, c.VerifyMachine, c.TryStart, c.SignOnCrew, c.Reisolate, c.AcceptPermit,
    c.AcceptHandover, c.OpenJob, c.CorrectAxis, c.ProveAxis, c.CloseJob,
)  # fmt: skip


def works_under(p: Permit, who: str) -> bool:
    return who in (p.holder, p.next_holder, *p.crew_named)


def authorised(site: Site, p: Permit, who: str) -> bool:
    machines = {site.graph[zone].machine for zone in p.zones}
    return machines <= {grant.machine for grant in site.people[who].authorisations}


def wrong_person(site: Site, p: Permit | None, ask: c.Command) -> Iterator[str]:
    office = OFFICE.get(type(ask))
    if office and office not in ROLES[ask.by]:
        yield f"{ask.by}, no {office}, does what an {office} does"
    if isinstance(ask, c.TellReturned) and ask.by == ask.person:
        yield f"{ask.by} records that they told themselves"
    if isinstance(ask, c.EnterLate) and ask.second == ask.by:
        yield f"{ask.by} vouches alone for what is entered late"
    if p is None:
        return
    if isinstance(ask, HOLDERS) and ask.by != p.holder:
        yield f"{ask.by} does what only the holder, {p.holder or 'nobody yet'}, does"
    if isinstance(ask, HANDS_ON):
        if not works_under(p, ask.by) and not isinstance(ask, c.AcceptHandover):
            yield f"{ask.by} works under {p.id} and is not named on it"
        if not authorised(site, p, ask.by):
            yield f"{ask.by} works at a machine without authorisation"
        if ask.by in site.untold and isinstance(ask, c.ApplyLock | c.SignOnCrew | c.AcceptHandover):
            yield f"{ask.by} resumes work and was not told that their lock was taken off"
    if isinstance(ask, c.AcceptHandover) and ask.by != p.next_holder:
        yield f"{ask.by} takes over what was not handed to them"
    if isinstance(ask, c.NameCrew | c.IssuePermit | c.OfferHandover | c.NameHolder):
        named = {c.NameCrew: "person", c.IssuePermit: "holder"}.get(type(ask), "to")
        person = str(getattr(ask, named))
        if person not in TECHNICIANS:
            yield f"{person}, no technician, is put to work"
    if isinstance(ask, c.CancelPermit) and ask.by not in (p.requested_by, p.holder):
        yield f"{ask.by} cancels another's permit"
    if isinstance(ask, c.SuspendPermit) and ask.by != p.holder and "issuer" not in ROLES[ask.by]:
        yield f"{ask.by} suspends another's permit"
    if isinstance(ask, c.SignClosed) and ask.by != p.holder and "issuer" not in ROLES[ask.by]:
        yield f"{ask.by}, neither holder nor issuer, signs it closed"
    stopped = any(h.kind.value != "suspension" for h in p.halted)
    if isinstance(ask, c.LiftHalt):
        if "officer" not in ROLES[ask.by] and (stopped or ask.by != p.holder):
            yield f"{ask.by} lifts what they may not"
        if inside(p):
            yield f"{ask.by} lets work go on while {inside(p)[0]}, who was called out, is inside"
        if site.emergency is not None:
            yield f"{ask.by} lets work go on in an emergency"


def left_unsaid(p: Permit | None, ask: c.Command) -> Iterator[str]:
    """A confirmation that was not given is not taken for one; standstill is asked for after a test alone."""
    testing = p is not None and p.phase is Phase.TESTING
    for told in dataclasses.fields(ask):
        known = told.name in ("typed", "watching", "one_place", "stayed_dead", "covers_tests")
        known = known or (told.name in ("standstill", "neutral") and not testing)
        if getattr(ask, told.name) is False and not known:
            yield f"{type(ask).__name__} goes through without {told.name}"
