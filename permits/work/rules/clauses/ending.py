"""Rules about handing back, taking locks off, re-energising and closing."""

from __future__ import annotations

from . import published as p
from .rule import RECORD, SITE_POLICY, Rule, Topic

ENDING = Topic(
    "Hand back, restore, close",
    {
        "not-handed-back": Rule(
            "It is confirmed that the machine is whole, guards are on, tools and people are out.",
            "The holder looks, then confirms.",
            (p.AREA_INSPECTED, p.PEOPLE_CLEAR),
        ),
        "not-at-rest": Rule(
            "A machine that ran for a test stands still and its controls are in neutral.",
            "The holder looks, then confirms.",
            (p.NO_START, p.TRY_THE_CONTROLS),
        ),
        "not-your-lock": Rule(
            "Each lock is taken off by the person who put it on.", "The lock's owner.", (p.OWN_LOCK,)
        ),
        "own-locks-protect": Rule(
            "Whoever is signed on without a padlock on the box keeps their own locks on the points.",
            "They sign off first.",
            (p.PERSONAL_LOCK,),
        ),
        "not-sanctioned": Rule(
            "During a test only the sanctioned points are freed.", "That lock stays on.", (p.SANCTION,)
        ),
        "last-lock": Rule(
            "While work goes on, no point is left without a lock of the permit.",
            "The holder hands back first; or someone else named on the permit locks the point.",
            (p.ON_EACH, p.SHIFT),
        ),
        "locks-still-on": Rule(
            "No lock of the permit hangs any more, before people are told of the start, power returns or it "
            "is cancelled.",
            "Each lock's owner takes it off.",
            (p.OWN_LOCK, p.TOLD_AFTER),
        ),
        "release-still-on": Rule(
            "What held a store released, a prop, a pin, an earth, is taken away.",
            "The holder takes it away and records it.",
            (p.REENERGISING, p.AREA_INSPECTED),
        ),
        "not-looked": Rule(
            "A visual check before the start is confirmed.",
            "The holder looks, then confirms.",
            (p.REENERGISING, SITE_POLICY),
        ),
        "done-already": Rule("Power is brought back once.", "Sign the permit closed.", (RECORD,)),
        "not-reenergised": Rule("Power is back.", "The holder re-energises first.", (p.STEPS_ENFORCED,)),
        "not-a-signatory": Rule(
            "A permit is signed closed by its holder and an issuer.",
            "The holder and an issuer.",
            (SITE_POLICY,),
        ),
        "signed-already": Rule(
            "Each side signs once.", "The other side, which the refusal names.", (RECORD,)
        ),
        "out-of-use": Rule(
            "A machine that was closed as not proven has its as-left check before it is in service again.",
            "Those on the job read fresh pieces under this permit: an axis in tolerance is left as it is.",
            (SITE_POLICY,),
        ),
        "nothing-open": Rule(
            "Only what can't be proven is closed as not proven.",
            "The holder and an issuer sign it closed.",
            (RECORD,),
        ),
    },
)
