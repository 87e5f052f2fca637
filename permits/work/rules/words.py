"""The small values of a permit: phases, locks, releases, tests, confirmations, in the plant's words."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from enum import StrEnum


class Phase(StrEnum):
    REQUESTED = "requested"
    ISSUED = "issued"
    ISOLATING = "isolating"
    ISOLATED = "isolated"
    TESTING = "testing"
    RESTORING = "restoring"
    CLOSED = "closed"
    CANCELLED = "cancelled"

    @property
    def is_over(self) -> bool:
        return self in (Phase.CLOSED, Phase.CANCELLED)


AT_WORK = (Phase.ISOLATING, Phase.ISOLATED, Phase.TESTING)  # accepted, and not handed back


class Position(StrEnum):
    """The safe position in which a point was seen before its lock went on."""

    OFF = "off"
    CLOSED = "closed"
    WITHDRAWN = "withdrawn"
    INSERTED = "inserted"
    BLANKED = "blanked"


class Stage(StrEnum):
    """When affected people were told: before the first lock, or after the last one is off."""

    BEFORE = "before locking"
    AFTER = "after unlocking"


class Seen(StrEnum):
    """How a danger area was confirmed clear."""

    SELF = "seen"
    RADIO = "radio"


class Finding(StrEnum):
    OK = "in order"
    DEFECT = "defect"


class DefectState(StrEnum):
    OPEN = "open"
    RESOLVED = "resolved"
    ACCEPTED = "accepted"


# What is inspected before any adjustment: common practice on automatic cutting lines, no published source.
CHECK_ITEMS: tuple[tuple[str, str], ...] = (
    ("obstructions", "Obstructions, scrap and jams"),
    ("damage", "Mechanical damage"),
    ("cables", "Cables, sensors, loose wires"),
    ("cleaning", "Cleaning and lubrication"),
    ("maintenance", "Maintenance overdue or nearly due"),
    ("alignment", "Alignment of rollers, jaws and chains"),
    ("wear", "Wear of jaws, spikes and rollers"),
)

class HaltKind(StrEnum):
    """What holds a permit up until someone lifts it."""

    STOP = "stop"
    SUSPENSION = "suspension"
    EMERGENCY = "emergency"
    PLANT = "plant changed"


BOX = "box"  # where a crew member's own padlock hangs: the group box


@dataclass(frozen=True, slots=True)
class Lock:
    """One person's numbered padlock, on one point or on the box, for one permit.

    `where`: a point's id, or BOX. `tag`: the danger tag's number. `removed_at`: None while it hangs. At a
    point that takes a tag and no lock `padlock` is the danger tag's number too, and `measure_done` says what
    was done there besides; elsewhere it is empty.
    """

    where: str
    padlock: str
    owner: str
    applied_at: datetime
    tag: str = ""
    position: Position | None = None
    typed: bool = False
    removed_at: datetime | None = None
    measure_done: str = ""

    @property
    def is_tag(self) -> bool:
        """Is it a tag that stands for a lock, at a point that takes none?"""
        return bool(self.measure_done)


@dataclass(frozen=True, slots=True)
class StoreRelease:
    """A store made harmless for one permit; a reading counts from `counts_from` on."""

    point: str
    method: str
    by: str
    at: datetime
    counts_from: datetime
    undone_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """One value read at a point; `combination` names the two conductors of an electrical reading."""

    value: Decimal
    unit: str
    combination: str = ""


@dataclass(frozen=True, slots=True)
class Verification:
    """A test that a point holds no energy.

    `counts` is false where the reading came before the store's waiting time was over. `fed`: whether energy
    still stood at the point's upstream side when it was tested. `lapses_at`: when a store that can recharge
    must have been read again. Good only while it passed, counts, is not void and has not lapsed.
    """

    point: str
    by: str
    at: datetime
    method: str
    readings: tuple[Reading, ...]
    limit: Decimal
    unit: str
    instrument: str
    passed: bool
    counts: bool
    fed: bool
    lapses_at: datetime | None = None
    void_at: datetime | None = None

    def is_good(self, now: datetime) -> bool:
        fresh = self.lapses_at is None or now < self.lapses_at
        return self.passed and self.counts and self.void_at is None and fresh


@dataclass(frozen=True, slots=True)
class SignOn:
    """One person at work under a permit. `padlock` hangs on the box; empty where their point locks are it."""

    person: str
    padlock: str
    on_at: datetime
    off_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Notice:
    """Affected people were told. `covers_tests`: it announced the test starts as well."""

    stage: Stage
    whom: str
    how: str
    by: str
    at: datetime
    covers_tests: bool = False


@dataclass(frozen=True, slots=True)
class CheckItem:
    item: str
    finding: Finding
    note: str = ""


@dataclass(frozen=True, slots=True)
class MachineCheck:
    by: str
    at: datetime
    items: tuple[CheckItem, ...]


@dataclass(frozen=True, slots=True)
class Defect:
    item: str
    what: str
    found_by: str
    found_at: datetime
    state: DefectState = DefectState.OPEN
    ended_by: str = ""
    ended_at: datetime | None = None
    how: str = ""


@dataclass(frozen=True, slots=True)
class Confirmation:
    """A named person says that a danger area is clear of people; a watcher keeps it fresh.

    `seen_by`: by radio, the person who sees it and told `by`.
    """

    area: str
    by: str
    at: datetime
    how: Seen
    watching: bool = False
    void_at: datetime | None = None
    seen_by: str = ""

    @property
    def eyes(self) -> str:
        """Who sees the area: whoever confirmed it, or the person who told them by radio."""
        return self.seen_by or self.by


@dataclass(frozen=True, slots=True)
class Sanction:
    """Leave to energise named points for testing. `cycle` counts the cycles begun so far."""

    points: tuple[str, ...]
    limits: str
    cycles: int
    until: datetime
    by: str
    at: datetime
    cycle: int = 0
    ready_at: datetime | None = None
    ended_at: datetime | None = None
    why_ended: str = ""


@dataclass(frozen=True, slots=True)
class Job:
    """A calibration job as the permit sees it.

    `unproven`: corrected axes that wait for their as-left check; `proven`: those that had it.
    """

    number: int
    machine: str
    opened_at: datetime
    unproven: tuple[str, ...] = ()
    proven: tuple[str, ...] = ()
    closed_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Halt:
    """A stop, a suspension or a site emergency, as one permit has it."""

    kind: HaltKind
    by: str
    at: datetime
    why: str
    lifted_by: str = ""
    lifted_at: datetime | None = None
    how_lifted: str = ""


@dataclass(frozen=True, slots=True)
class Acknowledgement:
    """An affected person says that a notice has reached them. `notice`: its place among the permit's."""

    notice: int
    person: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Declared:
    """What an officer declared for the whole site: an emergency, or paper mode."""

    by: str
    at: datetime
    why: str


@dataclass(frozen=True, slots=True)
class OutOfUse:
    """A machine that an officer closed permit `permit` on as not proven, and what was left open there.

    `axes`: corrected, without an as-left check. `defects`: in words. `any_axis`: neither was named, and an
    as-left check of any axis proves the machine.
    """

    machine: str
    permit: str
    axes: tuple[str, ...] = ()
    defects: tuple[str, ...] = ()
    any_axis: bool = False


@dataclass(frozen=True, slots=True)
class Signature:
    """Who signed, when, and what the signature means."""

    person: str
    meaning: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Policy:
    """A site's own numbers. Each may ask for more than the law, and then the rule says *site policy*.

    clear_minutes: how long a clear confirmation stays fresh. permit_hours: the longest time a permit may run
    before an issuer has to extend it. test_hours: the longest a sanction may run. own_issue: whether issuer
    and holder may be one person (recorded as an exception). recheck_minutes: the longest a test of a store
    that can recharge holds, however long its own interval is (0: its own interval alone).
    """

    clear_minutes: int = 10
    permit_hours: int = 12
    test_hours: int = 4
    own_issue: bool = False
    recheck_minutes: int = 0
