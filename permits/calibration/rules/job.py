"""One calibration job as values: one axis at a time, pieces before and after, corrections. Pure.

Whether power may be on, and who may work, is the permit's business (work/rules/testing.py); what readings and
corrections ask of each other is in against.py, what to do next in what_next below.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

from permits.calibration.rules.deciding import Assessment, Decision, Instrument, Question, Reading, assess
from permits.calibration.rules.lengths import Measure
from permits.calibration.rules.parameters import Change, Parameter, Range

__all__ = ["AxisState", "AxisWork", "Do", "Parameter", "Piece", "Stage", "is_override", "what_next"]

LEAST_PIECES = 2  # one piece says nothing of how far pieces differ


class Stage(StrEnum):
    AS_FOUND = "as found"
    AS_LEFT = "as left"


class AxisState(StrEnum):
    OPEN = "open"
    CLOSED = "closed"
    ABANDONED = "abandoned"


@dataclass(frozen=True, slots=True)
class Piece:
    """One test piece, read as found or after correction number `corrections`. `struck`: its reading was
    entered wrong and was taken back; it stays in the record and counts for nothing."""

    nominal: Measure
    measured: Measure
    stage: Stage
    corrections: int
    n: int = 0
    struck: bool = False


@dataclass(frozen=True, slots=True)
class AxisWork:
    """The work on one axis in one job. `corrections`: how many were entered; `proven`: how many were checked.

    Tolerance and instrument are those of when the axis was opened; `nominal` is the range of sizes that the
    axis cuts (None: any), `ranges` what a correction may change and how far. `owed`: the permit that was
    closed without this axis' as-left check, while that is owed ("" for none); `owed_at_opening`: the same
    when the axis was opened. See owing.py.
    """

    axis: str
    name: str
    state: AxisState
    tolerance: Measure
    instrument: Instrument
    pieces: tuple[Piece, ...] = ()
    corrections: int = 0
    proven: int = 0
    nominal: Range | None = None
    ranges: Mapping[Parameter, Range] = field(default_factory=dict)
    changes: tuple[Change, ...] = ()
    owed: str = ""
    owed_at_opening: str = ""

    @property
    def stage(self) -> Stage:
        """What a reading taken now is: as found until something is corrected."""
        return Stage.AS_LEFT if self.corrections else Stage.AS_FOUND

    def pieces_of(self, stage: Stage) -> tuple[Piece, ...]:
        """The pieces that count: as found all, as left only those since the last correction."""
        wanted = 0 if stage is Stage.AS_FOUND else self.corrections
        return tuple(p for p in self.pieces if p.stage is stage and p.corrections == wanted and not p.struck)

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

    @property
    def to_undo(self) -> Change | None:
        """The last correction; None where there is none, or it took the one before it back itself."""
        if not self.changes or (len(self.changes) > 1 and self.changes[-1].undoes(self.changes[-2])):
            return None
        return self.changes[-1]


def is_override(work: AxisWork, change: Change) -> bool:
    """Would this correction go against what the readings say? Undoing one that made it worse does not."""
    if goes_back(work, change):
        return False
    found = work.assessed(work.stage)
    return found is not None and found.decision is not Decision.ADJUST


def goes_back(work: AxisWork, change: Change) -> bool:
    """Does it undo the last correction, after fresh pieces were further off than it was found?"""
    return work.to_undo is not None and change.undoes(work.to_undo) and went_worse(work)


def went_worse(work: AxisWork) -> bool:
    """Are the fresh pieces further from zero than the machine was found?"""
    found, left = work.assessed(Stage.AS_FOUND), work.assessed(Stage.AS_LEFT)
    if found is None or left is None:
        return False
    return abs(judged(left)) > abs(judged(found))


def judged(answer: Assessment) -> Fraction:
    """The deviation that was judged: the largest fitted one where the scale is off, else the mean."""
    return answer.judged.value if answer.judged is not None else answer.mean


class Do(StrEnum):
    """The one next thing at an open axis."""

    READ = "read"
    READ_MORE = "read more"
    LEAVE = "leave"
    CORRECT = "correct"
    READ_FRESH = "read fresh"
    JUDGE = "judge"
    GO_BACK = "go back"
    CLOSE = "close"


def is_settled(work: AxisWork) -> bool:
    """Do the fresh pieces say whether the last correction worked? Until then nothing is judged by itself."""
    return work.state is AxisState.OPEN and what_next(work) is Do.JUDGE


def what_next(work: AxisWork) -> Do:
    """What the readings ask for now. Advice: what may be done is for against.py."""
    answer = work.assessed(work.stage)
    enough = answer is not None and answer.n >= LEAST_PIECES
    if not work.corrections:
        if answer is None or not enough:
            return Do.READ
        if work.owed and answer.decision is Decision.LEAVE and answer.pieces_scatter:
            return Do.READ_MORE  # in tolerance on the mean alone, which proves nothing
        return {Decision.LEAVE: Do.LEAVE, Decision.ADJUST: Do.CORRECT}.get(answer.decision, Do.READ_MORE)
    if work.unproven:
        settled = answer is not None and answer.decision is not Decision.MEASURE_AGAIN
        return Do.JUDGE if enough and settled else Do.READ_FRESH
    if went_worse(work) and work.to_undo is not None:
        return Do.GO_BACK
    if answer is not None and answer.decision is Decision.ADJUST:
        return Do.CORRECT
    return Do.CLOSE
