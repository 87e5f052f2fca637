"""Close a permit: both signatures, nothing left open; or an officer's, with the machine left out of use."""

from __future__ import annotations

from collections.abc import Iterator

from . import commands as c
from . import events as e
from .against import lacks_role, phase_is_not, says_too_little, the_permit
from .occupying import defects_open
from .out_of_use import left_by, what_lifts, why_out_of_use
from .refusal import Unmet, refuse_if
from .state import Permit, Site
from .whom import job_of, page_of, the_crew, the_holder
from .words import Phase


def still_open(site: Site, p: Permit) -> Iterator[Unmet]:
    """What is listed before hand-back and refuses the close: defects, open jobs, unproven corrections."""
    yield from defects_open(site, p)
    for _, job in p.open_jobs:
        yield Unmet(
            "job-open",
            f"Calibration job {job.number} is open.",
            f"{the_crew(site, p)} closes it, or carries on with it, {job_of(p.id)}.",
        )
    for job in p.jobs:
        for axis in job.unproven:
            yield Unmet(
                "correction-unproven",
                f"The correction of {axis} in job {job.number} has no as-left check.",
                f"{the_crew(site, p)} isolates again; then, in a test cycle, reads fresh pieces, "
                f"{job_of(p.id)}.",
            )
    yield from still_out_of_use(site, p)


def still_out_of_use(site: Site, p: Permit) -> Iterator[Unmet]:
    """A machine that an earlier permit left not proven is blocked until this one proves what was left."""
    for machine in site.machines_of(p.zones):
        if machine in site.out_of_use:
            one = site.out_of_use[machine]
            yield Unmet(
                "out-of-use",
                f"{why_out_of_use(one).rstrip('.')}.",
                what_lifts(site, p, one),
            )


# ── both signatures ─────────────────────────────────────────────────────────────────────────────────────


def sign_closed(site: Site, ask: c.SignClosed) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_closing(site, p, ask))
    signed = e.ClosureSigned(permit=p.id, by=ask.by, at=ask.at, signed=c.SIGNED[c.SignClosed])
    if is_closed_by(p, closers(p) | {ask.by}):
        return [signed, e.PermitClosed(permit=p.id, by=ask.by, at=ask.at)]
    return [signed]


def closers(p: Permit) -> set[str]:
    """Who has signed the permit closed since power came back, under this holder, and since the last stop.

    Earlier signatures were for another state; one of an earlier holder must not pass for an issuer's.
    """
    back = p.reenergised_at
    if back is None:
        return set()
    anew = (c.SIGNED[c.AcceptHandover], c.SIGNED[c.LiftHalt])
    turned = [n for n, s in enumerate(p.signatures) if s.meaning in anew]
    since = p.signatures[turned[-1] :] if turned else p.signatures
    return {s.person for s in since if s.meaning == c.SIGNED[c.SignClosed] and s.at >= back}


def is_closed_by(p: Permit, signed: set[str]) -> bool:
    """The holder and an issuer have signed; one person is both only where the issue was an exception too."""
    return p.holder in signed and (p.own_issue or bool(signed - {p.holder}))


def awaited(site: Site, p: Permit) -> tuple[str, ...]:
    """By name, whose signatures are still missing."""
    signed = closers(p)
    missing = () if p.holder in signed else (site.name(p.holder),)
    if p.own_issue or signed - {p.holder}:
        return missing
    return (*missing, site.name(p.issuer))


def who_still_signs(site: Site, p: Permit) -> str:
    return " and ".join(awaited(site, p))


def may_sign(site: Site, p: Permit, person: str) -> bool:
    """The holder; and for the issuer's part any issuer, since the one who issued may be off shift or gone."""
    return person == p.holder or "issuer" in site.roles_of(person)


def not_reenergised(site: Site, p: Permit) -> Iterator[Unmet]:
    if p.reenergised_at is None:
        yield Unmet(
            "not-reenergised",
            "Power is not back yet.",
            f"{the_holder(site, p)} re-energises first, {page_of(p)}.",
        )


def against_closing(site: Site, p: Permit, ask: c.SignClosed) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, Phase.RESTORING, asked="closing")
    if not may_sign(site, p, ask.by):
        yield Unmet(
            "not-a-signatory",
            "Only the holder and an issuer sign a permit closed.",
            f"{site.name(p.holder)} signs, and {site.name(p.issuer)} or another issuer "
            f"({site.holders_of('issuer')}), {page_of(p)}.",
        )
    if ask.by in closers(p) or (ask.by != p.holder and closers(p) - {p.holder}):
        yield Unmet(
            "signed-already",
            f"{p.id} is signed closed on your side already.",
            f"{who_still_signs(site, p)} can sign it closed, {page_of(p)}.",
        )
    yield from not_reenergised(site, p)
    yield from still_open(site, p)


# ── not proven, out of use ──────────────────────────────────────────────────────────────────────────────


def close_out_of_use(site: Site, ask: c.CloseOutOfUse) -> list[e.Event]:
    """The officer's way out where the machine can't be proven now: the permit ends, it stays out of use."""
    p = the_permit(site, ask.permit)
    refuse_if(against_closing_out_of_use(site, p, ask))
    return [
        e.ClosedOutOfUse(
            permit=p.id,
            by=ask.by,
            at=ask.at,
            machines=site.machines_of(p.zones),
            why=ask.why.strip(),
            left=tuple(unmet.what for unmet in still_open(site, p)),
            signed=c.SIGNED[c.CloseOutOfUse],
            out_of_use=left_by(site, p),
        )
    ]


def against_closing_out_of_use(site: Site, p: Permit, ask: c.CloseOutOfUse) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, Phase.RESTORING, asked="closing as not proven")
    yield from lacks_role(site, ask.by, "officer", to="close a permit as not proven")
    yield from not_reenergised(site, p)
    yield from says_too_little(ask.why, "The reason is empty.", "why it can't be proven now")
    if not any(still_open(site, p)):
        yield Unmet(
            "nothing-open",
            f"Nothing is left open on {p.id}; its machine is proven.",
            f"{who_still_signs(site, p)} can sign it closed, {page_of(p)}.",
        )
