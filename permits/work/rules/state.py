"""A site and its open permits as the rules see them. What an event does to them is in evolve.py."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from zoneinfo import ZoneInfo

from permits.people.rules.hosting import Hosting
from permits.people.rules.standing import Grant, Standing, standing
from permits.plant.rules.energy import Graph
from permits.plant.rules.exposure import downstream

from .commands import SIGNED, AmendPlan
from .words import (
    BOX,
    Acknowledgement,
    Confirmation,
    Declared,
    Defect,
    DefectState,
    Halt,
    HaltKind,
    Job,
    Lock,
    MachineCheck,
    Notice,
    OutOfUse,
    Phase,
    Policy,
    Sanction,
    Signature,
    SignOn,
    Stage,
    StoreRelease,
    Verification,
)


@dataclass(frozen=True, slots=True)
class Person:
    """Someone of the site: roles by name, authorisations per machine.

    `employer`: of a contractor, "" for the site's own people; `hosting`: who answers for a contractor here.
    """

    ref: str
    name: str
    roles: frozenset[str] = frozenset()
    authorisations: tuple[Grant, ...] = ()
    employer: str = ""
    hosting: Hosting | None = None


@dataclass(frozen=True, slots=True)
class Procedure:
    """The approved written procedure of a machine, as far as issuing a permit needs it."""

    machine: str
    revision: int
    zones: tuple[str, ...]
    lock: tuple[str, ...]
    release: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Permit:
    """One permit: what was asked, who is in charge, and everything that hangs, was tested or was said.

    Tuples keep what has ended (a lock taken off, a verification that is void), each with its end time, so the
    position in the tuple is the thing's number within the permit.
    """

    id: str
    number: int
    phase: Phase
    zones: tuple[str, ...]
    keep_live: tuple[str, ...]
    kind_of_work: str
    reason: str
    requested_by: str
    requested_at: datetime
    starts_at: datetime
    ends_at: datetime
    plan_lock: tuple[str, ...]
    plan_release: tuple[str, ...]
    plan_order: tuple[tuple[str, str], ...]
    proven_cheapest: bool = True
    issuer: str = ""
    holder: str = ""
    crew_named: tuple[str, ...] = ()
    coordinator: str = ""
    next_holder: str = ""  # to whom it is handed over, until they accept
    holder_gone: bool = False  # an officer named the next holder, since the holder is absent
    procedures: tuple[tuple[str, int], ...] = ()
    own_issue: bool = False
    stopped_because: str = ""  # why isolation was lost, until it is proven again
    stopped_path: tuple[str, ...] = ()
    expired_at: datetime | None = None
    ever_signed_on: bool = False
    checked: bool = False  # the machine check stands; a stop asks for it again
    reenergised_at: datetime | None = None
    in_service: bool = False
    out_of_use: bool = False  # an officer closed it with its machines not proven
    ended_at: datetime | None = None
    locks: tuple[Lock, ...] = ()
    releases: tuple[StoreRelease, ...] = ()
    verifications: tuple[Verification, ...] = ()
    crew: tuple[SignOn, ...] = ()
    notices: tuple[Notice, ...] = ()
    checks: tuple[MachineCheck, ...] = ()
    defects: tuple[Defect, ...] = ()
    confirmations: tuple[Confirmation, ...] = ()
    sanctions: tuple[Sanction, ...] = ()
    jobs: tuple[Job, ...] = ()
    signatures: tuple[Signature, ...] = ()
    halts: tuple[Halt, ...] = ()
    acknowledgements: tuple[Acknowledgement, ...] = ()

    @property
    def points(self) -> tuple[str, ...]:
        """The plan's points in the order in which they are made safe."""
        return tuple(point for do, point in self.plan_order if do in ("lock", "release"))

    @property
    def hanging(self) -> tuple[Lock, ...]:
        """Point locks of this permit that hang now (box locks are `crew`)."""
        return tuple(lock for lock in self.locks if lock.removed_at is None and lock.where != BOX)

    @property
    def locked(self) -> frozenset[str]:
        return frozenset(lock.where for lock in self.hanging)

    @property
    def released(self) -> frozenset[str]:
        return frozenset(r.point for r in self.releases if r.undone_at is None)

    @property
    def signed_on(self) -> tuple[SignOn, ...]:
        return tuple(s for s in self.crew if s.off_at is None)

    @property
    def sanction(self) -> Sanction | None:
        """The sanction in force, if any."""
        last = self.sanctions[-1] if self.sanctions else None
        return last if last is not None and last.ended_at is None else None

    @property
    def halted(self) -> tuple[Halt, ...]:
        """What holds the permit up now: nothing but what makes it safer is accepted until it is lifted."""
        return tuple(halt for halt in self.halts if halt.lifted_at is None)

    @property
    def is_stopped(self) -> bool:
        """Held up by more than a suspension: an officer lifts it."""
        return any(halt.kind is not HaltKind.SUSPENSION for halt in self.halted)

    @property
    def open_jobs(self) -> tuple[tuple[int, Job], ...]:
        return tuple((i, job) for i, job in enumerate(self.jobs) if job.closed_at is None)

    @property
    def open_defects(self) -> tuple[tuple[int, Defect], ...]:
        return tuple((i, d) for i, d in enumerate(self.defects) if d.state is DefectState.OPEN)

    def verification(self, point: str) -> Verification | None:
        """The latest test of a point that counts, or the latest of any kind if none does."""
        of_point = [v for v in self.verifications if v.point == point]
        found = [v for v in of_point if v.counts] or of_point
        return found[-1] if found else None

    def is_verified(self, point: str, now: datetime) -> bool:
        latest = self.verification(point)
        return latest is not None and latest.is_good(now)

    def release_of(self, point: str) -> StoreRelease | None:
        """The release of a store that stands now."""
        return next((r for r in self.releases if r.point == point and r.undone_at is None), None)

    def told(self, stage: Stage) -> bool:
        """Were affected people told at this stage? After unlocking, only since the last lock came off."""
        if stage is Stage.BEFORE:
            return any(n.at >= self.amended_at for n in self.current_notices)
        notices = [n for n in self.notices if n.stage is stage]
        if not notices:
            return False
        off = [lock.removed_at for lock in self.locks if lock.removed_at is not None]
        return not self.hanging and (not off or notices[-1].at >= max(off))

    @property
    def amended_at(self) -> datetime:
        """When points were last added to the plan; of what is locked out by them, nobody was told before."""
        signed = (s.at for s in self.signatures if s.meaning == SIGNED[AmendPlan])
        return max(signed, default=self.requested_at)

    @property
    def current_notices(self) -> tuple[Notice, ...]:
        """What was said of the lockout since people were last told that the machine starts again."""
        after = [n for n, notice in enumerate(self.notices) if notice.stage is Stage.AFTER]
        return self.notices[after[-1] + 1 :] if after else self.notices

    def told_of_tests(self) -> bool:
        return any(n.covers_tests for n in self.current_notices)

    def confirmation(self, area: str) -> Confirmation | None:
        return next((c for c in reversed(self.confirmations) if c.area == area and c.void_at is None), None)

    def is_held(self, point: str) -> bool:
        """Is the point made safe for this permit: the store released, the isolator locked?"""
        return point in (self.released if point in self.plan_release else self.locked)

    def works_under_it(self, person: str) -> bool:
        return bool(person) and person in (self.holder, self.next_holder, *self.crew_named)


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """Everything a decision may look at.

    `former`: names of those whom open permits name and who have no role here any more. `permits` holds the
    open ones and, until the next load, those that are just over. `out_of_use`: by machine, what was left open
    when an officer closed its permit as not proven. `untold`: person → the permits under which a lock of
    theirs was taken off in their absence, until they are told. `emergency`, `paper`: what the whole
    site is under.
    """

    graph: Graph
    people: Mapping[str, Person]
    former: Mapping[str, str] = field(default_factory=dict)
    permits: Mapping[str, Permit] = field(default_factory=dict)
    procedures: Mapping[str, Procedure] = field(default_factory=dict)
    padlock_owners: Mapping[str, str] = field(default_factory=dict)
    next_number: int = 1
    out_of_use: Mapping[str, OutOfUse] = field(default_factory=dict)
    untold: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    emergency: Declared | None = None
    paper: Declared | None = None
    policy: Policy = field(default_factory=Policy)
    timezone: str = "UTC"

    @property
    def open(self) -> tuple[Permit, ...]:
        """The permits that are not over."""
        return tuple(p for p in self.permits.values() if not p.phase.is_over)

    def others(self, permit: Permit) -> tuple[Permit, ...]:
        """The other open permits."""
        return tuple(p for p in self.open if p.id != permit.id)

    def name(self, person: str) -> str:
        if not person:
            return "nobody yet"
        known = self.people.get(person)
        return known.name if known else self.former.get(person, f"person {person}")

    def day(self, at: datetime) -> date:
        """The calendar day at the plant."""
        return at.astimezone(ZoneInfo(self.timezone)).date()

    def clock(self, at: datetime) -> str:
        """A moment as the plant's clock shows it: "14:05 on 25 November"."""
        local = at.astimezone(ZoneInfo(self.timezone))
        return f"{local:%H:%M} on {local.day} {local:%B}"

    def machines_of(self, zones: tuple[str, ...]) -> tuple[str, ...]:
        """The machines that the zones belong to, in the zones' order, each once."""
        owners = (self.graph[zone].machine for zone in zones if zone in self.graph.nodes)
        return tuple(dict.fromkeys(machine for machine in owners if machine))

    def standing(self, person: str, machine: str, at: datetime) -> Standing:
        known = self.people.get(person)
        return standing(known.authorisations if known else (), machine, self.day(at))

    def is_own(self, person: str) -> bool:
        """Is this one of the site's own people: here now, and no contractor?"""
        known = self.people.get(person)
        return known is not None and not known.employer

    def roles_of(self, person: str) -> frozenset[str]:
        known = self.people.get(person)
        return known.roles if known else frozenset()

    def holders_of(self, *roles: str, but: str = "") -> str:
        """Who has one of these roles here, by name, for the end of a refusal; one person left out."""
        names = sorted(p.name for p in self.people.values() if p.roles.intersection(roles) and p.ref != but)
        return ", ".join(names) or f"someone with the role {' or '.join(roles)} (nobody has it yet)"

    def locks_on(self, point: str) -> Iterator[tuple[Permit, Lock]]:
        """Every lock that hangs on a point now, of any permit."""
        for permit in self.open:
            for lock in permit.hanging:
                if lock.where == point:
                    yield permit, lock

    @property
    def locked(self) -> frozenset[str]:
        """Points that carry at least one lock of any permit: what is physically held open."""
        return frozenset().union(*(permit.locked for permit in self.open))

    @property
    def released(self) -> frozenset[str]:
        """Stores that at least one permit holds released."""
        return frozenset().union(*(permit.released for permit in self.open))

    def danger_areas(self, points: frozenset[str], *, locked: frozenset[str]) -> tuple[str, ...]:
        """Danger areas on any machine that energy let through the points reaches, in the graph's order."""
        reached = downstream(self.graph, points, locked=locked)
        return tuple(area.id for area in self.graph.danger_areas if area.id in reached)
