"""One calibration job: one axis at a time, readings before and after, corrections with a reason. Pure.

Whether power may be on, and who may work, is the permit's business (work/rules/testing.py); here only what the
readings and corrections ask of each other.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from permits.calibration.rules.deciding import Assessment, Decision, Instrument, Question, Reading, assess
from permits.calibration.rules.lengths import Measure
from permits.calibration.rules.reasons import size
from permits.work.rules.refusal import Unmet

LEAST_PIECES = 2  # one piece says nothing of how far pieces differ


class Stage(StrEnum):
    AS_FOUND = "as found"
    AS_LEFT = "as left"


class AxisState(StrEnum):
    OPEN = "open"
    CLOSED = "closed"
    ABANDONED = "abandoned"


class Parameter(StrEnum):
    OFFSET = "offset"
    SCALE = "scale"


@dataclass(frozen=True, slots=True)
class Piece:
    """One test piece, read as found or after correction number `corrections`."""

    nominal: Measure
    measured: Measure
    stage: Stage
    corrections: int


@dataclass(frozen=True, slots=True)
class AxisWork:
    """The work on one axis in one job. `corrections`: how many were entered; `proven`: how many were checked."""

    axis: str
    name: str
    state: AxisState
    tolerance: Measure
    instrument: Instrument
    pieces: tuple[Piece, ...] = ()
    corrections: int = 0
    proven: int = 0

    @property
    def stage(self) -> Stage:
        """What a reading taken now is: as found until something is corrected."""
        return Stage.AS_LEFT if self.corrections else Stage.AS_FOUND

    def pieces_of(self, stage: Stage) -> tuple[Piece, ...]:
        """The pieces that count: as found all, as left only those since the last correction."""
        wanted = 0 if stage is Stage.AS_FOUND else self.corrections
        return tuple(p for p in self.pieces if p.stage is stage and p.corrections == wanted)

    def assessed(self, stage: Stage) -> Assessment | None:
        """What the pieces of a stage say; None while there is none."""
        pieces = self.pieces_of(stage)
        if not pieces:
            return None
        readings = tuple(Reading(p.nominal.value, p.measured.value) for p in pieces)
        return assess(Question(self.tolerance.unit, self.tolerance.value, self.instrument, readings))

    @property
    def unproven(self) -> bool:
        return self.corrections > self.proven


def against_opening_axis(works: tuple[AxisWork, ...]) -> Iterator[Unmet]:
    """One axis at a time: another opens only when the first is closed or abandoned (common practice)."""
    for work in works:
        if work.state is AxisState.OPEN:
            yield Unmet(
                "axis-open",
                f"{work.name} is still open; axes are corrected one at a time.",
                f"Close {work.name}, or abandon it.",
            )


def against_piece(work: AxisWork, nominal: Measure, measured: Measure) -> Iterator[Unmet]:
    yield from not_open(work)
    for what, value in (("nominal", nominal), ("measured", measured)):
        if value.unit is not work.tolerance.unit:
            yield Unmet(
                "wrong-unit",
                f"The {what} size is in {value.unit}; {work.name} is read in {work.tolerance.unit}.",
                f"Enter it in {work.tolerance.unit}.",
            )


def not_open(work: AxisWork) -> Iterator[Unmet]:
    if work.state is not AxisState.OPEN:
        yield Unmet("axis-not-open", f"{work.name} is {work.state.value}.", "Open the axis first.")


def against_correction(work: AxisWork, old: Measure, new: Measure, reason: str) -> Iterator[Unmet]:
    """A correction needs readings that justify it, or a reason that stands in the record as an exception."""
    yield from not_open(work)
    if old.value == new.value:
        yield Unmet(
            "nothing-changed", "Old and new value are the same.", "Enter what the parameter was and is now."
        )
    if work.unproven:
        yield Unmet(
            "correction-unproven",
            f"The last correction of {work.name} has not been checked on fresh pieces.",
            "Run fresh pieces, read them and judge the result first.",
        )
    found = work.assessed(work.stage)
    if found is None or found.n < LEAST_PIECES:
        yield Unmet(
            "no-readings",
            f"{work.name} has {found.n if found else 0} readings {work.stage.value}; {LEAST_PIECES} or more are needed.",
            "Run test pieces and read them first.",
        )
    elif found.decision is not Decision.ADJUST and not reason.strip():
        yield Unmet(
            "not-justified",
            f"The readings say {found.decision.value.upper()}: mean deviation "
            f"{size(found.mean, work.tolerance.unit, plus=True)}, tolerance "
            f"{size(work.tolerance.value, work.tolerance.unit)}. Adjusting what is in tolerance makes it worse.",
            "Leave it; or say why it is adjusted all the same, which stays in the record as an exception.",
        )


def is_override(work: AxisWork) -> bool:
    """Would a correction now go against what the readings say?"""
    found = work.assessed(work.stage)
    return found is not None and found.decision is not Decision.ADJUST


def against_judging(work: AxisWork) -> Iterator[Unmet]:
    """The as-left check of the last correction: fresh pieces, enough of them."""
    yield from not_open(work)
    if not work.corrections:
        yield Unmet("nothing-corrected", f"Nothing was corrected on {work.name}.", "Close the axis as it is.")
    taken = len(work.pieces_of(Stage.AS_LEFT))
    if work.corrections and taken < LEAST_PIECES:
        yield Unmet(
            "no-readings",
            f"{taken} fresh pieces were read since the correction; {LEAST_PIECES} or more are needed.",
            "Run fresh pieces and read them.",
        )


def against_closing_axis(work: AxisWork, *, abandon: bool) -> Iterator[Unmet]:
    """A corrected axis closes only checked; one without any reading is abandoned, not closed."""
    yield from not_open(work)
    if work.unproven:
        yield Unmet(
            "correction-unproven",
            f"The last correction of {work.name} has no as-left check.",
            "Run fresh pieces, read them and judge the result.",
        )
    if not abandon and not work.pieces:
        yield Unmet("no-readings", f"{work.name} has no reading.", "Read test pieces, or abandon the axis.")


def went_worse(work: AxisWork) -> bool:
    """Are the fresh pieces further from zero than the machine was found?"""
    found, left = work.assessed(Stage.AS_FOUND), work.assessed(Stage.AS_LEFT)
    if found is None or left is None:
        return False
    return largest(left) > largest(found)


def largest(answer: Assessment) -> Fraction:
    """The size of the deviation that an assessment is about."""
    return abs(answer.judged.value if answer.judged is not None else answer.mean)
