"""An issuer adds points to an open plan. None is ever taken away."""

from __future__ import annotations

from collections.abc import Iterator

from permits.plant.rules.conflict import supplied
from permits.plant.rules.energy import Kind
from permits.plant.rules.exposure import fed
from permits.plant.rules.order import in_order
from permits.plant.rules.plan import NoPlan, plan

from . import commands as c
from . import events as e
from .against import lacks_role, name_of, phase_is_not, says_too_little, the_permit
from .reaching import is_undoable, names, through
from .refusal import Unmet, refuse_if
from .state import Permit, Site
from .whom import LEAVE_OUT, page_of
from .words import Phase

OPEN_TO_IT = (Phase.ISSUED, Phase.ISOLATING, Phase.ISOLATED)


def amend(site: Site, ask: c.AmendPlan) -> list[e.Event]:
    p = the_permit(site, ask.permit)
    refuse_if(against_amending(site, p, ask))
    lock, release = {*p.plan_lock, *ask.lock}, {*p.plan_release, *ask.release}
    steps = in_order(site.graph, lock, release)
    return [
        e.PlanAmended(
            permit=p.id,
            by=ask.by,
            at=ask.at,
            lock=tuple(sorted(set(ask.lock))),
            release=tuple(sorted(set(ask.release))),
            order=tuple((step.do.value, step.point or "") for step in steps),
            why=ask.why.strip(),
            signed=c.SIGNED[c.AmendPlan],
        )
    ]


def against_amending(site: Site, p: Permit, ask: c.AmendPlan) -> Iterator[Unmet]:
    yield from phase_is_not(site, p, *OPEN_TO_IT, asked="adding points")
    yield from lacks_role(site, ask.by, "issuer", to="add points to a plan")
    if ask.by == p.holder and not site.policy.own_issue:
        yield Unmet(
            "own-issue",
            "The holder cannot amend their own permit.",
            f"Another issuer adds them, {page_of(p)}: {site.holders_of('issuer', but=ask.by)}.",
        )
    if not (ask.lock or ask.release):
        yield Unmet(
            "no-point",
            "No point is named.",
            "You name the points that the plan lacks, on this page.",
        )
    for point in (*ask.lock, *ask.release):
        if point in p.points:
            yield Unmet("in-plan-already", f"{name_of(site, point)} is in the plan already.", LEAVE_OUT)
    for point in ask.lock:
        node = site.graph.nodes.get(point)
        if node is None or node.kind is not Kind.ISOLATOR or not node.lockable:
            yield Unmet(
                "not-lockable",
                f"{name_of(site, point)} is no isolator that can be locked here.",
                "You choose from the plant's lockable isolators, on this page.",
            )
    for point in ask.release:
        node = site.graph.nodes.get(point)
        if node is None or node.kind is not Kind.STORE or not node.releasable:
            yield Unmet(
                "not-releasable",
                f"{name_of(site, point)} is no store that can be released.",
                "You choose from the plant's stores, on this page.",
            )
    yield from would_not_hold(site, p, ask)
    yield from says_too_little(ask.why, "The reason is empty.", "why the plan needs more points")


def would_not_hold(site: Site, p: Permit, ask: c.AmendPlan) -> Iterator[Unmet]:
    """A store that fills again past the whole plan is never released; a node kept live would go dead."""
    lock, release = {*p.plan_lock, *ask.lock}, {*p.plan_release, *ask.release}
    for point in ask.release:
        node = site.graph.nodes.get(point)
        if node is None or node.kind is not Kind.STORE or is_undoable(site, point):
            continue
        path = fed(site.graph, point, locked=lock, released=release)
        if path is not None:
            way = names(site, path)
            yield Unmet(
                "fills-again",
                f"{name_of(site, point)} would still be fed through {through(way)}.",
                "You add a point to lock on this path as well, on this page.",
                way,
            )
    for keep in p.keep_live:
        if keep in site.graph.nodes and supplied(site.graph, keep, frozenset(lock)) is None:
            yield Unmet(
                "keep-live-conflict",
                f"{site.graph.name(keep)} has to stay live; the added points take its energy away.",
                "You leave them out, on this page; or ask for a new permit that does not keep it live.",
            )


def lacking_points(site: Site, p: Permit) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Isolators and stores that, added to the plan, would isolate its zones again; none where nothing would.

    The cheapest plan for the zones as the plant is now, less what this one has already.
    """
    made = plan(site.graph, p.zones, p.keep_live)
    if isinstance(made, NoPlan) or any(zone not in site.graph.nodes for zone in p.zones):
        return (), ()
    lock = tuple(point for point in made.lock if point not in p.plan_lock)
    release = tuple(point for point in made.release if point not in p.plan_release)
    return lock, release


def may_be_added(site: Site, p: Permit) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Lockable isolators and releasable stores that the plan does not have, in the graph's order."""
    nodes = [node for node in site.graph.nodes.values() if node.id not in p.points]
    return (
        tuple(node.id for node in nodes if node.kind is Kind.ISOLATOR and node.lockable),
        tuple(node.id for node in nodes if node.kind is Kind.STORE and node.releasable),
    )
