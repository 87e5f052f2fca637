"""Everything that can have happened to a permit, in the plant's words. Each becomes one ledger entry."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from .words import CheckItem, HaltKind, OutOfUse, Position, Reading, Seen, Stage


@dataclass(frozen=True, slots=True, kw_only=True)
class Happened:
    """What every event carries. `by` is empty when time or the plant did it, not a person."""

    permit: str
    by: str
    at: datetime


# ── request, issue, accept, tell ────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class PermitRequested(Happened):
    """`order`: the plan's steps as (do, point) with "" for no point."""

    number: int
    zones: tuple[str, ...]
    keep_live: tuple[str, ...]
    kind_of_work: str
    reason: str
    starts_at: datetime
    ends_at: datetime
    lock: tuple[str, ...]
    release: tuple[str, ...]
    order: tuple[tuple[str, str], ...]
    proven_cheapest: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PermitIssued(Happened):
    """`procedures`: (machine, revision), frozen. `own_issue`: holder and issuer are one person."""

    holder: str
    crew: tuple[str, ...]
    coordinator: str
    procedures: tuple[tuple[str, int], ...]
    own_issue: bool
    signed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PermitCancelled(Happened):
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PermitAccepted(Happened):
    signed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PermitExtended(Happened):
    ends_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewNamed(Happened):
    person: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AffectedTold(Happened):
    stage: Stage
    whom: str
    how: str
    covers_tests: bool


# ── isolate ─────────────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class LockApplied(Happened):
    """`measure_done`: where a tag stands for a lock, what was done besides; `padlock` is the tag's number."""

    point: str
    padlock: str
    tag: str
    position: Position | None
    typed: bool
    measure_done: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LockRemoved(Happened):
    """The owner took their own padlock off; `by` is the owner. `was_tag`: it was a tag in place of a lock."""

    point: str
    padlock: str
    was_tag: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreReleased(Happened):
    point: str
    method: str
    counts_from: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseUndone(Happened):
    point: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PointVerified(Happened):
    """A test and its result; a failed one is an event too, and an exception in the record."""

    point: str
    method: str
    readings: tuple[Reading, ...]
    limit: Decimal
    unit: str
    instrument: str
    passed: bool
    counts: bool
    fed: bool
    lapses_at: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class VerificationVoided(Happened):
    point: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class VerificationLapsed(Happened):
    point: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Isolated(Happened):
    """The last condition was met: every lock, release and verification of the plan stands."""


@dataclass(frozen=True, slots=True, kw_only=True)
class IsolationLost(Happened):
    """Time or the world undid the proof. `crew`: who was signed on then and is called out."""

    why: str
    path: tuple[str, ...]
    crew: tuple[str, ...]


# ── work inside ─────────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewSignedOn(Happened):
    padlock: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewSignedOff(Happened):
    padlock: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineChecked(Happened):
    items: tuple[CheckItem, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DefectResolved(Happened):
    defect: int
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DefectAccepted(Happened):
    defect: int
    why: str


# ── test under power ────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmedClear(Happened):
    """`elsewhere`: areas whose earlier confirmation by the same person ends, since they have walked on.

    `seen_by`: by radio, who sees the areas.
    """

    areas: tuple[str, ...]
    how: Seen
    watching: bool
    elsewhere: tuple[str, ...]
    seen_by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchLeft(Happened):
    pass


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmationsVoided(Happened):
    """Someone signed on where these areas lie; `by` signed on, possibly under another permit."""

    areas: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SanctionGiven(Happened):
    points: tuple[str, ...]
    limits: str
    cycles: int
    until: datetime
    signed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleBegun(Happened):
    cycle: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadyToEnergise(Happened):
    signed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reisolating(Happened):
    pass


@dataclass(frozen=True, slots=True, kw_only=True)
class SanctionEnded(Happened):
    why: str


# ── calibration, as far as the permit cares ─────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class JobOpened(Happened):
    job: int
    machine: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisCorrected(Happened):
    job: int
    axis: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisProven(Happened):
    """`lifts`: whether this is the check that a machine out of use waits for; see commands.ProveAxis."""

    job: int
    axis: str
    lifts: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class JobClosed(Happened):
    job: int


# ── hand back, restore, close ───────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class HandedBack(Happened):
    from_test: bool
    signed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reenergised(Happened):
    """`in_service` is false while another permit still holds a point of these machines."""

    in_service: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosureSigned(Happened):
    signed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PermitClosed(Happened):
    pass


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedOutOfUse(Happened):
    """An officer closed it not proven. `left`: what was open, in words; `machines` stay out of use.

    `out_of_use`: what was left open on each of them, with what earlier permits left there.
    """

    machines: tuple[str, ...]
    why: str
    left: tuple[str, ...]
    signed: str
    out_of_use: tuple[OutOfUse, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PermitExpired(Happened):
    """Its time is over: no sign-on, no test any more. `crew`: who was still signed on."""

    crew: tuple[str, ...]


# ── stop, suspend, lift ─────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkStopped(Happened):
    """A stop, suspension or emergency: every verification is void.

    `crew`: who was signed on and is called out. Isolated and testing
    become isolating.
    """

    kind: HaltKind
    why: str
    crew: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HaltLifted(Happened):
    how: str
    signed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EmergencyDeclared(Happened):
    """Of the whole site: `permit` is empty. Each open permit has its own stop beside it."""

    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EmergencyEnded(Happened):
    """Of the whole site."""

    how: str
    signed: str


# ── hand over, stand in for who is absent ───────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class HandoverOffered(Happened):
    to: str
    signed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HolderNamed(Happened):
    """An officer named a new holder; the old one is absent. They become it when they accept."""

    to: str
    why: str
    signed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HandoverWithdrawn(Happened):
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HandoverAccepted(Happened):
    """`by` is the holder now, `before` was. `own_issue`: holder and issuer are one person from now on."""

    before: str
    own_issue: bool
    signed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SignedByTwo(Happened):
    """`by` signs `signed`, `second` signs `second_signed`.

    `second_digest` is of the second person's name, salted, as the entry's `by_digest` is of `by`'s; whoever
    writes the entry adds it, since the rules know no salt. Both are empty in entries older than the fields.
    """

    second: str
    signed: str
    second_signed: str = ""
    second_digest: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class AbsentLockRemoved(SignedByTwo):
    """A lock came off a point without its owner."""

    point: str
    padlock: str
    owner: str
    not_on_site: str
    tried: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AbsentSignedOff(SignedByTwo):
    """A person was signed off in their absence, and their padlock taken off the box."""

    owner: str
    padlock: str
    not_on_site: str
    tried: str
    searched: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReturnedTold(Happened):
    """Of the whole site: who was absent has been told before they resume."""

    person: str
    how: str


# ── amend, acknowledge ──────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanAmended(Happened):
    """`lock`, `release`: what was added. `order`: the whole plan's from now on."""

    lock: tuple[str, ...]
    release: tuple[str, ...]
    order: tuple[tuple[str, str], ...]
    why: str
    signed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NoticeAcknowledged(Happened):
    notice: int


# ── on paper ────────────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperDeclared(Happened):
    """Of the whole site."""

    since: datetime
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperEnded(Happened):
    """Of the whole site."""

    how: str
    signed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LateEntered(SignedByTwo):
    """The next `entries` entries happened on paper, at `happened_at`; `by` and `second` vouch for them."""

    what: str
    happened_at: datetime
    form: str
    entries: int


# Of the whole site: these name no permit.
SiteEvent = EmergencyDeclared | EmergencyEnded | ReturnedTold | PaperDeclared | PaperEnded

PermitEvent = (
    PermitRequested | PermitIssued | PermitCancelled | PermitAccepted | PermitExtended | CrewNamed
    | AffectedTold
    | LockApplied | LockRemoved | StoreReleased | ReleaseUndone | PointVerified | VerificationVoided
    | VerificationLapsed | Isolated | IsolationLost
    | CrewSignedOn | CrewSignedOff | MachineChecked | DefectResolved | DefectAccepted
    | ConfirmedClear | WatchLeft | ConfirmationsVoided | SanctionGiven | CycleBegun | ReadyToEnergise
    | Reisolating | SanctionEnded
    | JobOpened | AxisCorrected | AxisProven | JobClosed
    | HandedBack | Reenergised | ClosureSigned | PermitClosed | ClosedOutOfUse | PermitExpired
    | WorkStopped | HaltLifted
    | HandoverOffered | HolderNamed | HandoverWithdrawn | HandoverAccepted
    | AbsentLockRemoved | AbsentSignedOff
    | PlanAmended | NoticeAcknowledged | LateEntered
)  # fmt: skip

Event = PermitEvent | SiteEvent
