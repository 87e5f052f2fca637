"""Every form of a permit's life, by hand: at which stage, by whom, with what, and what makes it wrong."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from permits.people.rules.roles import Role
from permits.plant.models import Tag
from permits.work.rules import commands as c
from permits.work.rules.words import CHECK_ITEMS, Seen
from tests.work.form_rows import (
    CODE_SHORT,
    LONG,
    NO_NUMBER,
    NOT_LISTED,
    PADLOCK,
    TOO_LONG,
    WORDS_MISSING,
    Fields,
    Form,
    ref,
)
from tests.work.forms_otherwise import OTHERWISE
from tests.work.the_job import FREED, ZONES, TheJob


def token(job: TheJob, code: str) -> str:
    return Tag.objects.get(site=job.site, node__code=code, withdrawn_at=None).token


def at_next_point(do: str, **fields: Any) -> Callable[[TheJob], Fields]:
    return lambda job: {"code": token(job, job.planned(do)[0]), **fields}


def readings(job: TheJob) -> Fields:
    """Zero at every point of the cell, as the page names its fields."""
    from permits.work.rules.proving import test_of

    graph, points = job.look().site.graph, job.look().permit.points
    return {
        f"r_{point}_{j}": "0"
        for point in points
        for j in range(len(test_of(graph[point]).combinations or ("",)))
    } | {"instrument": "VT-07", "proven_before": "on", "proven_after": "on"}


def watched(job: TheJob) -> None:
    job.do(c.ConfirmClear, "pia", areas=("C1-OUTFEED",), how=Seen.SELF, watching=True)


def worn(job: TheJob) -> None:
    job.finds = "feed roller worn"
    job.checked()


def back_with_a_defect(job: TheJob) -> None:
    job.finds = "feed roller worn"
    job.to("reenergised")


FORMS: dict[str, Form] = {
    "issue": Form(
        # Nothing but an issue or a cancel happens to a permit that was asked for; what becomes of the plant
        # is in test_pages_plant_news.py.
        stage="asked", refused_at="accepted", who="szczesny", role=Role.ISSUER, signed=True, lender="tamar",
        good=lambda job: {"holder": ref("odo"), "crew": [ref("wim")]},
        bad=(
            ("holder", "", "No holder is chosen; the technician in charge of the work would be right."),
            ("holder", "NOBODY", NOT_LISTED),
            ("crew", ["NOBODY"], NOT_LISTED),
        ),
        done="Issued.",
    ),
    "accept": Form(
        stage="issued", refused_at="told", who="odo", role=Role.TECHNICIAN, signed=True, fresh=True,
        good=lambda job: {"knows_energies": "on", "knows_hazards": "on", "knows_control": "on"},
        done="Accepted.",
    ),
    "extend": Form(
        stage="accepted", refused_at="closed", who="szczesny", role=Role.ISSUER,
        fresh=True, good=lambda job: {"hours": "9"},
        bad=(
            ("hours", "", "Nothing is entered; a whole number from 1 to 72 would be right."),
            ("hours", "many", NO_NUMBER + "1 to 72 would be right."),
            ("hours", "0", "0 is too little; a whole number from 1 to 72 would be right."),
            ("hours", "73", "73 is too much; a whole number from 1 to 72 would be right."),
        ),
        done="Extended.",
    ),
    "crew": Form(
        stage="accepted", refused_at="closed", who="odo", role=Role.TECHNICIAN,
        good=lambda job: {"who": ref("eleni")},
        bad=(("who", "", "Nobody is chosen"), ("who", "NOBODY", NOT_LISTED)), done="Named.",
    ),
    "tell": Form(
        stage="accepted", refused_at="closed", who="odo", role=Role.TECHNICIAN,
        good=lambda job: {"whom": "operators of lines 3 and 4", "how": "by radio"},
        bad=(("whom", "", WORDS_MISSING), ("how", "", WORDS_MISSING), ("whom", LONG, TOO_LONG)),
        done="Recorded who was told.",
    ),
    "cancel": Form(
        stage="accepted", refused_at="signed_off", who="odo", role=Role.TECHNICIAN, fresh=True,
        good=lambda job: {"why": "asked in error"},
        bad=(("why", "", WORDS_MISSING), ("why", LONG, TOO_LONG)), done="Cancelled.",
    ),
    "lock": Form(
        stage="told", refused_at="handed_back", who="odo", role=Role.TECHNICIAN, lends=True,
        good=at_next_point("lock", padlock="L-9", tag="T-9", position="off"),
        bad=(
            ("code", "", "The plate's code is missing"),
            ("code", "abc", CODE_SHORT),
            PADLOCK,
            ("padlock", "9" * 33, "33 characters are too many; 32 at most would be right."),
            ("tag", "", "The danger tag's number is missing; it is printed on the tag."),
            ("position", "", "The position is missing; say how the point stands, such as off."),
            ("position", "on", "“on” is no safe position; say how the point stands, such as off."),
        ),
        done="Locked.",
    ),
    "release": Form(
        stage="locked", refused_at="told", who="odo", role=Role.TECHNICIAN, lends=True,
        good=at_next_point("release", method="as on its plate", padlock="L-9", tag="T-9"),
        bad=(
            ("code", "", "The plate's code is missing"),
            ("code", "abc", CODE_SHORT),
            ("method", "", WORDS_MISSING),
            ("method", LONG, TOO_LONG),
        ),
        done="Released.",
    ),
    "verify": Form(
        stage="released", refused_at="locked", who="odo", role=Role.TECHNICIAN,
        lends=True, path="verify/C1/", good=readings,
        bad=(
            ("r_C1-QB1_0", "dead", "Not a number; such as 0.3 would be right."),
            ("r_C1-QB1_0", "1.23456", "Too many digits; as many as the instrument shows would be right."),
            ("instrument", "", "Nothing is written; the number on its plate would be right."),
        ),
        done="Readings recorded.",
    ),
    "try-start": Form(
        stage="released", refused_at="locked", who="odo", role=Role.TECHNICIAN,
        lends=True, path="try-start/C1/",
        good=lambda job: {
            "nobody_in_reach": "on", "controls_live": "on", "result": "dead", "back_to_neutral": "on",
        },
        bad=(
            ("result", "", "The result is missing; say whether anything moved."),
            ("result", "maybe", "“maybe” is not in the list now; choose from the list."),
        ),
        done="Recorded.",
    ),
    "sign-on": Form(
        stage="proven", refused_at="told", who="odo", role=Role.TECHNICIAN, lends=True, fresh=True,
        good=lambda job: {"padlock": "B-7"},
        bad=(("padlock", "9" * 33, "33 characters are too many; 32 at most would be right."),),
        done="Signed on.",
    ),
    "sign-off": Form(
        stage="signed_on", refused_at="signed_off", who="odo", role=Role.AFFECTED,
        lends=True, good=lambda job: {},
        done="Signed off.",
    ),
    "check": Form(
        stage="signed_on", refused_at="proven", who="odo", role=Role.TECHNICIAN, lends=True,
        good=lambda job: {item: "in order" for item, _ in CHECK_ITEMS},
        bad=(
            ("wear", "", "Not answered; look, then say in order or defect."),
            ("wear", "so-so", "“so-so” is not in the list now; choose from the list."),
            ("wear_note", "x" * 301, "301 characters are too many; 300 at most would be right."),
        ),
        done="Machine check recorded.",
    ),
    "defects": Form(
        stage="signed_on", refused_at="", who="odo", role=Role.TECHNICIAN, lends=True, arrange=worn,
        good=lambda job: {"defect": "0", "ended": "resolved", "how": "roller changed"},
        bad=(
            ("defect", "", "Nothing is chosen; choose from the list."),
            ("defect", "7", "“7” is not in the list now; choose from the list."),
            ("ended", "", "Say whether the defect is mended or accepted."),
            ("how", "", WORDS_MISSING),
        ),
        done="Recorded.",
    ),
    "confirm-clear": Form(
        stage="begun", refused_at="signed_on", who="pia", role=Role.AFFECTED, lends=True,
        good=lambda job: {"areas": list(ZONES), "how": "seen", "one_place": "on"},
        bad=(
            ("areas", [], "No area is ticked; tick those that you see now."),
            ("areas", ["C1-ROOF"], "“C1-ROOF” is not in the list now; choose from the list."),
            ("how", "", "Nothing is chosen; choose from the list."),
        ),
        done="Confirmed clear.",
    ),
    "leave-watch": Form(
        stage="begun", refused_at="begun", who="pia", role=Role.AFFECTED, lends=True, arrange=watched,
        good=lambda job: {}, done="Your watch has ended.",
    ),
    "sanction": Form(
        stage="signed_off", refused_at="sanctioned", who="szczesny", role=Role.ISSUER,
        signed=True, fresh=True, lender="tamar",
        good=lambda job: {
            "points": list(FREED), "limits": "Manual, one board at a time", "cycles": "3", "minutes": "60",
        },
        bad=(
            ("points", [], "No point is ticked; tick the points that the test needs, and no others."),
            ("points", ["P1-QB1"], "“P1-QB1” is not in the list now; choose from the list."),
            ("limits", "", WORDS_MISSING),
            ("cycles", "0", "0 is too little; a whole number from 1 to 20 would be right."),
            ("minutes", "soon", NO_NUMBER + "5 to 1440 would be right."),
        ),
        done="Sanction given.",
    ),
    "begin-cycle": Form(
        stage="sanctioned", refused_at="signed_off", who="odo", role=Role.TECHNICIAN, fresh=True,
        good=lambda job: {"tools_out": "on", "guards_on": "on"}, done="The cycle has begun.",
    ),
    "ready": Form(
        stage="cleared", refused_at="begun", who="odo", role=Role.TECHNICIAN, signed=True, fresh=True,
        good=lambda job: {}, done="Ready.",
    ),
    "re-isolate": Form(
        stage="live", refused_at="signed_off", who="odo", role=Role.TECHNICIAN, good=lambda job: {},
        done="Lock what is left",
    ),
    "end-sanction": Form(
        stage="sanctioned", refused_at="signed_off", who="odo", role=Role.TECHNICIAN,
        good=lambda job: {"why": "other work"}, bad=(("why", "", WORDS_MISSING),),
        done="The sanction has ended.",
    ),
    "hand-back": Form(
        stage="signed_off", refused_at="signed_on", who="odo", role=Role.TECHNICIAN,
        signed=True, fresh=True,
        good=lambda job: {
            "machine_whole": "on", "guards_on": "on", "tools_out": "on", "people_out": "on",
        },
        done="Handed back.",
    ),
    "remove-locks": Form(
        stage="handed_back", refused_at="signed_off", who="odo", role=Role.AFFECTED, lends=True, fresh=True,
        good=lambda job: {"points": ["C1-QB1"]},
        bad=(
            ("points", [], "No point is ticked; tick those that your lock is off."),
            ("points", ["P1-QB1"], "No lock of a permit hangs on P1-QB1; choose from the list."),
        ),
        done="Locks off.",
    ),
    "re-energise": Form(
        stage="cleared_again", refused_at="handed_back", who="odo", role=Role.TECHNICIAN, fresh=True,
        good=lambda job: {"visual_check": "on"}, done="Power is back.",
    ),
    "close": Form(
        stage="reenergised", refused_at="handed_back", who="odo", role=Role.TECHNICIAN,
        signed=True, fresh=True,
        good=lambda job: {}, done="Signed.",
    ),
    "out-of-use": Form(
        stage="signed_on", refused_at="reenergised", who="maud", role=Role.OFFICER,
        signed=True, fresh=True, lender="torvald",
        arrange=back_with_a_defect,
        good=lambda job: {"why": "no roller in the store"},
        bad=(("why", "", WORDS_MISSING), ("why", LONG, TOO_LONG)),
        done="Closed. The machine is out of use.",
    ),
    **OTHERWISE,
}  # fmt: skip


def url_of(name: str, job: TheJob) -> str:
    return f"{job.url}{FORMS[name].path or name + '/'}"
