"""A permit on the demo plant to which everything happens that can go otherwise, through the rooms' actions.

Stopped with people inside, one of whom went home; an emergency; a suspension; handed over at the change of
shift, with a lock left behind; a plan that lacked a point; the end of the work on printed forms.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from permits.work.actions import perform
from permits.work.rules import commands as c
from permits.work.rules.words import BOX, Position
from tests.records import job as jobs
from tests.records.job import Job, remembered

ADDED = "P1-QB1"
"""A point of another machine, which the plan did not have at first."""


def of_site(job: Job, command: type[c.Ask], by: str, **fields: Any) -> list[Any]:
    """A command about the whole site."""
    return job.do(command, by, permit="", **fields)


def absent(job: Job, owner: str, where: str = BOX, *, by: str = "maud", second: str = "torvald") -> Job:
    job.do(
        c.TakeOffForAbsent, by, where=where, owner=job.ref(owner), second=job.ref(second),
        not_on_site="The gate's list says he left at ten", tried="Telephone twice, his brother once",
        searched="All three zones, by both" if where == BOX else "",
    )  # fmt: skip
    return job


def told_back(job: Job, person: str, *, by: str = "torvald") -> Job:
    of_site(job, c.TellReturned, by, person=job.ref(person), how="At the gate, in person")
    return job


def stop(job: Job, by: str = "pia", why: str = "Smoke at the blade drive") -> Job:
    job.do(c.StopWork, by, why=why)
    return job


def lift(job: Job, by: str = "maud", how: str = "A seal was hot; looked at, replaced") -> Job:
    job.do(c.LiftHalt, by, how=how)
    return job


def stopped_with_someone_gone(job: Job) -> Job:
    """Two inside when it is stopped; one of them has gone home and is signed off in his absence."""
    jobs.isolated(job).sign_on("odo", "201").sign_on("wim", "202").check()
    stop(job).sign_off("odo")
    return lift(absent(job, "wim"))


def emergency(job: Job) -> Job:
    of_site(job, c.DeclareEmergency, "maud", why="Fire alarm in hall 2")
    of_site(job, c.EndEmergency, "torvald", how="A false alarm, says the fire brigade")
    return lift(job, how="The alarm was false")


def suspension(job: Job) -> Job:
    job.do(c.SuspendPermit, job.holder, why="Waiting for the seal")
    return lift(job, job.holder, how="The seal is here")


def handed_over(job: Job, to: str = "eleni", *, left_behind: str = "C1-QB1") -> Job:
    """The next shift locks first, then takes over; one lock of the old holder is left and taken off."""
    job.verify()
    before, job.holder = job.holder, to
    job.do(c.OfferHandover, before, to=job.ref(to))
    _, p = job.state()
    points = [lock.where for lock in p.hanging if lock.owner == job.ref(before)]
    for number, point in enumerate(points, start=1):
        own = {"padlock": str(300 + number), "tag": str(7300 + number)}
        position = Position.CLOSED if point.endswith("QM1") else Position.OFF
        job.do(c.ApplyLock, to, point=point, position=position, **own)
    job.do(c.AcceptHandover, to, knows_energies=True, knows_hazards=True, knows_control=True)
    job.do(c.RemoveLocks, before, points=tuple(point for point in points if point != left_behind))
    return absent(job, before, left_behind)


def amended(job: Job, by: str = "szczesny") -> Job:
    job.do(c.AmendPlan, by, lock=(ADDED,), why="The press feeds the outfeed through a jumper")
    job.do(c.TellAffected, job.holder, wait=0, whom="operators of lines 3 and 4", how="by telephone")
    job.do(c.ApplyLock, job.holder, point=ADDED, position=Position.OFF, padlock="320", tag="7320")
    return job.verify()


def late(job: Job, what: type[c.Ask], by: str, *, ago: float, form: str, **fields: Any) -> Job:
    """Something that happened on paper `ago` minutes before, entered by an issuer and an officer."""
    at = job.next()
    asked = what(permit=job.permit, by=job.ref(by), at=at, **fields)
    command = c.EnterLate(
        permit=job.permit, by=job.ref("tamar"), at=at, what=asked, second=job.ref("maud"), form=form,
        happened_at=at - timedelta(minutes=ago),
    )  # fmt: skip
    perform(site=job.site, command=command, by=job.people["tamar"].author)
    return job


def on_paper(job: Job) -> Job:
    """The server was down for two hours, in which the machine was handed back and the locks came off."""
    job.next(120)
    of_site(job, c.DeclarePaper, "maud", since=job.at(job.minute - 100), why="No power in the server room")
    late(
        job, c.HandBack, job.holder, ago=70, form="F-7", machine_whole=True, guards_on=True, tools_out=True,
        people_out=True, standstill=True, neutral=True,
    )  # fmt: skip
    _, p = job.state()
    points = tuple(lock.where for lock in reversed(p.hanging))
    late(job, c.RemoveLocks, job.holder, ago=60, form="F-8", points=points)
    of_site(job, c.EndPaper, "maud", how="Forms F-7 and F-8, in the folder of this permit",
        all_inside_signed_on=True,
    )
    return job


@remembered
def otherwise(job: Job) -> Job:
    """All of it, one after the other, up to the end of the permit. Wim is told, Odo is not yet."""
    told_back(emergency(stopped_with_someone_gone(job)), "wim")
    amended(handed_over(suspension(job)))
    on_paper(job).tell(reached="").clear().reenergise()
    return job.close(job.holder, "tamar")
