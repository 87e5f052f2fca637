"""What happens under a permit while a form of the table lies open, by hand, and what its page then says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta

from django.utils.timezone import now

from permits.work.rules import commands as c
from permits.work.rules.words import Position
from tests.work.form_rows import ref
from tests.work.the_job import FREED, TheJob


@dataclass(frozen=True, kw_only=True)
class Meanwhile:
    """`happens` concerns the form; its page then `says` so.

    `then`: what it is refused for when it is sent again. `narrower`: the form asks for less by then.
    """

    happens: Callable[[TheJob], None]
    says: str
    then: frozenset[str] = frozenset()
    narrower: bool = False


def extended(job: TheJob) -> None:
    """Concerns no step but those for which nothing may have happened."""
    job.do(c.ExtendPermit, "szczesny", until=job.row.ends_at + timedelta(hours=1))


def told(job: TheJob) -> None:
    job.do(c.TellAffected, "odo", whom="the night shift", how="by radio")


def stopped(job: TheJob) -> None:
    job.do(c.StopWork, "pia", why="smoke at the drive")


def stopped_and_lifted(job: TheJob) -> None:
    stopped(job)
    job.do(c.LiftHalt, "maud", how="a hot bearing, cooled")


def issued_by_another(job: TheJob) -> None:
    job.do(c.IssuePermit, "tamar", holder=ref("odo"), crew=())


def put_on(job: TheJob, who: str, point: str, padlock: str) -> None:
    job.do(c.ApplyLock, who, point=point, padlock=padlock, tag="T-77", position=Position.OFF)


def on_and_off(job: TheJob) -> None:
    """Wim's lock hangs at the next point for a while."""
    point = job.planned("lock")[0]
    put_on(job, "wim", point, "W-1")
    job.do(c.RemoveLocks, "wim", points=(point,))


def off_and_on(job: TheJob) -> None:
    job.do(c.RemoveLocks, "odo", points=("C1-QB1",))
    put_on(job, "odo", "C1-QB1", "O-90")


def proven_by_odo(job: TheJob) -> None:
    job.proven()


def checked(job: TheJob) -> None:
    job.finds = ""
    job.checked()


def reisolating(job: TheJob) -> None:
    job.do(c.Reisolate, "odo")


def locked_by_wim(job: TheJob) -> None:
    put_on(job, "wim", FREED[0], "W-1")


def another_sanction(job: TheJob) -> None:
    job.do(c.EndSanction, "szczesny", why="the limits were wrong")
    terms = {"limits": "Slow, one board", "cycles": 1, "until": now() + timedelta(minutes=30)}
    job.do(c.GiveSanction, "szczesny", points=FREED, **terms)


def offered_to_another(job: TheJob) -> None:
    job.do(c.WithdrawHandover, "odo", why="she is ill")
    job.do(c.OfferHandover, "odo", to=ref("ruben"))


EXTENDED = Meanwhile(happens=extended, says="was given more time by Szczęsny")

MEANWHILE: dict[str, Meanwhile] = {
    "issue": Meanwhile(
        happens=issued_by_another, says="was issued by თამარ ველისციხელი", then=frozenset({"wrong-phase"})
    ),
    "lift": Meanwhile(happens=told, says="Affected people were told by Odo Kestrelman"),
    "enter-late": Meanwhile(happens=told, says="Affected people were told by Odo Kestrelman"),
    "crew": Meanwhile(happens=stopped_and_lifted, says="was stopped or suspended (smoke at the drive) by"),
    "tell": Meanwhile(happens=stopped_and_lifted, says="was lifted by"),
    "lock": Meanwhile(happens=on_and_off, says="took a lock off"),
    "release": Meanwhile(happens=off_and_on, says="Odo Kestrelman took a lock off"),
    "verify": Meanwhile(happens=proven_by_odo, says="was tested by Odo Kestrelman"),
    "try-start": Meanwhile(happens=proven_by_odo, says="was tested by Odo Kestrelman"),
    "check": Meanwhile(happens=checked, says="The machine was checked by Odo Kestrelman"),
    "defects": Meanwhile(happens=checked, says="The machine was checked by Odo Kestrelman"),
    "confirm-clear": Meanwhile(happens=reisolating, says="re-isolating was begun by Odo Kestrelman"),
    "re-isolate": Meanwhile(
        happens=locked_by_wim, says="The sanction ended", then=frozenset({"wrong-phase"}), narrower=True
    ),
    "end-sanction": Meanwhile(happens=another_sanction, says="a test was sanctioned by"),
    "withdraw-handover": Meanwhile(happens=offered_to_another, says="was handed to Ruben"),
}

# Right to do whatever happened: a stop came in between, and they go through all the same.
# A stop ends a watch: whoever kept it is told that they keep none.
WHATEVER_HAPPENED = ("stop", "suspend", "sign-off", "leave-watch", "acknowledge")
