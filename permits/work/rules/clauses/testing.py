"""Rules about tests under power, and what a calibration job asks of the permit."""

from __future__ import annotations

from . import published as p
from .rule import COMMON_PRACTICE, RECORD, SITE_POLICY, Rule, Topic

TESTING = Topic(
    "Test under power",
    {
        "no-sanction": Rule(
            "An issuer has sanctioned the test: named points, limits, cycles, an end.",
            "An issuer.",
            (p.TESTING, p.SANCTION),
        ),
        "sanctioned-already": Rule(
            "One sanction is in force at a time.", "It is ended first, if its terms must change.", (RECORD,)
        ),
        "no-cycle": Rule(
            "A sanction allows at least one test cycle.", "The issuer gives a number.", (RECORD,)
        ),
        "sanction-over": Rule(
            "The sanction's time is not over.", "An issuer gives a new one.", (p.SANCTION, SITE_POLICY)
        ),
        "cycles-used": Rule(
            "Not all sanctioned cycles are used.", "An issuer gives a new one.", (p.SANCTION, SITE_POLICY)
        ),
        "locked-by-another": Rule(
            "No other permit has a lock on a point that the test energises.",
            "That lock's owner takes it off when their work is done, or the test leaves the point out.",
            (p.SANCTION, p.OWN_LOCK),
        ),
        "not-checked": Rule(
            "The machine check is done; after a stop, anew.",
            "Someone signed on looks and records it.",
            (COMMON_PRACTICE, SITE_POLICY),
        ),
        "tools-in": Rule(
            "Tools and material are out.", "The holder has them cleared, then confirms.", (p.TESTING,)
        ),
        "guards-off": Rule(
            "The guards are on.", "The holder has them fitted, then confirms.", (p.AREA_INSPECTED,)
        ),
        "not-told-of-test": Rule(
            "Affected people are told that the machine will be started for tests.",
            "Anyone named on the permit, an issuer or an officer tells them and records it.",
            (p.TOLD_AFTER,),
        ),
        "ready-already": Rule("Ready is signed once a cycle.", "Run the test pieces.", (RECORD,)),
        "lock-still-on": Rule(
            "The points of the test are free: each owner took their own lock off.",
            "The lock's owner.",
            (p.TESTING, p.OWN_LOCK),
        ),
    },
)

JOBS = Topic(
    "Calibrate under a permit",
    {
        "not-in-scope": Rule(
            "The machine is one of the permit.", "Whoever asks chooses one of them.", (p.NAMED_PEOPLE,)
        ),
        "job-open": Rule(
            "One job is open at a time, and none when the permit closes.",
            "Those on the job close it first.",
            (SITE_POLICY,),
        ),
        "job-not-open": Rule("The job is open on this permit.", "Open a job first.", (RECORD,)),
        "not-under-test": Rule(
            "Test pieces are run and read only in a test cycle, after ready to energise was signed.",
            "The holder begins a test cycle and signs ready.",
            (p.TESTING,),
        ),
        "correction-unproven": Rule(
            "Every corrected axis has its as-left check, on fresh pieces.",
            "Run fresh pieces under power and read them.",
            (p.BEFORE_AND_AFTER, COMMON_PRACTICE),
        ),
    },
)
