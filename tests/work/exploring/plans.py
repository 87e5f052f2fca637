"""The explorations: each a small plant, where it starts, and the part of the alphabet that is asked for.

One exploration with everything in it would be too big to finish; each of these is finished, to the last
state.
"""

from __future__ import annotations

from . import plans_of_one as one
from . import plans_of_two as two
from . import plans_together as both
from .beginning import Plan, PlanOfTwo
from .places import ODO, PIA

OF_ONE = (
    Plan("whole job", "one job from request to close, with every deadline", one.whole_start, one.whole_moves),
    Plan("stops", "two people inside; stops, suspensions, an emergency", one.stops_start, one.stops_moves),
    Plan(
        "shift",
        "handover, an absent holder, locks of absent people",
        one.shift_start,
        one.shift_moves,
        (ODO, PIA),
    ),
    Plan("holder gone", "the holder goes away, in a test too", one.gone_start, one.gone_moves, (ODO,)),
    Plan(
        "announced",
        "one person; the start to come, the tests not announced",
        one.announced_start,
        one.announced_moves,
    ),
    Plan("proof", "calibration, defects, a machine out of use", one.proof_start, one.proof_moves),
    Plan("propped", "a store held by a prop that carries a lock", one.propped_start, one.propped_moves),
    Plan("second feed", "a second feed is found, and points are added", one.grows_start, one.grows_moves),
    Plan("paper", "paper mode and what is entered late", one.stops_start, one.paper_moves),
)
OF_TWO = (
    PlanOfTwo("sharing", "two permits share one of their points", two.sharing_start, two.both_plain),
    PlanOfTwo(
        "same point", "two permits on one point; one is tested under power", two.same_start, two.one_tested
    ),
    PlanOfTwo(
        "one behind", "the point of one feeds the other's, which is tested", two.behind_start, two.one_tested
    ),
)
# Two whole jobs at once (TWO_JOBS.md), alone and with one topic more.
TOGETHER = tuple(
    PlanOfTwo(name, says, both.requested_both, both.of(*topics))
    for name, says, *topics in (
        ("two jobs", "all of both jobs, from request to close"),
        ("two, careless", "and steps of others, wrong padlocks, things left unsaid", both.careless),
        ("two, stops", "and either is stopped at any time", both.stops),
        ("two, suspended", "and either is suspended, by its holder or the issuer", both.suspensions),
        ("two, emergency", "and emergencies of the whole site", both.emergencies),
        ("two, deadlines", "and every deadline, and extensions", both.deadlines),
        ("two, tried", "and the controls are tried: dead, or not", both.trials),
        ("two, watched", "and areas are kept under watch", both.watches),
        ("two, defects", "and defects are found, mended, or accepted", both.defects),
        ("two, more points", "and points are added to either", both.more_points),
        ("two, paper", "and paper mode, and late entries", both.paper),
        ("two, crew", "and each works under both permits", both.crew),
        ("two, named later", "and crew is named after the issue", both.named_later),
        ("two, calibration", "and calibration jobs, closed or out of use", both.jobs),
    )
)
# Begun and not yet walked to the end: over half an hour each, so that no figure of theirs stands anywhere.
NOT_FINISHED = tuple(
    PlanOfTwo(name, says, both.requested_both, both.of(both.only(permit, topic)))
    for name, says, permit, topic in (
        ("two, shift", "and P-1 is handed over", "P-1", both.handovers),
        ("two, shift next door", "and P-2 is handed over", "P-2", both.handovers),
        ("two, gone", "and P-1's holder is gone, and replaced", "P-1", both.holders_absent),
        ("two, gone next door", "and P-2's holder is gone, and replaced", "P-2", both.holders_absent),
    )
)
PLANS: tuple[Plan | PlanOfTwo, ...] = (*OF_ONE, *OF_TWO)
BY_NAME = {plan.name: plan for plan in (*PLANS, *TOGETHER, *NOT_FINISHED)}

# Commands that no exploration asks for, and why nothing is lost by it.
LEFT_OUT = {
    "RequestPermit": "every exploration begins with it",
    "AcknowledgeNotice": "nothing waits for it",
    "AskJob": "it changes nothing",
}
