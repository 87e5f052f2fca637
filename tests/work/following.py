"""Does what the next step says: the command, filled in by someone who does it well, for rules' tests."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import Decimal

from permits.work.rules import commands as c
from permits.work.rules.amending import lacking_points
from permits.work.rules.clearing import areas_to_confirm
from permits.work.rules.isolating import measure_demanded
from permits.work.rules.issuing import sharing_machines
from permits.work.rules.next_step import next_step
from permits.work.rules.proving import counts_now, test_of, to_verify
from permits.work.rules.reaching import is_undoable
from permits.work.rules.state import Permit, Site
from permits.work.rules.step import Step
from permits.work.rules.words import CHECK_ITEMS, CheckItem, Finding, Position, Reading, Seen

ELSEWHERE = ("job", "confirm-clear")  # a job's steps are calibration's; an area may have someone inside


def padlock_of(site: Site, person: str, where: str) -> str:
    """A number that only this person has, for this place."""
    return f"{person}-{where}"


def readings_at(site: Site, point: str) -> c.PointReadings:
    test = test_of(site.graph[point])
    pairs = test.combinations or ("",)
    return c.PointReadings(
        point=point, readings=tuple(Reading(Decimal(0), test.unit, pair) for pair in pairs)
    )


def told(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    return c.TellAffected(**who, whom="line 3", how="in person", covers_tests=True)


def issued(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    sharing = sharing_machines(site, p)
    coordinator = next((o.coordinator for o in sharing if o.coordinator), "sig")
    return c.IssuePermit(**who, holder=p.requested_by, coordinator=coordinator if sharing else "")


def accepted(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    return c.AcceptPermit(**who, knows_energies=True, knows_hazards=True, knows_control=True)


def locked(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    number = padlock_of(site, who["by"], f"{p.id}-{step.point}")
    lock = {"point": step.point, "padlock": number, "position": Position.OFF}
    if measure := measure_demanded(site, step.point):
        return c.ApplyLock(**who, **lock, tag="", measure_done=f"Done: {measure}")
    return c.ApplyLock(**who, **lock, tag=f"T-{number}")


def released(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    number = padlock_of(site, who["by"], f"{p.id}-{step.point}") if is_undoable(site, step.point) else ""
    tag = f"T-{number}" if number else ""
    return c.ReleaseStore(**who, point=step.point, method="as written", padlock=number, tag=tag)


def verified(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    untested = [pt for pt in to_verify(site, p, step.machine) if not p.is_verified(pt, who["at"])]
    due = [pt for pt in untested if counts_now(p, pt, who["at"])]
    return c.VerifyMachine(
        **who, machine=step.machine, points=tuple(readings_at(site, pt) for pt in due), instrument="VT-7",
        proven_before=True, proven_after=True,
    )  # fmt: skip


def signed_on(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    return c.SignOnCrew(**who, padlock=padlock_of(site, who["by"], f"{p.id}-box"))


def checked(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    return c.RecordMachineCheck(**who, items=tuple(CheckItem(item, Finding.OK) for item, _ in CHECK_ITEMS))


def defect_settled(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    number = p.open_defects[0][0]
    if "officer" in site.roles_of(who["by"]):
        return c.AcceptDefect(**who, defect=number, why="cosmetic")
    return c.ResolveDefect(**who, defect=number, how="mended")


def sanctioned(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    until = min(p.ends_at, who["at"] + timedelta(minutes=90))
    return c.GiveSanction(**who, points=p.points[:1], limits="jog only", cycles=2, until=until)


def begun(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    return c.BeginCycle(**who, tools_out=True, guards_on=True)


def removed(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    mine = {lock.where for lock in p.hanging if lock.owner == who["by"]}
    if p.sanction is not None:
        mine &= set(p.sanction.points)
    return c.RemoveLocks(**who, points=tuple(sorted(mine)) or tuple(sorted(p.released)))


def clear(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    return c.ConfirmClear(**who, areas=areas_to_confirm(site, p), how=Seen.SELF, one_place=True)


def job_opened(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    return c.OpenJob(**who, machine=site.machines_of(p.zones)[0])


def handed_back(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    return c.HandBack(
        **who,
        machine_whole=True,
        guards_on=True,
        tools_out=True,
        people_out=True,
        standstill=True,
        neutral=True,
    )


def crew_named(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    machines = site.machines_of(p.zones)
    can = (ref for ref in site.people if all(site.standing(ref, m, who["at"]).qualified for m in machines))
    return c.NameCrew(**who, person=next(ref for ref in can if not p.works_under_it(ref)))


def lifted(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    return c.LiftHalt(**who, how="looked at")


def taken_over(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    return c.AcceptHandover(**who, knows_energies=True, knows_hazards=True, knows_control=True)


def told_back(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    absent = next(ref for ref in site.untold if p.works_under_it(ref))
    return c.TellReturned(by=who["by"], at=who["at"], person=absent, how="at the gate")


def amended(site: Site, p: Permit, step: Step, who: dict) -> c.Command:
    lock, release = lacking_points(site, p)
    return c.AmendPlan(**who, lock=lock, release=release, why="energy came another way")


DO: dict[str, Callable[[Site, Permit, Step, dict], c.Command]] = {
    "issue": issued,
    "accept": accepted,
    "cancel": lambda site, p, step, who: c.CancelPermit(**who, why="not needed"),
    "tell": told,
    "name-crew": crew_named,
    "lock": locked,
    "release": released,
    "verify": verified,
    "sign-on": signed_on,
    "sign-off": lambda site, p, step, who: c.SignOffCrew(**who),
    "check": checked,
    "defects": defect_settled,
    "sanction": sanctioned,
    "begin-cycle": begun,
    "remove-locks": removed,
    "confirm-clear": clear,
    "ready": lambda site, p, step, who: c.Ready(**who),
    "reisolate": lambda site, p, step, who: c.Reisolate(**who),
    "open-job": job_opened,
    "job": lambda site, p, step, who: c.CloseJob(**who, job=p.open_jobs[0][1].number),
    "hand-back": handed_back,
    "reenergise": lambda site, p, step, who: c.Reenergise(**who, visual_check=True),
    "lift-halt": lifted,
    "tell-returned": told_back,
    "end-emergency": lambda site, p, step, who: c.EndEmergency(by=who["by"], at=who["at"], how="put out"),
    "end-paper": lambda site, p, step, who: c.EndPaper(
        by=who["by"], at=who["at"], how="all entered", all_inside_signed_on=True
    ),
    "withdraw-handover": lambda site, p, step, who: c.WithdrawHandover(**who, why="its time is over"),
    "accept-handover": taken_over,
    "amend": amended,
    "close": lambda site, p, step, who: c.SignClosed(**who),
}


def following(site: Site, permit: str, person: str, now: datetime) -> c.Command | None:
    """The command of this person's next step under the permit; None while they wait."""
    p = site.permits[permit]
    step = next_step(site, p, person, now)
    if not step.action:
        return None
    return DO[step.action](site, p, step, {"permit": permit, "by": person, "at": now})
