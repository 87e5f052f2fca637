"""What an auditor sees first: one function per kind, each over one entry and what came before it.

An exception is what went otherwise than it should, whether or not it was allowed. A note is worth knowing and
no exception. What happened *around* permits (a tag, a PIN, a procedure) is the site's, and shown with the
permits that it touches.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import StrEnum

from permits.calibration.rules.deciding import Decision
from permits.calibration.rules.facts import Fact
from permits.calibration.rules.job import Stage
from permits.people.rules.kinds import Kind as PeopleKind
from permits.plant.rules.facts import Fact as PlantFact
from permits.records.entries import UNREADABLE, Told
from permits.records.names import Names
from permits.work.rules import events as e
from permits.work.rules.proving import TRY_START
from permits.work.rules.words import Seen
from permits.work.rules.written import kind_of


class What(StrEnum):
    """The kinds, in the order in which a reader should meet them; the value is its word in an address."""

    CHANGED_ENTRY = "changed-entry"
    LOST_WITH_CREW = "lost-with-crew"
    EXPIRED_WITH_CREW = "expired-with-crew"
    FAILED_TEST = "failed-test"
    EARLY_READING = "early-reading"
    MISSED_RETEST = "missed-retest"
    OWN_ISSUE = "own-issue"
    STALE_CONFIRMATION = "stale-confirmation"
    RADIO_CONFIRMATION = "radio-confirmation"
    DEFECT_ACCEPTED = "defect-accepted"
    AGAINST_READINGS = "against-readings"
    RESULT_NOT_GOOD = "result-not-good"
    OVERDUE_INSTRUMENT = "overdue-instrument"
    READING_STRUCK = "reading-struck"
    OUT_OF_USE = "out-of-use"
    EXPIRED = "expired"
    WITHDRAWN_TAG = "withdrawn-tag"
    WRONG_PIN = "wrong-pin"
    PROCEDURE_UNPROVEN = "procedure-unproven"
    TYPED_CODE = "typed-code"
    ANOTHERS_DEVICE = "anothers-device"
    PROOF_LOST = "proof-lost"

    @property
    def words(self) -> str:
        return WORDS[self]

    @property
    def is_note(self) -> bool:
        return self in NOTES

    @property
    def is_around(self) -> bool:
        return self in AROUND


WORDS = {
    What.CHANGED_ENTRY: "entry was changed",
    What.LOST_WITH_CREW: "isolation lost with people inside",
    What.EXPIRED_WITH_CREW: "time over with people inside",
    What.FAILED_TEST: "test failed",
    What.EARLY_READING: "read before the wait was over",
    What.MISSED_RETEST: "not tested again in time",
    What.OWN_ISSUE: "issued to oneself",
    What.STALE_CONFIRMATION: "confirmation went stale",
    What.RADIO_CONFIRMATION: "confirmed by radio",
    What.DEFECT_ACCEPTED: "defect accepted",
    What.AGAINST_READINGS: "corrected against the readings",
    What.RESULT_NOT_GOOD: "result not good",
    What.OVERDUE_INSTRUMENT: "instrument out of date",
    What.READING_STRUCK: "reading struck out",
    What.OUT_OF_USE: "closed not proven",
    What.EXPIRED: "time over",
    What.WITHDRAWN_TAG: "withdrawn tag read",
    What.WRONG_PIN: "wrong PIN",
    What.PROCEDURE_UNPROVEN: "procedure no longer isolates",
    What.TYPED_CODE: "code typed by hand",
    What.ANOTHERS_DEVICE: "on another's device",
    What.PROOF_LOST: "proof lost, nobody inside",
}
NOTES = frozenset({What.TYPED_CODE, What.ANOTHERS_DEVICE, What.PROOF_LOST})
AROUND = frozenset({What.WITHDRAWN_TAG, What.WRONG_PIN, What.PROCEDURE_UNPROVEN})


@dataclass(frozen=True, slots=True)
class Found:
    """One exception or note. `areas`, `minutes`: of which areas the confirmation before was how old."""

    what: What
    told: Told
    areas: tuple[str, ...] = ()
    minutes: int = 0

    def why(self, names: Names) -> str:
        """What the entry's own sentence does not say."""
        if self.what is What.STALE_CONFIRMATION:
            areas = names.points(self.areas)
            return f"{areas}: {self.minutes} minutes after the last confirmation, which was too old."
        if self.what is What.CHANGED_ENTRY:
            return "Its text does not have the digest beside it: the row was changed in the database."
        return ""


@dataclass(slots=True)
class SoFar:
    """What earlier entries of the same permit said, as far as a function needs it."""

    clear_minutes: int
    holder: str = ""
    confirmed: dict[str, datetime] = field(default_factory=dict)  # area → when, only those that go stale

    def add(self, told: Told) -> None:
        match told.event:
            case e.PermitIssued(holder=holder):
                self.holder = holder
            case e.ConfirmedClear(areas=areas, watching=watching, at=at):
                for area in areas:
                    self.confirmed.pop(area, None)
                    if not watching:
                        self.confirmed[area] = at
            case e.CycleBegun() | e.ReadyToEnergise() | e.Reisolating() | e.HandedBack() | e.Reenergised():
                self.confirmed.clear()  # what is confirmed after these is for another start
            case e.ConfirmationsVoided(areas=areas):
                for area in areas:
                    self.confirmed.pop(area, None)


Judge = Callable[[Told, SoFar], Iterator[Found]]


# ── of a permit ─────────────────────────────────────────────────────────────────────────────────────────


def own_issue(told: Told, so_far: SoFar) -> Iterator[Found]:
    """Issuer and holder are one person: the permit, its sanction for test, or its extension."""
    match told.event:
        case e.PermitIssued(own_issue=True):
            yield Found(What.OWN_ISSUE, told)
        case e.SanctionGiven(by=by) | e.PermitExtended(by=by) if by and by == so_far.holder:
            yield Found(What.OWN_ISSUE, told)


def failed_test(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.PointVerified) and not told.event.passed:
        yield Found(What.FAILED_TEST, told)


def early_reading(told: Told, so_far: SoFar) -> Iterator[Found]:
    """Read before the store's waiting time was over: kept, and not counted."""
    if isinstance(told.event, e.PointVerified) and not told.event.counts and told.event.method != TRY_START:
        yield Found(What.EARLY_READING, told)


def missed_retest(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.VerificationLapsed):
        yield Found(What.MISSED_RETEST, told)


def stale_confirmation(told: Told, so_far: SoFar) -> Iterator[Found]:
    """For one start an area was confirmed, the word grew too old unused, and was renewed only then."""
    if not isinstance(told.event, e.ConfirmedClear):
        return
    ages = {area: told.at - so_far.confirmed[area] for area in told.event.areas if area in so_far.confirmed}
    stale = {area: age for area, age in ages.items() if age >= timedelta(minutes=so_far.clear_minutes)}
    if stale:
        minutes = int(max(stale.values()).total_seconds() // 60)
        yield Found(What.STALE_CONFIRMATION, told, areas=tuple(stale), minutes=minutes)


def radio_confirmation(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.ConfirmedClear) and told.event.how is Seen.RADIO:
        yield Found(What.RADIO_CONFIRMATION, told)


def expired(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.PermitExpired):
        yield Found(What.EXPIRED_WITH_CREW if told.event.crew else What.EXPIRED, told)


def lost_isolation(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.IsolationLost):
        yield Found(What.LOST_WITH_CREW if told.event.crew else What.PROOF_LOST, told)


def defect_accepted(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.DefectAccepted):
        yield Found(What.DEFECT_ACCEPTED, told)


def against_readings(told: Told, so_far: SoFar) -> Iterator[Found]:
    """A correction that the readings did not ask for; its reason is in the entry."""
    if told.kind == Fact.CORRECTION_ENTERED and told.data["override"]:
        yield Found(What.AGAINST_READINGS, told)


def result_not_good(told: Told, so_far: SoFar) -> Iterator[Found]:
    """An as-left result that is not *leave*, or is worse than before; or an axis left out."""
    data = told.data
    judged = told.kind == Fact.RESULT_JUDGED and (data["decision"] != Decision.LEAVE or data["worse"])
    left = told.kind == Fact.AXIS_ENDED and (data["stage"], data["decision"]) == (
        Stage.AS_FOUND,
        Decision.ADJUST,
    )
    if judged or left:
        yield Found(What.RESULT_NOT_GOOD, told)


def overdue_instrument(told: Told, so_far: SoFar) -> Iterator[Found]:
    """A reading with an instrument out of date, which a site's policy may allow."""
    if told.kind == Fact.PIECE_READ and told.data.get("overdue_since"):
        yield Found(What.OVERDUE_INSTRUMENT, told)


def reading_struck(told: Told, so_far: SoFar) -> Iterator[Found]:
    if told.kind == Fact.PIECE_STRUCK:
        yield Found(What.READING_STRUCK, told)


def out_of_use(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.ClosedOutOfUse):
        yield Found(What.OUT_OF_USE, told)


# ── around permits ──────────────────────────────────────────────────────────────────────────────────────


def withdrawn_tag(told: Told, so_far: SoFar) -> Iterator[Found]:
    if told.kind == PlantFact.WITHDRAWN_TAG_READ:
        yield Found(What.WITHDRAWN_TAG, told)


def wrong_pin(told: Told, so_far: SoFar) -> Iterator[Found]:
    if told.kind in (PeopleKind.PIN_FAILED, PeopleKind.PIN_LOCKED):
        yield Found(What.WRONG_PIN, told)


def procedure_unproven(told: Told, so_far: SoFar) -> Iterator[Found]:
    if told.kind == PlantFact.PROCEDURE_UNPROVEN:
        yield Found(What.PROCEDURE_UNPROVEN, told)


# ── notes ───────────────────────────────────────────────────────────────────────────────────────────────


def typed_code(told: Told, so_far: SoFar) -> Iterator[Found]:
    if isinstance(told.event, e.LockApplied) and told.event.typed:
        yield Found(What.TYPED_CODE, told)


def anothers_device(told: Told, so_far: SoFar) -> Iterator[Found]:
    if told.device:
        yield Found(What.ANOTHERS_DEVICE, told)


def changed_entry(told: Told, so_far: SoFar) -> Iterator[Found]:
    if not told.is_whole:
        yield Found(What.CHANGED_ENTRY, told)


OF_A_PERMIT: tuple[Judge, ...] = (
    own_issue, failed_test, early_reading, missed_retest, stale_confirmation, radio_confirmation, expired,
    lost_isolation, defect_accepted, against_readings, result_not_good, overdue_instrument, reading_struck,
    out_of_use,
)  # fmt: skip
OF_THE_SITE: tuple[Judge, ...] = (withdrawn_tag, wrong_pin, procedure_unproven)
ONLY_IN_A_STORY: tuple[Judge, ...] = (typed_code, anothers_device, changed_entry)

AROUND_KINDS = (
    PlantFact.WITHDRAWN_TAG_READ.value,
    PeopleKind.PIN_FAILED.value,
    PeopleKind.PIN_LOCKED.value,
    PlantFact.PROCEDURE_UNPROVEN.value,
)
TESTED = kind_of(e.PointVerified)
READ = Fact.PIECE_READ.value
KINDS = (
    *(kind_of(one) for one in (
        e.PermitIssued, e.SanctionGiven, e.PermitExtended, e.VerificationLapsed, e.ConfirmedClear,
        e.PermitExpired, e.IsolationLost, e.DefectAccepted, e.ClosedOutOfUse, e.CycleBegun, e.ReadyToEnergise,
        e.Reisolating, e.HandedBack, e.Reenergised, e.ConfirmationsVoided, e.PointVerified, e.PermitClosed,
        e.PermitCancelled,
    )),
    Fact.CORRECTION_ENTERED.value,
    Fact.RESULT_JUDGED.value,
    Fact.AXIS_ENDED.value,
    Fact.PIECE_STRUCK.value,
    READ,
    *AROUND_KINDS,
)  # fmt: skip
"""The kinds of entry that the functions above look at or need to have seen before, and a permit's end."""

LAST = (e.PermitClosed, e.PermitCancelled, e.ClosedOutOfUse)


def judged(told: Told, so_far: SoFar, judges: Iterable[Judge]) -> list[Found]:
    """What the functions say of one entry; a damaged entry never hides the others."""
    found: list[Found] = []
    for judge in judges:
        try:
            found += judge(told, so_far)
        except UNREADABLE:
            continue
    return found


def found_in(told: Iterable[Told], *, clear_minutes: int) -> list[Found]:
    """Every exception and note of one permit, from its entries in order."""
    so_far = SoFar(clear_minutes)
    found: list[Found] = []
    for one in told:
        found += judged(one, so_far, (*ONLY_IN_A_STORY, *OF_A_PERMIT))
        so_far.add(one)
    return found
