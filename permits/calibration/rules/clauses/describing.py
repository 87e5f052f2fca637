"""Rules about what an officer describes: axes, features, instruments, results from before this record."""

from __future__ import annotations

from permits.work.rules.clauses.rule import COMMON_PRACTICE, RECORD, SITE_POLICY, Rule, Topic

from . import published as p

OFFICER = "The safety officer who describes it."

DESCRIBING = Topic(
    "Describe axes and features",
    {
        "name-taken": Rule("Each axis of a machine has a name of its own.", OFFICER, (RECORD,)),
        "name-is-a-verdict": Rule(
            "No axis has the name of a verdict of the pre-check: it would be read as one.", OFFICER, (RECORD,)
        ),
        "unit-in-use": Rule(
            "An axis that has results keeps its unit, or they could not be compared.",
            "The safety officer takes the axis out and describes a new one.",
            (RECORD,),
        ),
        "no-tolerance": Rule(
            "An axis has a tolerance above zero, said before anything is measured.",
            OFFICER,
            (p.AGREED_BEFORE,),
        ),
        "no-parameter": Rule(
            "It is said what a correction of the axis may change, and how far.", OFFICER, (SITE_POLICY,)
        ),
        "depends-on-nothing": Rule(
            "A feature of the test piece depends on one axis at least, or it tells of none.",
            OFFICER,
            (RECORD,),
        ),
        "not-earlier": Rule(
            "A result from before this record is of a day that has been.", OFFICER, (RECORD,)
        ),
        "day-taken": Rule(
            "An axis has one earlier result a day.", "Nothing is left to do: it is in the list.", (RECORD,)
        ),
    },
)

MEASURING = Topic(
    "Measuring instruments",
    {
        "instrument-overdue": Rule(
            "The instrument's own calibration is in date. A site may take such readings: each is then an "
            "exception in its records.",
            "Whoever reads takes one that is in date, or a safety officer enters its new certificate.",
            (SITE_POLICY, COMMON_PRACTICE),
        ),
        "instrument-withdrawn": Rule(
            "The instrument is in use.", "Whoever opens the axis takes another one.", (RECORD,)
        ),
        "instrument-not-allowed": Rule(
            "The instrument is one of those named for the axis, where any is named.",
            "Whoever opens the axis takes one of these; a safety officer names them.",
            (SITE_POLICY,),
        ),
        "instrument-at-work": Rule(
            "No axis is being read with an instrument that is taken out of use.",
            "Those on that job close the axis, or abandon it.",
            (RECORD,),
        ),
    },
)
