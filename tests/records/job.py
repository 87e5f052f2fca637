"""A whole calibration job on the demo plant, from request to close, through the rooms' own actions.

Every step has its own minute: nothing sleeps, waits are passed by the time that a step is given. The site's
ledger already holds today's loading of the plant, so the job begins on the day after.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from functools import wraps
from typing import Any

from permits.calibration import actions as calibration
from permits.calibration import models as calibration_rows
from permits.calibration.actions import Who
from permits.calibration.rules.lengths import from_record
from permits.calibration.rules.parameters import Parameter
from permits.ledger.models import Entry
from permits.people.models import Person, Site
from permits.plant.queries import machine_of
from permits.work.actions import perform
from permits.work.models import Permit
from permits.work.rules import commands as c
from permits.work.rules import state
from permits.work.rules.clearing import areas_to_confirm
from permits.work.rules.isolating import measure_demanded
from permits.work.rules.proving import test_of
from permits.work.rules.reaching import is_undoable
from permits.work.rules.words import CHECK_ITEMS, CheckItem, Finding, Position, Reading, Seen
from permits.work.store import load
from tests.kept import kept
from tests.records.ground import describe

__all__ = ["CELL", "Job", "closed", "closed_with_exceptions", "describe", "morning_after"]

CELL = ("C1-INFEED", "C1-CHAMBER", "C1-OUTFEED")
FREED = ("C1-QB1", "OUT-QB1", "C1-QM1", "C1-GANTRY")
AS_FOUND = ("2441.6 mm", "2441.9 mm", "2441.7 mm")
AS_LEFT = ("2440.1 mm", "2439.9 mm", "2440.0 mm")
NOMINAL = "2440 mm"


def morning_after(site: Site) -> datetime:
    """Seven in the morning, at the plant, of the day after the ledger's last entry."""
    site.head.refresh_from_db()
    last = site.head.last_at.astimezone(site.zone)
    return (last + timedelta(days=1)).replace(hour=7, minute=0, second=0, microsecond=0)


@dataclass
class Job:
    """One permit at work. `minute` counts from `start`; each step takes the next one unless told."""

    site: Site
    start: datetime
    holder: str = "odo"
    issuer: str = "szczesny"
    crew: tuple[str, ...] = ("wim", "eleni")
    permit: str = ""
    minute: float = 0
    people: dict[str, Person] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.people = {person.sign_in: person for person in Person.objects.all()}

    # ── the ground ──────────────────────────────────────────────────────────────────────────────────────

    def at(self, minute: float | None = None) -> datetime:
        return self.start + timedelta(minutes=self.minute if minute is None else minute)

    def next(self, minutes: float = 1) -> datetime:
        self.minute += minutes
        return self.at()

    def ref(self, sign_in: str) -> str:
        return self.people[sign_in].ref

    def do(
        self, command: type[c.Ask], by: str, *, wait: float = 1, device: str = "", **fields: Any
    ) -> list[Any]:
        """Carry out one command `wait` minutes after the last; `device`: on whose phone, if not one's own."""
        person = self.people[by]
        author = person.author_on(self.people[device]) if device else person.author
        at = self.next(wait)
        if command is not c.RequestPermit:
            fields.setdefault("permit", self.permit)
        return perform(site=self.site, command=command(by=person.ref, at=at, **fields), by=author)

    def state(self) -> tuple[state.Site, state.Permit]:
        now = load(self.site)
        return now, now.permits[self.permit]

    @property
    def row(self) -> Permit:
        return Permit.objects.get(site=self.site, reference=self.permit)

    def kinds(self) -> list[str]:
        entries = Entry.objects.filter(head=self.site.head_id, about=f"permit:{self.permit}")
        return list(entries.order_by("number").values_list("kind", flat=True))

    # ── request to accepted ─────────────────────────────────────────────────────────────────────────────

    def ask(
        self, zones: tuple[str, ...] = CELL, reason: str = "Boards come out too long", hours: float = 8
    ) -> Job:
        at = self.at(self.minute + 1)
        [asked] = self.do(
            c.RequestPermit, self.holder, zones=zones, kind_of_work="Calibration", reason=reason,
            starts_at=at, ends_at=at + timedelta(hours=hours),
        )  # fmt: skip
        self.permit = asked.permit
        return self

    def issue(self, **more: Any) -> Job:
        crew = tuple(self.ref(name) for name in self.crew)
        self.do(c.IssuePermit, self.issuer, holder=self.ref(self.holder), crew=crew, **more)
        return self

    def accept(self) -> Job:
        self.do(c.AcceptPermit, self.holder, knows_energies=True, knows_hazards=True, knows_control=True)
        return self

    def tell(self, *, tests: bool = True, reached: str = "pia") -> Job:
        """Affected people are told; `reached` says that the notice has reached them, "" for nobody."""
        self.do(
            c.TellAffected,
            self.holder,
            whom="operators of lines 3 and 4",
            how="in person",
            covers_tests=tests,
        )
        if reached:
            self.do(c.AcknowledgeNotice, reached, notice=len(self.state()[1].notices) - 1)
        return self

    # ── isolate ─────────────────────────────────────────────────────────────────────────────────────────

    def lock_up(self, *, typed: str = "") -> Job:
        """Every point that is not held yet, in the plan's order; `typed` is the one whose code is typed."""
        now, p = self.state()
        for number, point in enumerate(p.points, start=1):
            if p.is_held(point):
                continue
            padlock = {"padlock": str(100 + number), "tag": str(7100 + number)}
            if measure := measure_demanded(now, point):
                padlock = {"padlock": str(7100 + number), "tag": "", "measure_done": f"Done: {measure}"}
            if point in p.plan_lock:
                position = Position.CLOSED if point.endswith("QM1") else Position.OFF
                self.do(
                    c.ApplyLock, self.holder, point=point, position=position, typed=point == typed, **padlock
                )
            else:
                locked = padlock if is_undoable(now, point) else {}
                self.do(c.ReleaseStore, self.holder, point=point, method="", **locked)
        return self

    def verify(self, by: str = "", *, wait: float = 6, values: dict[str, str] | None = None) -> Job:
        """Readings of every point of the plan, zero unless `values` says otherwise, after the waits."""
        now, p = self.state()
        for machine in dict.fromkeys(now.graph[point].machine or "" for point in p.points):
            points = tuple(
                c.PointReadings(
                    point=point,
                    readings=tuple(
                        Reading(Decimal((values or {}).get(point, "0")), test_of(now.graph[point]).unit, pair)
                        for pair in test_of(now.graph[point]).combinations or ("",)
                    ),
                )
                for point in p.points
                if (now.graph[point].machine or "") == machine
            )
            self.do(
                c.VerifyMachine, by or self.holder, wait=wait, machine=machine, points=points,
                instrument="VT-04", proven_before=True, proven_after=True,
            )  # fmt: skip
        return self

    def try_start(self, *, stayed_dead: bool = True) -> Job:
        self.do(
            c.TryStart, self.holder, machine="C1", stayed_dead=stayed_dead, nobody_in_reach=True,
            controls_live=True, back_to_neutral=True,
        )  # fmt: skip
        return self

    # ── inside ──────────────────────────────────────────────────────────────────────────────────────────

    def sign_on(self, by: str, padlock: str, **more: Any) -> Job:
        self.do(c.SignOnCrew, by, padlock=padlock, **more)
        return self

    def sign_off(self, by: str, **more: Any) -> Job:
        self.do(c.SignOffCrew, by, **more)
        return self

    def check(self, by: str = "", *, defects: dict[str, str] | None = None) -> Job:
        """The machine check by someone signed on; `defects`: item → what is wrong."""
        found = defects or {}
        items = tuple(
            CheckItem(item, Finding.DEFECT if item in found else Finding.OK, found.get(item, ""))
            for item, _ in CHECK_ITEMS
        )
        self.do(c.RecordMachineCheck, by or self.holder, items=items)
        return self

    # ── test under power ────────────────────────────────────────────────────────────────────────────────

    def sanction(self, *, cycles: int = 2, hours: float = 2, by: str = "") -> Job:
        until = self.at() + timedelta(hours=hours)
        self.do(
            c.GiveSanction, by or self.issuer, points=FREED, cycles=cycles, until=until,
            limits="Inching, then single parts in automatic; nobody past the barrier",
        )  # fmt: skip
        return self

    def begin(self) -> Job:
        self.do(c.BeginCycle, self.holder, tools_out=True, guards_on=True)
        return self

    def free(self) -> Job:
        self.do(c.RemoveLocks, self.holder, points=FREED)
        return self

    def clear(
        self, by: str = "pia", *, how: Seen = Seen.SELF, wait: float = 1, watching: bool = False
    ) -> Job:
        now, p = self.state()
        areas = areas_to_confirm(now, p)
        seen_by = self.people["wim"].ref if how is Seen.RADIO else ""
        self.do(
            c.ConfirmClear, by, wait=wait, areas=areas, how=how, one_place=True, watching=watching,
            seen_by=seen_by,
        )  # fmt: skip
        return self

    def ready(self) -> Job:
        self.do(c.Ready, self.holder)
        return self

    def reisolate(self) -> Job:
        self.do(c.Reisolate, self.holder)
        return self.lock_up().verify()

    # ── calibration ─────────────────────────────────────────────────────────────────────────────────────

    def who(self, by: str = "") -> Who:
        return Who(by=self.people[by or self.holder].author, at=self.next())

    def open_job(self) -> Job:
        calibration.open_job(
            site=self.site, permit=self.row, machine=machine_of(self.site, "C1"),
            settings_before="cell-2026-11-25.bak, SHA-256 9b1f…", reference_board="RB-02, one true edge",
            test_piece="2440 mm stud", who=self.who(),
        )  # fmt: skip
        return self

    def open_axis(self, code: str = "length-2", instrument: str = "ST-03") -> Job:
        calibration.open_axis(
            site=self.site,
            job=calibration_rows.Job.objects.get(permit=self.row),
            axis=calibration_rows.Axis.objects.get(code=code),
            instrument=calibration_rows.Instrument.objects.get(number=instrument),
            who=self.who(),
        )
        return self

    @property
    def axis(self) -> calibration_rows.AxisWork:
        return calibration_rows.AxisWork.objects.filter(job__permit=self.row).latest("pk")

    def read(self, *pieces: str, nominal: str = NOMINAL) -> Job:
        for piece in pieces:
            calibration.read_pieces(
                site=self.site, row=self.axis, pieces=[(from_record(nominal), from_record(piece))],
                who=self.who(),
            )  # fmt: skip
        return self

    def correct(self, old: str = "12.4 mm", new: str = "10.7 mm", *, reason: str = "") -> Job:
        calibration.correct(
            site=self.site, row=self.axis, parameter=Parameter.OFFSET, old=from_record(old),
            new=from_record(new), reason=reason, who=self.who(),
        )  # fmt: skip
        return self

    def strike(self, piece: int, why: str) -> Job:
        calibration.strike_piece(site=self.site, row=self.axis, n=piece, why=why, who=self.who())
        return self

    def pre_check(self, **deviations: str) -> Job:
        """First pieces: feature's axis → deviation, each with a standard uncertainty of 0.1 mm."""
        features = dict(zip(("short", "long"), calibration_rows.Feature.objects.order_by("pk"), strict=True))
        calibration.pre_check(
            site=self.site,
            job=calibration_rows.Job.objects.get(permit=self.row),
            measured=[
                (features[name], from_record(value), from_record("0.1 mm"))
                for name, value in deviations.items()
            ],
            who=self.who(),
        )
        return self

    def judge(self) -> Job:
        calibration.judge(site=self.site, row=self.axis, who=self.who())
        return self

    def end_axis(self, *, abandon: bool = False) -> Job:
        calibration.end_axis(site=self.site, row=self.axis, abandon=abandon, who=self.who())
        return self

    def close_job(self) -> Job:
        job = calibration_rows.Job.objects.get(permit=self.row)
        calibration.close_job(
            site=self.site, job=job, settings_after="cell-2026-11-25-after.bak", who=self.who()
        )
        return self

    # ── back to service ─────────────────────────────────────────────────────────────────────────────────

    def hand_back(self) -> Job:
        self.do(
            c.HandBack, self.holder, machine_whole=True, guards_on=True, tools_out=True, people_out=True,
            standstill=True, neutral=True,
        )  # fmt: skip
        return self

    def locks_off(self) -> Job:
        """Everyone takes off what hangs of theirs, in the reverse order."""
        _, p = self.state()
        for person in self.people.values():
            mine = tuple(k.where for k in reversed(p.hanging) if k.owner == person.ref)
            if mine:
                self.do(c.RemoveLocks, person.sign_in, points=mine)
        return self

    def reenergise(self) -> Job:
        self.do(c.Reenergise, self.holder, visual_check=True)
        return self

    def close(self, *signers: str) -> Job:
        for name in signers or (self.holder, self.issuer):
            self.do(c.SignClosed, name)
        return self


def remembered(way: Callable[..., Job]) -> Callable[..., Job]:
    """A way from a job's beginning is gone once; the next job that begins as this one is put at its end."""

    @wraps(way)
    def gone(job: Job, *how: Any, **more: Any) -> Job:
        if job.permit:
            return way(job, *how, **more)
        begun = (way.__name__, how, more, job.start, job.minute, job.holder, job.issuer, job.crew)
        vars(job).update(kept(repr(begun), lambda: vars(way(job, *how, **more))))
        return job

    return gone


@remembered
def accepted(job: Job) -> Job:
    return job.ask().issue().accept().tell()


@remembered
def isolated(job: Job, **more: Any) -> Job:
    return accepted(job).lock_up(**more).verify()


@remembered
def checked(job: Job) -> Job:
    return isolated(job).sign_on("odo", "201").sign_on("wim", "202").check().sign_off("wim").sign_off("odo")


@remembered
def under_power(job: Job) -> Job:
    return checked(job).sanction().begin().free().clear().ready()


def restored(job: Job) -> Job:
    """From a test under power: clear and at rest, handed back, locks off, told, clear again, power back."""
    return job.clear().hand_back().locks_off().tell().clear().reenergise()


@remembered
def closed(job: Job, *signers: str) -> Job:
    """The whole job as it should go: as found too long, one correction, proven on fresh pieces, closed."""
    under_power(job).open_job().open_axis().read(*AS_FOUND).correct().read(
        *AS_LEFT
    ).judge().end_axis().close_job()
    return restored(job).close(*signers)


@remembered
def closed_with_exceptions(job: Job) -> Job:
    """A closed job in which much went otherwise than it should; each is an exception or a note in the record.

    Read too early, a point still live, a code typed, a defect accepted, a confirmation gone stale, one by
    radio, a correction against the readings that made it worse and was taken back, acts on another's phone.
    """
    accepted(job).lock_up(typed="C1-QB1")
    job.verify(wait=1)  # the bus and the blade are still running down
    job.verify("eleni", values={"C1-QB3": "231"})
    job.verify("eleni", wait=1)
    job.sign_on("odo", "201").sign_on("wim", "202", device="odo")
    job.check(defects={"wear": "Left clamp jaw worn 2 mm", "obstructions": "Splinter under the pusher"})
    job.do(c.ResolveDefect, "odo", defect=0, how="Splinter taken out")
    job.do(c.AcceptDefect, "maud", defect=1, why="Does not touch the cut; jaw is on order")
    job.sign_off("wim", device="odo").sign_off("odo")
    job.sanction().begin().free()
    job.clear().clear(wait=14, how=Seen.RADIO).ready()
    job.open_job().pre_check(short="0.1 mm", long="1.7 mm")
    job.open_axis("length-1").read("600.1 mm", "599.9 mm", "6000 mm", nominal="600 mm")
    job.strike(3, "Typed a nought too many").read("600.0 mm", nominal="600 mm")
    job.correct("3.0 mm", "3.9 mm", reason="The joiner wants them longer")
    job.read("601.0 mm", "600.9 mm", "600.8 mm", nominal="600 mm").judge()
    job.correct("3.9 mm", "3.0 mm").read(
        "600.0 mm", "600.1 mm", "600.0 mm", nominal="600 mm"
    ).judge().end_axis()
    job.reisolate()
    job.begin().free().clear().ready()
    job.open_axis().read(*AS_FOUND).correct().read(*AS_LEFT).judge().end_axis().close_job()
    return restored(job).close("odo", "tamar")
