"""Everything a person can ask for: the product's table of contents, in the order of a permit's life."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from .words import BOX, CheckItem, Position, Reading, Seen


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """What every command carries: the permit ("" while there is none), who asks, and when."""

    permit: str = ""
    by: str
    at: datetime


# ── request, issue, accept, tell ────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class RequestPermit(Ask):
    """About no permit yet: its page shows nothing that could move on but the plant, and the plan is made anew
    from the plant as it is when this is sent.
    """

    zones: tuple[str, ...]
    keep_live: tuple[str, ...] = ()
    kind_of_work: str
    reason: str
    starts_at: datetime
    ends_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class IssuePermit(Ask):
    holder: str
    crew: tuple[str, ...] = ()
    coordinator: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CancelPermit(Ask):
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AcceptPermit(Ask):
    knows_energies: bool
    knows_hazards: bool
    knows_control: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ExtendPermit(Ask):
    """An issuer gives the permit more time, before or after it ran out."""

    until: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class NameCrew(Ask):
    """Add one person to those who may work under the permit."""

    person: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TellAffected(Ask):
    whom: str
    how: str
    covers_tests: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class AcknowledgeNotice(Ask):
    """An affected person says that the notice has reached them. `notice`: its place among the permit's."""

    notice: int


@dataclass(frozen=True, slots=True, kw_only=True)
class AmendPlan(Ask):
    """An issuer adds points to an open plan; none is ever taken away."""

    lock: tuple[str, ...] = ()
    release: tuple[str, ...] = ()
    why: str


# ── isolate ─────────────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class ApplyLock(Ask):
    """`typed`: the point was named by its typed short code, not by a scan.

    At a point that takes a tag and no lock, `padlock` is the danger tag's number (`tag` may be empty), and
    `measure_done` says what was done there besides.
    """

    point: str
    padlock: str
    tag: str
    position: Position
    typed: bool = False
    measure_done: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseStore(Ask):
    """`padlock` and `tag`: the lock on a release that someone could undo; empty otherwise."""

    point: str
    method: str
    padlock: str = ""
    tag: str = ""
    typed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PointReadings:
    """All readings taken at one point."""

    point: str
    readings: tuple[Reading, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class VerifyMachine(Ask):
    """All readings of one machine's points, from one page."""

    machine: str
    points: tuple[PointReadings, ...]
    instrument: str
    proven_before: bool
    proven_after: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TryStart(Ask):
    """The normal controls were tried. Verifies points that have no reading; never stands in for one."""

    machine: str
    stayed_dead: bool
    nobody_in_reach: bool
    controls_live: bool
    back_to_neutral: bool


# ── work inside ─────────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class SignOnCrew(Ask):
    padlock: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SignOffCrew(Ask):
    pass


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordMachineCheck(Ask):
    items: tuple[CheckItem, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ResolveDefect(Ask):
    defect: int
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AcceptDefect(Ask):
    defect: int
    why: str


# ── test under power ────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmClear(Ask):
    """`one_place`: all the areas are seen from one place. `watching`: stays outside and keeps watch.

    `seen_by`: by radio, the person of this site who sees the areas; empty where `by` sees them.
    """

    areas: tuple[str, ...]
    how: Seen
    one_place: bool = False
    watching: bool = False
    seen_by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeaveWatch(Ask):
    pass


@dataclass(frozen=True, slots=True, kw_only=True)
class GiveSanction(Ask):
    points: tuple[str, ...]
    limits: str
    cycles: int
    until: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class BeginCycle(Ask):
    tools_out: bool
    guards_on: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Ready(Ask):
    """The holder signs *ready to energise*, the last step before the first freed point is closed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reisolate(Ask):
    """Back to isolating: the freed points are locked again and every verification is redone.

    `locks`, `releases`: those that the asking person put on again on the same page, in the plan's order; what
    is left out is done at the point by itself.
    """

    locks: tuple[ApplyLock, ...] = ()
    releases: tuple[ReleaseStore, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class EndSanction(Ask):
    why: str


# ── calibration, as far as the permit cares ─────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenJob(Ask):
    machine: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AskJob(Ask):
    """May this person go on with the open job now? Changes nothing by itself."""

    job: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeReading(Ask):
    """May a reading be taken on a test piece now? Changes nothing by itself."""

    job: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectAxis(Ask):
    job: int
    axis: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ProveAxis(Ask):
    """The as-left readings of an axis are taken and judged.

    `lifts`: the axis was opened after its machine was left unproven, if it was: its pieces tell of that.
    """

    job: int
    axis: str
    lifts: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class CloseJob(Ask):
    job: int


# ── hand back, restore, close ───────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class HandBack(Ask):
    """`standstill` and `neutral` matter when the machine is handed back from a test."""

    machine_whole: bool
    guards_on: bool
    tools_out: bool
    people_out: bool
    standstill: bool = False
    neutral: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RemoveLocks(Ask):
    """The asking person's own padlocks come off these points, and what they held released is undone."""

    points: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reenergise(Ask):
    visual_check: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SignClosed(Ask):
    """The holder and an issuer both sign; the second signature closes the permit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CloseOutOfUse(Ask):
    """An officer closes what can't be proven: the permit ends, the machine stays out of use."""

    why: str


# ── stop, suspend, lift ─────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class StopWork(Ask):
    """Anyone may stop a permit, at any time, and is never refused."""

    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SuspendPermit(Ask):
    """The holder or an issuer holds the permit up for a while."""

    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftHalt(Ask):
    """Everything that holds the permit up is lifted; the machine is then proven dead in the ordinary way."""

    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DeclareEmergency(Ask):
    """A stop on every permit of the site."""

    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EndEmergency(Ask):
    """The emergency is over. Each permit's own stop is lifted after that, one by one."""

    how: str


# ── hand over, stand in for who is absent ───────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferHandover(Ask):
    """The holder signs the permit over to the person of the next shift."""

    to: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NameHolder(Ask):
    """An officer names a new holder, because the old one is absent."""

    to: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WithdrawHandover(Ask):
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AcceptHandover(Ask):
    """The incoming holder signs, and confirms the same as when a permit is accepted."""

    knows_energies: bool
    knows_hazards: bool
    knows_control: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeOffForAbsent(Ask):
    """An officer, with a second person, takes off a lock whose owner is absent.

    `where`: a point, or BOX: then the owner is signed off. `not_on_site`: how it was found that they are not
    there; `tried`: every effort to reach them; `searched`: for the box, that the zones were searched.
    """

    where: str = BOX
    owner: str
    second: str
    not_on_site: str
    tried: str
    searched: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TellReturned(Ask):
    """Someone whose lock was taken off in their absence has been told, before they resume work."""

    person: str
    how: str


# ── on paper while the server was down ──────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class DeclarePaper(Ask):
    """Printed forms carried on from `since`; what happened is entered now, late."""

    since: datetime
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EnterLate(Ask):
    """What happened on paper, with two signatures. `what.by` did it; `by` and `second` vouch for it."""

    what: LateCommand
    happened_at: datetime
    second: str
    form: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EndPaper(Ask):
    """Everything that happened on paper has been entered.

    `all_inside_signed_on`: the officer has made sure that nobody is in a zone who is not signed on here.
    """

    how: str
    all_inside_signed_on: bool


# What may be entered late. Not a test, a sign-on, a start, or a word that an area is clear: those are done
# again now, or not at all.
LateCommand = (
    TellAffected | ApplyLock | ReleaseStore | SignOffCrew | RecordMachineCheck | Reisolate | EndSanction
    | LeaveWatch | HandBack | RemoveLocks | Reenergise | StopWork | SuspendPermit
    | CancelPermit
)  # fmt: skip


Command = (
    RequestPermit | IssuePermit | CancelPermit | AcceptPermit | ExtendPermit | NameCrew | TellAffected
    | ApplyLock | ReleaseStore | VerifyMachine | TryStart
    | SignOnCrew | SignOffCrew | RecordMachineCheck | ResolveDefect | AcceptDefect
    | ConfirmClear | LeaveWatch | GiveSanction | BeginCycle | Ready | Reisolate | EndSanction
    | OpenJob | AskJob | TakeReading | CorrectAxis | ProveAxis | CloseJob
    | HandBack | RemoveLocks | Reenergise | SignClosed | CloseOutOfUse
    | AcknowledgeNotice | AmendPlan | StopWork | SuspendPermit | LiftHalt | DeclareEmergency | EndEmergency
    | OfferHandover | NameHolder | WithdrawHandover | AcceptHandover | TakeOffForAbsent | TellReturned
    | DeclarePaper | EnterLate | EndPaper
)  # fmt: skip

# Signing steps: the person enters their PIN again (design §5), and the entry records what it means.
SIGNED: dict[type[Ask], str] = {
    IssuePermit: "issues the permit: the plan and the procedure are right for this work",
    AcceptPermit: "accepts the permit: knows the energies, the hazards and the means of control",
    GiveSanction: "sanctions the test of the named points within the limits",
    Ready: "is ready to energise: everyone is clear",
    HandBack: "hands the machine back: whole, guarded, tools and people out",
    SignClosed: "closes the permit",
    CloseOutOfUse: "closes the permit as not proven: the machine stays out of use",
    AmendPlan: "adds the points to the plan: it is right for this work",
    LiftHalt: "lifts what held the permit up: the reason for it is gone",
    EndEmergency: "ends the emergency: the reason for it is gone",
    OfferHandover: "hands the permit over: the state of the work is told, nothing is kept back",
    AcceptHandover: "takes the permit over: knows the energies, the hazards and the means of control",
    NameHolder: "names a new holder: the old one is absent",
    TakeOffForAbsent: "takes an absent person's lock off: they are not here and were sought in every way",
    EnterLate: "enters what happened on paper as it was",
    EndPaper: "ends paper mode: everything that happened on paper is entered",
}

# What the second person signs, where two do.
SECOND_SIGNED: dict[type[Ask], str] = {
    TakeOffForAbsent: "confirms both checks: the owner is not on site and was sought in every way",
    EnterLate: "confirms that this is what the printed form says",
}

# What these ask for takes protection away, puts someone in reach or signs: a page that has gone stale in any
# way will not do. What every other step cannot stand beside is in moved_on.py.
NEEDS_FRESH_PAGE: tuple[type[Ask], ...] = (
    IssuePermit, AcceptPermit, SignOnCrew, GiveSanction, BeginCycle, Ready, HandBack, RemoveLocks,
    Reenergise, SignClosed, CloseOutOfUse, CancelPermit, ExtendPermit, LiftHalt, OfferHandover, NameHolder,
    AcceptHandover, TakeOffForAbsent, AmendPlan, EnterLate,
)  # fmt: skip
