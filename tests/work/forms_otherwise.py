"""The forms of what goes otherwise, by hand, as rows of the table in every_form.py."""

from __future__ import annotations

from datetime import timedelta
from zoneinfo import ZoneInfo

from django.utils.timezone import now

from permits.people.rules.roles import Role
from permits.work.rules import commands as c
from tests.cast import PIN
from tests.work.form_rows import LONG, NOT_LISTED, TOO_LONG, WORDS_MISSING, Fields, Form, ref
from tests.work.the_job import TheJob


def stopped(job: TheJob) -> None:
    job.do(c.StopWork, "pia", why="smoke at the drive")


def offered(job: TheJob) -> None:
    job.do(c.OfferHandover, "odo", to=ref("eleni"))


def on_paper(job: TheJob) -> None:
    job.do(c.DeclarePaper, "maud", since=job.at, why="no power at the server")


def by_the_clock(job: TheJob, *, minutes_ago: int) -> str:
    """A time as the browser's own field sends it, by the plant's clock."""
    at = now() - timedelta(minutes=minutes_ago)
    return at.astimezone(ZoneInfo(job.site.timezone)).strftime("%Y-%m-%dT%H:%M")


def second(sign_in: str) -> Fields:
    return {"second_sign_in": sign_in, "second_pin": PIN[sign_in]}


NOBODY_CHOSEN = "Nobody is chosen; a technician who is authorised for the machine would be right."
KNOWS = {"knows_energies": "on", "knows_hazards": "on", "knows_control": "on"}


def no_second(first: str) -> tuple[tuple[str, str, str], ...]:
    """What is wrong with a second signature, whatever it is for."""
    return (
        (
            "second_sign_in", "",
            "The second person is missing; the name that they sign in with would be right.",
        ),
        (
            "second_sign_in", f" {first.upper()} ",
            "This is the first person once more; someone else of this site would be right.",
        ),
        ("second_sign_in", "nobody", "Nobody at Quillfen Panel Works signs in as 'nobody'"),
        ("second_pin", "", "The second person's PIN is missing; they type it themselves."),
    )  # fmt: skip


OTHERWISE: dict[str, Form] = {
    "stop": Form(
        stage="signed_on", refused_at="closed", who="pia", role=Role.AFFECTED,
        good=lambda job: {"why": "smoke at the drive"}, bad=(("why", LONG, TOO_LONG),), done="Stopped.",
    ),
    "suspend": Form(
        stage="signed_on", refused_at="issued", who="odo", role=Role.TECHNICIAN,
        good=lambda job: {"why": "lightning"},
        bad=(("why", "", WORDS_MISSING), ("why", LONG, TOO_LONG)), done="Suspended.",
    ),
    "lift": Form(
        stage="told", refused_at="told", who="maud", role=Role.OFFICER, signed=True, fresh=True,
        lender="torvald", arrange=stopped,
        good=lambda job: {"how": "a hot bearing, cooled and greased"},
        bad=(("how", "", WORDS_MISSING), ("how", LONG, TOO_LONG)), done="Lifted.",
    ),
    "hand-over": Form(
        stage="proven", refused_at="issued", who="odo", role=Role.TECHNICIAN, signed=True, fresh=True,
        good=lambda job: {"to": ref("eleni")},
        bad=(("to", "", NOBODY_CHOSEN), ("to", "NOBODY", NOT_LISTED)), done="Offered.",
    ),
    "take-over": Form(
        stage="told", refused_at="told", who="eleni", role=Role.TECHNICIAN, signed=True, fresh=True,
        arrange=offered, good=lambda job: dict(KNOWS), done="Taken over.",
    ),
    "withdraw-handover": Form(
        stage="told", refused_at="told", who="odo", role=Role.TECHNICIAN, arrange=offered,
        good=lambda job: {"why": "stays for the evening"},
        bad=(("why", "", WORDS_MISSING), ("why", LONG, TOO_LONG)), done="Withdrawn.",
    ),
    "new-holder": Form(
        stage="told", refused_at="issued", who="maud", role=Role.OFFICER, signed=True, fresh=True,
        lender="torvald", good=lambda job: {"to": ref("eleni"), "why": "went home ill"},
        bad=(
            ("to", "", NOBODY_CHOSEN), ("to", "NOBODY", NOT_LISTED), ("why", "", WORDS_MISSING),
            ("why", LONG, TOO_LONG),
        ),
        done="Named.",
    ),
    "amend": Form(
        stage="told", refused_at="begun", who="szczesny", role=Role.ISSUER, signed=True, fresh=True,
        lender="tamar", good=lambda job: {"others": ["P1-QB1"], "why": "the press is to stand still"},
        bad=(("others", ["NOBODY"], NOT_LISTED), ("why", "", WORDS_MISSING), ("why", LONG, TOO_LONG)),
        done="Added.",
    ),
    "absent": Form(
        stage="signed_on", refused_at="", who="maud", role=Role.OFFICER, signed=True, fresh=True,
        lender="torvald",
        good=lambda job: {
            "which": f"{ref('odo')} box", "not_on_site": "gate list", "tried": "telephone, home",
            "searched": "Maud and Torvald, every zone", **second("torvald"),
        },
        bad=(
            ("which", "", "No lock is chosen; one of those that hang now would be right."),
            ("which", "NOBODY box", "This lock does not hang now; choose from the list."),
            ("not_on_site", "", WORDS_MISSING),
            ("tried", "", WORDS_MISSING),
            ("tried", LONG, TOO_LONG),
            *no_second("maud"),
        ),
        done="Taken off.",
    ),
    "acknowledge": Form(
        stage="told", refused_at="", who="pia", role=Role.AFFECTED, lends=True,
        good=lambda job: {"notice": "0"},
        bad=(
            ("notice", "", "No notice is chosen; the one that reached you would be right."),
            ("notice", "7", "“7” is not in the list now; choose from the list."),
        ),
        done="Recorded that it reached you.",
    ),
    "enter-late": Form(
        stage="told", refused_at="", who="szczesny", role=Role.ISSUER, signed=True, fresh=True,
        lender="tamar", path="enter-late/told/", arrange=on_paper,
        good=lambda job: {
            "who": ref("odo"), "happened_at": by_the_clock(job, minutes_ago=30), "printed": "F-7",
            "said": "lockout", "whom": "the night shift", "how": "in person", **second("tamar"),
        },
        bad=(
            ("who", "", "Nobody is chosen; whoever did it, by the printed form, would be right."),
            ("who", "NOBODY", NOT_LISTED),
            ("happened_at", "", "The time is missing; a day and a time would be right"),
            ("happened_at", "at noon", "Not a time; a day and a time would be right"),
            ("happened_at", "2026-03-29T01:30", "The clocks changed at this time"),
            ("printed", "", "Nothing is written; the number at its foot would be right."),
            ("whom", "", WORDS_MISSING),
            *no_second("szczesny"),
        ),
        done="Entered late.",
    ),
}  # fmt: skip
