"""A calibration job for its page: the open axis with its readings, what they say, what was said before it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from permits.calibration import models as rows
from permits.calibration.queries.describing import axes_of, features_of
from permits.calibration.queries.prechecks import PreCheckPage, pre_check_page
from permits.calibration.rules import job as rules
from permits.calibration.rules import owing
from permits.calibration.rules.correcting import Correction
from permits.calibration.rules.lengths import Measure, Unit, deviation, from_record, printed
from permits.calibration.rules.parameters import Parameter, setting_from_record, setting_printed
from permits.calibration.rules.policy import Policy
from permits.calibration.rules.reasons import reason, size
from permits.calibration.store import out_of_use, policy_of, whole, work_of
from permits.plant.models import Machine
from permits.work.models import Permit
from permits.work.rules.words import OutOfUse

LOOKS = {"leave": "dead", "adjust": "unproven", "measure again": "info"}


@dataclass(frozen=True, slots=True)
class PieceLine:
    """One reading in the digits that were typed. `also`: the deviation converted to the site's system, or "";
    `struck`: why it was taken back, or ""."""

    n: int
    stage: str
    nominal: str
    measured: str
    deviation: str
    counts: bool
    also: str = ""
    struck: str = ""
    overdue: bool = False


@dataclass(frozen=True, slots=True)
class Judgement:
    """What the pieces of a stage say so far, for the page. `correction`: what would bring it to zero."""

    stage: str
    n: int
    mean: str
    decision: str
    look: str
    reason: str
    correction: str
    also: str = ""


@dataclass(frozen=True, slots=True)
class ChangeLine:
    """A correction as people read it."""

    n: int
    parameter: str
    old: str
    new: str
    override: str


@dataclass(frozen=True, slots=True)
class WorkPage:
    """The work on one axis. `next`: the one next thing (rules.job.Do); `back`: what would undo the last
    correction; `limits`: what a correction may change; `strikable`: pieces that may be taken back;
    `owes`: that it owes an as-left check, or ""; `settles`: what settles that; `proves`: closed now it is
    proven as it was found; `proven_as_found`: it was closed so."""

    row: rows.AxisWork
    name: str
    unit: Unit
    tolerance: str
    instrument: str
    state: str
    stage: str
    is_open: bool
    unproven: bool
    worse: bool
    pieces: list[PieceLine]
    found: Judgement | None
    left: Judgement | None
    corrections: list[rows.Correction]
    last_nominal: str
    next: rules.Do = rules.Do.READ
    back: str = ""
    nominal_range: str = ""
    also: str = ""
    limits: tuple[tuple[Parameter, str], ...] = ()
    changes: tuple[ChangeLine, ...] = ()
    strikable: tuple[int, ...] = ()
    owes: str = ""
    settles: str = ""
    proves: bool = False
    proven_as_found: bool = False

    @property
    def now(self) -> Judgement | None:
        """What the pieces of the present stage say."""
        return self.left if self.row.corrections else self.found

    @property
    def justified(self) -> bool:
        """Do the readings ask for a correction?"""
        return self.now is not None and self.now.decision == "adjust"


@dataclass(frozen=True, slots=True)
class JobPage:
    """`owes`: which axes of the machine owe an as-left check, while none is open; `owed`: their codes."""

    row: rows.Job
    machine: str
    works: list[WorkPage]
    open: WorkPage | None
    axes: list[rows.Axis]
    policy: Policy = field(default_factory=Policy)
    pre_check: PreCheckPage | None = None
    features: tuple[rows.Feature, ...] = ()
    owes: str = ""
    owed: tuple[str, ...] = ()

    @property
    def is_over(self) -> bool:
        return self.row.closed_at is not None


def open_job(permit: Permit) -> rows.Job | None:
    return rows.Job.objects.filter(permit=permit, closed_at=None).select_related("machine", "permit").first()


def job_of(permit: Permit, number: int | None = None) -> rows.Job | None:
    """The job with this number; without one the open job, or the last that was; None where there is none."""
    found = rows.Job.objects.filter(permit=permit).select_related("machine", "permit")
    return found.filter(number=number).first() if number is not None else found.order_by("number").last()


def jobs_of(permit: Permit) -> list[JobPage]:
    """Every job of a permit with its axes, readings and corrections, in order."""
    found = rows.Job.objects.filter(permit=permit).select_related("machine", "permit").order_by("number")
    return [job_page(job) for job in found]


def job_page(job: rows.Job) -> JobPage:
    policy = policy_of(job.permit.site)
    works = [work_page(row, policy) for row in whole(job.works.all()).order_by("pk")]
    begun = max((w.row.opened_at for w in works), default=None)
    since = job.pre_checks.filter(at__gt=begun) if begun else job.pre_checks
    last = since.order_by("n").last()  # one from before an axis, or that opened it, tells no more
    now_open = next((w for w in works if w.is_open), None)
    axes = axes_of(job.machine)
    owed = out_of_use(job.machine) if now_open is None and job.closed_at is None else None
    return JobPage(
        row=job,
        machine=job.machine.name,
        works=works,
        open=now_open,
        axes=axes,
        policy=policy,
        pre_check=pre_check_page(last) if last else None,
        features=tuple(features_of(job.machine)),
        owes=of_machine(owed, axes) if owed else "",
        owed=owed.axes if owed else (),
    )


def owing_axis(machines: Iterable[Machine]) -> tuple[rows.Axis | None, list[str]]:
    """The first axis of these machines that owes its as-left check, and in sentences what they owe."""
    first, owes = None, []
    for machine in machines:
        if left := out_of_use(machine):
            axes = axes_of(machine)
            owes += [words] if (words := of_machine(left, axes)) else []
            first = first or next((axis for axis in axes if axis.code in left.axes), None)
    return first, owes


def of_machine(left: OutOfUse, axes: list[rows.Axis]) -> str:
    """Which axes owe their as-left check, by name, and what settles it; "" where only defects were left."""
    if not left.axes and not left.any_axis:
        return ""
    named = {axis.code: axis.name for axis in axes}
    return owing.of_machine([named.get(code, code) for code in left.axes], left.permit)


def work_page(row: rows.AxisWork, policy: Policy | None = None) -> WorkPage:
    policy = policy or Policy()
    work = work_of(row)
    pieces = sorted(row.pieces.all(), key=lambda piece: piece.n)
    corrections = sorted(row.changes.all(), key=lambda change: change.n)
    is_open = work.state is rules.AxisState.OPEN
    may_strike = is_open and (work.unproven or not work.corrections)
    return WorkPage(
        row=row,
        name=work.name,
        unit=work.tolerance.unit,
        tolerance=f"±{printed(work.tolerance)}",
        instrument=str(row.instrument),
        state=work.state.value,
        stage=work.stage.value,
        is_open=is_open,
        unproven=work.unproven,
        worse=rules.went_worse(work),
        pieces=[piece_line(piece, work, policy) for piece in pieces],
        found=judgement(work, rules.Stage.AS_FOUND, policy),
        left=judgement(work, rules.Stage.AS_LEFT, policy),
        corrections=corrections,
        last_nominal=pieces[-1].nominal.rpartition(" ")[0] if pieces else "",
        next=rules.what_next(work),
        back=work.to_undo.back if work.to_undo else "",
        nominal_range=str(work.nominal) if work.nominal else "",
        also=policy.also(work.tolerance),
        limits=tuple((parameter, str(limits)) for parameter, limits in work.ranges.items()),
        changes=tuple(change_line(change) for change in corrections),
        strikable=tuple(piece.n for piece in work.pieces_of(work.stage)) if may_strike else (),
        owes=owing.why_owed(work),
        settles=owing.what_settles(work),
        proves=owing.proves_as_found(work),
        proven_as_found=row.proven_as_found,
    )


def piece_line(piece: rows.Piece, work: rules.AxisWork, policy: Policy) -> PieceLine:
    nominal, measured = from_record(piece.nominal), from_record(piece.measured)
    off = deviation(measured, nominal)
    latest = piece.stage == rules.Stage.AS_FOUND.value or piece.corrections == work.corrections
    return PieceLine(
        n=piece.n,
        stage=piece.stage,
        nominal=printed(nominal),
        measured=printed(measured),
        deviation=printed(off, plus=True),
        counts=latest and piece.struck_at is None,
        also=policy.also(off),
        struck=piece.struck_why,
        overdue=piece.overdue,
    )


def change_line(row: rows.Correction) -> ChangeLine:
    old, new = (setting_printed(setting_from_record(text)) for text in (row.old, row.new))
    return ChangeLine(row.n, row.parameter, old, new, row.override)


def judgement(work: rules.AxisWork, stage: rules.Stage, policy: Policy) -> Judgement | None:
    answer = work.assessed(stage)
    if answer is None:
        return None
    unit = work.tolerance.unit
    return Judgement(
        stage=stage.value,
        n=answer.n,
        mean=size(answer.mean, unit, plus=True),
        decision=answer.decision.value,
        look=LOOKS[answer.decision.value],
        reason=reason(answer),
        correction=to_zero(work, answer.correction),
        also=policy.also(Measure(answer.mean, unit)),
    )


def to_zero(work: rules.AxisWork, by: Correction) -> str:
    """The correction in words; says so where the scale is off but is not to be changed."""
    if by.offset is None:
        return ""
    offset = f"add {size(by.offset, work.tolerance.unit, plus=True)}"
    if not by.scale_significant or by.scale is None:
        return offset
    if Parameter.SCALE not in work.ranges:
        return "the scale is off, which no offset cures, and it is not to be changed here"
    return f"multiply by {float(by.scale):.6g}, then {offset}"
