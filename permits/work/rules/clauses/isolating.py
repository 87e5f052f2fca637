"""Rules about locking points, releasing stores and proving them dead."""

from __future__ import annotations

from . import published as p
from .rule import RECORD, SITE_POLICY, Rule, Topic

LOCKING = Topic(
    "Lock and release",
    {
        "not-told": Rule(
            "Affected people are told before the first lock, again when points are added, and after the last "
            "lock is off and before the start.",
            "Anyone named on the permit, an issuer or an officer tells them and records it.",
            (p.TOLD, p.TOLD_AFTER),
        ),
        "not-in-plan": Rule(
            "The point belongs to the permit's plan.",
            "Whoever acts checks the tag and goes to the point of the next step.",
            (p.NAMES_STEPS, RECORD),
        ),
        "out-of-order": Rule(
            "Points are made safe in the plan's order.",
            "Whoever acts makes the earlier point safe first.",
            (p.NAMES_STEPS, SITE_POLICY),
        ),
        "not-released-yet": Rule(
            "A store's first lock goes on with what holds it released.",
            "Whoever acts releases it and enters the lock there.",
            (p.STORED,),
        ),
        "takes-a-lock": Rule(
            "Where a lock fits, a lock hangs: no tag with another measure stands in for it.",
            "Whoever locks hangs a padlock.",
            (p.TAG_OR_LOCK, SITE_POLICY),
        ),
        "two-tag-numbers": Rule(
            "A point that takes a tag and no lock has one tag, with one number.",
            "Whoever tags enters the number of the tag that hangs there.",
            (RECORD,),
        ),
        "no-measure": Rule(
            "Where only a tag fits, what the plant demands besides is done and written down.",
            "Whoever tags does it first, then writes what was done.",
            (p.ONE_MEASURE_MORE,),
        ),
        "already-locked": Rule(
            "Each person hangs one lock on a point.", "Nothing is left to do there.", (RECORD,)
        ),
        "already-released": Rule("A store is released once.", "Nothing is left to do there.", (RECORD,)),
        "upstream-not-locked": Rule(
            "All points are locked before a store is released, or it may fill again.",
            "The crew locks the remaining points first.",
            (p.STORED, p.FOUR_STEPS),
        ),
        "fills-again": Rule(
            "Nothing still feeds the store past the plan's locks.",
            "The holder hands back and asks for a permit whose plan covers that path.",
            (p.STORED, p.RE_ACCUMULATES),
        ),
    },
)

PROVING = Topic(
    "Prove it dead",
    {
        "not-all-locked": Rule(
            "Every point of the plan is locked, for this permit, before anything counts as tested.",
            "Anyone named on the permit locks it.",
            (p.ON_EACH, p.HELD_OFF, p.VERIFY),
        ),
        "not-all-released": Rule(
            "Every store of the plan is released before anything counts as tested.",
            "Anyone named on the permit releases it.",
            (p.STORED, p.VERIFY),
        ),
        "no-reading": Rule("A reading is given.", "Whoever tests measures and enters it.", (p.VERIFY,)),
        "point-twice": Rule(
            "Each point is given once; one value could hide the other.",
            "Whoever tests enters each once.",
            (RECORD,),
        ),
        "reading-missing": Rule(
            "Every reading that the point asks for is given: for electrical ones every conductor "
            "combination.",
            "Whoever tests measures the rest.",
            (p.VERIFY, p.PROVE_TEST_PROVE),
        ),
        "reading-unknown": Rule(
            "Only what the point asks for is given, each once.",
            "Whoever tests leaves it out.",
            (RECORD,),
        ),
        "wrong-unit": Rule(
            "A reading is in the unit that is asked for: at a point that of its limit.",
            "Whoever tests enters it in that unit.",
            (RECORD,),
        ),
        "not-a-number": Rule(
            "A reading is a number.", "Whoever tests enters what the instrument shows.", (RECORD,)
        ),
        "not-qualified": Rule(
            "Absence of voltage is measured by a person qualified for the machine.",
            "A qualified person; a safety officer authorises them as one.",
            (p.TESTED_BY_QUALIFIED,),
        ),
        "no-instrument": Rule(
            "The voltage tester is named.", "Whoever tests enters its number.", (p.TRUE_RECORD, SITE_POLICY)
        ),
        "instrument-unproven": Rule(
            "The tester is proven on a known source before and after, at any voltage: a dead tester looks "
            "like a dead machine.",
            "Whoever tests proves it, tests, proves it again.",
            (p.TESTED_BY_QUALIFIED, p.PROVE_TEST_PROVE, SITE_POLICY),
        ),
        "try-start-unsafe": Rule(
            "When the controls are tried, nobody is in reach, their own supply is live, and they are put "
            "back to neutral.",
            "Whoever tries them looks, then confirms.",
            (p.TRY_THE_CONTROLS, p.CANNOT_RESTART),
        ),
        "not-verified": Rule(
            "Every point is proven dead, and the test still holds: nothing has voided it and it has not "
            "lapsed.",
            "Whoever is authorised tests it; for electrical points a qualified person.",
            (p.VERIFY, p.RE_ACCUMULATES),
        ),
        "zone-exposed": Rule(
            "No supply and no live store reaches a zone of the permit.",
            "An issuer adds the missing point to the plan, or a new permit covers the path.",
            (p.ALL_DEVICES, p.FROM_ALL_SOURCES, p.ALL_SOURCES),
        ),
        "zone-gone": Rule(
            "Every zone of the permit is still in the plant.",
            "The holder hands back and asks for a permit for the plant as it is.",
            (SITE_POLICY,),
        ),
    },
)
