"""What people ask for, by topic: every command with every person and parameter of a small plant.

Also what they should not ask for: each command by the wrong person, with another's padlock, with a thing left
unsaid. The rules refuse these, so they add no state; with a guard taken away they show what it is for.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal

from permits.plant.rules.energy import Kind
from permits.work.rules import commands as c
from permits.work.rules.proving import test_of
from permits.work.rules.reaching import is_undoable
from permits.work.rules.state import Permit, Site
from permits.work.rules.words import BOX, CHECK_ITEMS, CheckItem, Finding, Position, Reading, Seen

from .moving import Move
from .places import EXTENDED, IDA, LATER, NOW, ODO, PEOPLE, TECHNICIANS, padlock

UNDERSTOOD = {"knows_energies": True, "knows_hazards": True, "knows_control": True}
RESTORED = {"machine_whole": True, "guards_on": True, "tools_out": True, "people_out": True}
AT_REST = {"standstill": True, "neutral": True}


def by(p: Permit, who: str) -> dict[str, object]:
    return {"permit": p.id, "by": who, "at": NOW}


def says(who: str, p: Permit, does: str, command: c.Command) -> Move:
    return Move(f"{who} {does} [{p.id}]", command)


# ── papers ──────────────────────────────────────────────────────────────────────────────────────────────


def papers(p: Permit) -> Iterator[Move]:
    """Issue, accept, cancel, extend."""
    for who in (IDA, ODO):
        for holder, crew in ((ODO, ()), (ODO, TECHNICIANS[1:]), (IDA, ())):
            named = f"issues to {holder}{''.join(f' and {one}' for one in crew)}"
            issued = c.IssuePermit(**by(p, who), holder=holder, crew=crew, coordinator=IDA)
            yield says(who, p, named, issued)
    for who in TECHNICIANS:
        yield says(who, p, "accepts", c.AcceptPermit(**by(p, who), **UNDERSTOOD))
    without = c.AcceptPermit(**by(p, ODO), **{**UNDERSTOOD, "knows_hazards": False})
    yield says(ODO, p, "accepts without knowing the hazards", without)
    yield from ends(p)


def ends(p: Permit) -> Iterator[Move]:
    for who in (p.holder or ODO, *(other for other in TECHNICIANS if other != (p.holder or ODO))):
        yield says(who, p, "cancels", c.CancelPermit(**by(p, who), why="not needed"))


def more_time(p: Permit) -> Iterator[Move]:
    """A little longer than it runs already: how long that is, is forgotten."""
    until = EXTENDED if p.ends_at < EXTENDED else p.ends_at + timedelta(minutes=1)
    for who in (IDA, ODO):
        yield says(who, p, "extends", c.ExtendPermit(**by(p, who), until=until))


def notices(p: Permit) -> Iterator[Move]:
    """Said before, with the tests; said after, without: the first covers what comes between."""
    tests = p.phase.value != "restoring"
    told = c.TellAffected(**by(p, p.holder or ODO), whom="line", how="called", covers_tests=tests)
    yield says(p.holder or ODO, p, "tells", told)


def quiet_notice(p: Permit) -> Iterator[Move]:
    """Told that it is locked out, not that it will be started for tests."""
    if p.phase.value != "restoring":
        told = c.TellAffected(**by(p, p.holder or ODO), whom="line", how="called")
        yield says(p.holder or ODO, p, "tells, but not of tests", told)


# ── isolate ─────────────────────────────────────────────────────────────────────────────────────────────


def locks(p: Permit, who: str, *points: str) -> Iterator[Move]:
    for point in points or p.points:
        number = padlock(who, point, p.id)
        asked = c.ApplyLock(**by(p, who), point=point, padlock=number, tag="T", position=Position.OFF)
        yield says(who, p, f"locks {point}", asked)


def wrong_locks(p: Permit, who: str, other: str) -> Iterator[Move]:
    """With another's padlock; with one that belongs elsewhere; with none."""
    for point in p.points:
        for whose, where in ((other, point), (who, BOX)):
            number = padlock(whose, where, p.id)
            asked = c.ApplyLock(**by(p, who), point=point, padlock=number, tag="T", position=Position.OFF)
            yield says(who, p, f"locks {point} with padlock {number}", asked)
        bare = c.ApplyLock(**by(p, who), point=point, padlock="", tag="T", position=Position.OFF)
        yield says(who, p, f"locks {point} without a padlock", bare)


def releases(site: Site, p: Permit, who: str) -> Iterator[Move]:
    stores = [n.id for n in site.graph.nodes.values() if n.kind is Kind.STORE]
    for point in stores:
        number = padlock(who, point, p.id) if is_undoable(site, point) else ""
        asked = c.ReleaseStore(
            **by(p, who), point=point, method="as written", padlock=number, tag="T" if number else ""
        )
        yield says(who, p, f"releases {point}", asked)
        if number:
            bare = c.ReleaseStore(**by(p, who), point=point, method="as written")
            yield says(who, p, f"releases {point} without a padlock", bare)


def removals(p: Permit, *people: str) -> Iterator[Move]:
    for who in people:
        for point in p.points:
            yield says(who, p, f"takes lock off {point}", c.RemoveLocks(**by(p, who), points=(point,)))


def proofs(site: Site, p: Permit, *people: str, failing: bool = False) -> Iterator[Move]:
    """All points of a machine are read at once, each dead; and, if asked, each live."""
    machines = dict.fromkeys(site.graph[point].machine for point in p.points)
    for who in people:
        for machine in machines:
            mine = [point for point in p.points if site.graph[point].machine == machine]
            yield says(who, p, f"tests {machine}", verifies(site, p, who, machine, mine, "0"))
            if failing and who == people[0]:
                yield says(who, p, f"finds {machine} live", verifies(site, p, who, machine, mine, "300"))


def verifies(site: Site, p: Permit, who: str, machine: str, points: list[str], value: str) -> c.VerifyMachine:
    read = tuple(
        c.PointReadings(point=point, readings=(Reading(Decimal(value), test_of(site.graph[point]).unit),))
        for point in points
    )
    return c.VerifyMachine(
        **by(p, who), machine=machine, points=read, instrument="V1", proven_before=True, proven_after=True
    )


def tries(site: Site, p: Permit, who: str) -> Iterator[Move]:
    """The controls are tried and the machine stays dead; once, too, it starts."""
    for machine in dict.fromkeys(site.graph[point].machine for point in p.points):
        for dead in (True, False):
            asked = c.TryStart(
                **by(p, who), machine=machine, stayed_dead=dead, nobody_in_reach=True, controls_live=True,
                back_to_neutral=True,
            )  # fmt: skip
            yield says(who, p, f"tries {machine}: {'dead' if dead else 'it starts'}", asked)


# ── inside ──────────────────────────────────────────────────────────────────────────────────────────────


def going_in(p: Permit, who: str, *, bare: bool = False) -> Iterator[Move]:
    yield says(who, p, "signs on", c.SignOnCrew(**by(p, who), padlock=padlock(who, BOX, p.id)))
    yield says(who, p, "signs off", c.SignOffCrew(**by(p, who)))
    if bare:
        yield says(who, p, "signs on without a padlock", c.SignOnCrew(**by(p, who)))


def looking_over(p: Permit, who: str, *, defects: bool = False) -> Iterator[Move]:
    """The machine check. A defect is found once at a time, so that their number stays finite."""
    fine = tuple(CheckItem(item, Finding.OK) for item, _ in CHECK_ITEMS)
    yield says(who, p, "checks the machine", c.RecordMachineCheck(**by(p, who), items=fine))
    if not defects:
        return
    if not p.open_defects:
        bad = (CheckItem(fine[0].item, Finding.DEFECT, "jammed"), *fine[1:])
        yield says(who, p, "finds a defect", c.RecordMachineCheck(**by(p, who), items=bad))
    listed = [("the defect", number) for number, _ in p.open_defects]
    for which, number in (*listed, ("a defect not listed", len(p.defects))):
        mended = c.ResolveDefect(**by(p, who), defect=number, how="mended")
        yield says(who, p, f"mends {which}", mended)
        for judge in (IDA, ODO):
            taken = c.AcceptDefect(**by(p, judge), defect=number, why="does not matter")
            yield says(judge, p, f"accepts {which}", taken)


# ── test under power ────────────────────────────────────────────────────────────────────────────────────


def clearing(
    site: Site, p: Permit, *people: str, watching: tuple[bool, ...] = (False, True)
) -> Iterator[Move]:
    """All areas at once, from one place, or kept under watch."""
    areas = tuple(n.id for n in site.graph.danger_areas)
    for who in people:
        for watches in watching:
            asked = c.ConfirmClear(**by(p, who), areas=areas, how=Seen.SELF, one_place=True, watching=watches)
            yield says(who, p, "keeps watch" if watches else "sees the areas clear", asked)
        if True in watching:
            yield says(who, p, "leaves the watch", c.LeaveWatch(**by(p, who)))


def by_radio(at: Site, p: Permit, who: str, *, sees: str) -> Iterator[Move]:
    """All areas at once, told by somebody who sees them; or by nobody knows whom."""
    areas = tuple(n.id for n in at.graph.danger_areas)
    for named, words in ((sees, sees), ("", "somebody")):
        asked = c.ConfirmClear(
            **by(p, who), areas=areas, how=Seen.RADIO, one_place=True, watching=False, seen_by=named
        )
        yield says(who, p, f"hears from {words} that the areas are clear", asked)


def sanctions(p: Permit, *points: str, by_whom: tuple[str, ...] = (IDA,), cycles: int = 1) -> Iterator[Move]:
    for who in by_whom:
        given = c.GiveSanction(
            **by(p, who), points=points or p.points, limits="jog", cycles=cycles, until=LATER
        )
        yield says(who, p, f"sanctions {', '.join(points or p.points)}", given)
    yield says(p.holder or ODO, p, "ends the sanction", c.EndSanction(**by(p, p.holder or ODO), why="enough"))


def cycles(p: Permit, *people: str) -> Iterator[Move]:
    for who in people:
        begun = c.BeginCycle(**by(p, who), tools_out=True, guards_on=True)
        yield says(who, p, "begins a cycle", begun)
        yield says(who, p, "signs ready", c.Ready(**by(p, who)))
    yield says(people[0], p, "re-isolates", c.Reisolate(**by(p, people[0])))


def careless_cycles(p: Permit, who: str) -> Iterator[Move]:
    for left_out in ("tools_out", "guards_on"):
        told = {"tools_out": True, "guards_on": True, left_out: False}
        yield says(who, p, f"begins a cycle, not {left_out}", c.BeginCycle(**by(p, who), **told))


# ── hand back, restore, close ───────────────────────────────────────────────────────────────────────────


def restoring(p: Permit, *people: str) -> Iterator[Move]:
    """Hand back, power back, sign closed."""
    for who in people:
        yield says(who, p, "hands back", c.HandBack(**by(p, who), **RESTORED, **AT_REST))
        yield says(who, p, "re-energises", c.Reenergise(**by(p, who), visual_check=True))
    for who in PEOPLE:
        yield says(who, p, "signs closed", c.SignClosed(**by(p, who)))


def careless_restoring(p: Permit, who: str) -> Iterator[Move]:
    for left_out in (*RESTORED, *AT_REST):
        told = {**RESTORED, **AT_REST, left_out: False}
        yield says(who, p, f"hands back, not {left_out}", c.HandBack(**by(p, who), **told))
    yield says(who, p, "re-energises without a look", c.Reenergise(**by(p, who), visual_check=False))


def out_of_use(p: Permit) -> Iterator[Move]:
    for who in (IDA, ODO):
        yield says(who, p, "closes it out of use", c.CloseOutOfUse(**by(p, who), why="not to be proven now"))


def jobs(p: Permit, who: str, *, machine: str) -> Iterator[Move]:
    """One calibration job with one axis."""
    yield says(who, p, "opens a job", c.OpenJob(**by(p, who), machine=machine))
    number = p.open_jobs[0][1].number if p.open_jobs else len(p.jobs) + 1
    yield says(who, p, "corrects the axis", c.CorrectAxis(**by(p, who), job=number, axis="length"))
    yield says(who, p, "closes the job", c.CloseJob(**by(p, who), job=number))
    yield says(who, p, "proves the axis", c.ProveAxis(**by(p, who), job=number, axis="length"))
    yield says(who, p, "takes a reading", c.TakeReading(**by(p, who), job=number))
