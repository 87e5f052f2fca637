"""Rules about the work in a job: which axis is open, what is read, what is corrected, what is saved."""

from __future__ import annotations

from permits.work.rules.clauses.published import BEFORE_AND_AFTER, TRUE_RECORD
from permits.work.rules.clauses.rule import COMMON_PRACTICE, RECORD, SITE_POLICY, Rule, Topic

from . import published as p

AXES = Topic(
    "One axis at a time",
    {
        "axis-open": Rule(
            "One axis is open at a time: none while another is opened, first pieces are judged, the job "
            "closes, or the axis itself is taken out.",
            "Those on the job close the open axis, or abandon it.",
            (COMMON_PRACTICE,),
        ),
        "axis-not-open": Rule("The axis is open in this job.", "Those on the job open it first.", (RECORD,)),
        "axis-withdrawn": Rule(
            "The axis is still among those of the machine.",
            "Those on the job choose another; a safety officer describes axes.",
            (RECORD,),
        ),
        "no-feature": Rule(
            "A pre-check has at least one feature that was measured, with its uncertainty.",
            "Whoever measures enters one.",
            (p.TYPE_A, RECORD),
        ),
    },
)

READING = Topic(
    "Read test pieces",
    {
        "outside-range": Rule(
            "The piece is of a size that the axis is there to cut.",
            "Whoever reads takes a piece in that range, or opens the axis that cuts this one.",
            (COMMON_PRACTICE,),
        ),
        "no-such-piece": Rule(
            "The reading that is struck out was entered.",
            "Whoever strikes it chooses it from the list.",
            (RECORD,),
        ),
        "struck-already": Rule("A reading is struck out once.", "Nothing is left to do there.", (RECORD,)),
        "decided-on": Rule(
            "A reading on which something was decided stays as it was read.",
            "Whoever doubts it reads more fresh pieces.",
            (TRUE_RECORD, p.AMENDED),
        ),
        "no-reason": Rule(
            "A reading is struck out with a reason; it stays in the record.",
            "Whoever strikes it writes what was entered wrong.",
            (p.AMENDED, TRUE_RECORD),
        ),
        "no-readings": Rule(
            "Enough pieces are read before anything is decided on them: two before a correction, two fresh "
            "ones before its result, one before an axis closes.",
            "Those on the job run test pieces under power and read them.",
            (p.TYPE_A, BEFORE_AND_AFTER, SITE_POLICY),
        ),
    },
)

CORRECTING = Topic(
    "Correct an axis",
    {
        "not-justified": Rule(
            "A correction is what the readings ask for, or goes back on one that made it worse. Against them "
            "it takes a reason, and is an exception in the records.",
            "Whoever corrects leaves the axis as it is, or writes the reason.",
            (p.AGREED_BEFORE, p.GUARD_BAND, COMMON_PRACTICE),
        ),
        "not-a-parameter": Rule(
            "Only what is described for the axis is changed.",
            "A safety officer describes the parameter with its limits.",
            (SITE_POLICY,),
        ),
        "beyond-limit": Rule(
            "The new value is within the limits of its parameter.",
            "Whoever corrects stays within them, and looks for what is worn, loose or bent.",
            (SITE_POLICY,),
        ),
        "nothing-changed": Rule(
            "Old and new value differ.", "Whoever corrects enters both as they are.", (RECORD,)
        ),
        "nothing-corrected": Rule(
            "A result is judged after a correction.", "Those on the job close the axis as it is.", (RECORD,)
        ),
    },
)

SETTINGS = Topic(
    "Save the machine's settings",
    {
        "copy-not-new": Rule(
            "The settings saved after the job are a save of their own: none overwrites another.",
            "Those on the job save them again under a new name.",
            (COMMON_PRACTICE,),
        ),
        "copy-unchanged": Rule(
            "After a correction the saved file differs from the one from before the job.",
            "Those on the job save the settings from the machine again, then attach that file.",
            (TRUE_RECORD, COMMON_PRACTICE),
        ),
    },
)
