"""What stands against an act in a calibration job; each yield is one condition, and what would be right."""

from __future__ import annotations

from collections.abc import Iterator

from permits.calibration.rules.deciding import Decision
from permits.calibration.rules.job import LEAST_PIECES, AxisState, AxisWork, Stage, goes_back
from permits.calibration.rules.lengths import Measure, printed
from permits.calibration.rules.parameters import Change, setting_printed
from permits.calibration.rules.reasons import size
from permits.work.rules.refusal import Unmet
from permits.work.rules.whom import NOTHING_LEFT

JUDGE_FRESH = "You run fresh pieces, read them and judge the result first, on this page."

MORE_FRESH = "You leave it as it was read, and read more fresh pieces, on this page."


def closes_first(axis: str) -> str:
    return f"You close {axis} first, or abandon it, on this page."


def not_open(work: AxisWork) -> Iterator[Unmet]:
    if work.state is not AxisState.OPEN:
        yield Unmet(
            "axis-not-open",
            f"{work.name} is {work.state.value}.",
            "You open the axis first, on this page.",
        )


def against_opening_axis(works: tuple[AxisWork, ...]) -> Iterator[Unmet]:
    """One axis at a time: another opens only when the first is closed or abandoned (common practice)."""
    for work in works:
        if work.state is AxisState.OPEN:
            yield Unmet(
                "axis-open",
                f"{work.name} is still open; axes are corrected one at a time.",
                closes_first(work.name),
            )


def against_withdrawn(name: str, *, withdrawn: bool) -> Iterator[Unmet]:
    if withdrawn:
        yield Unmet(
            "axis-withdrawn",
            f"{name} was taken out of the plant's axes.",
            "You choose another axis, on this page.",
        )


def against_piece(work: AxisWork, nominal: Measure, measured: Measure) -> Iterator[Unmet]:
    """A piece is read in the axis' unit, and is of a size that the axis is there to cut."""
    yield from not_open(work)
    mixed = False
    for what, value in (("nominal", nominal), ("measured", measured)):
        if value.unit is not work.tolerance.unit:
            mixed = True
            yield Unmet(
                "wrong-unit",
                f"The {what} size is in {value.unit}; {work.name} is read in {work.tolerance.unit}.",
                f"You enter it in {work.tolerance.unit}, on this page.",
            )
    if work.nominal is not None and not mixed and not work.nominal.holds(nominal):
        yield Unmet(
            "outside-range",
            f"Nominal {printed(nominal)} is outside the sizes of {work.name}: {work.nominal}.",
            "You read a piece of a size in that range, or open on this page the axis that cuts this one.",
        )


def against_striking(work: AxisWork, n: int, why: str) -> Iterator[Unmet]:
    """A reading that was entered wrong is taken back while nothing was decided on it, with a reason."""
    yield from not_open(work)
    piece = next((one for one in work.pieces if one.n == n), None)
    if piece is None:
        yield Unmet(
            "no-such-piece",
            f"{work.name} has no piece {n}.",
            "You choose one of the pieces read, on this page.",
        )
    elif piece.struck:
        yield Unmet("struck-already", f"Piece {n} is struck out already.", NOTHING_LEFT)
    elif piece not in work.pieces_of(work.stage):
        yield Unmet(
            "decided-on",
            f"Piece {n} was read before the last correction.",
            MORE_FRESH,
        )
    elif work.corrections and not work.unproven:
        yield Unmet(
            "decided-on",
            f"Piece {n} was judged already.",
            MORE_FRESH,
        )
    if not why.strip():
        yield Unmet(
            "no-reason", "It is not said what was wrong.", "You write what was entered wrong, on this page."
        )


def against_correction(work: AxisWork, change: Change, reason: str) -> Iterator[Unmet]:
    """A correction needs readings that justify it, or a reason that stands in the record as an exception."""
    yield from not_open(work)
    yield from beyond_limits(work, change)
    if change.old.value == change.new.value:
        yield Unmet(
            "nothing-changed",
            "Old and new value are the same.",
            "You enter what the parameter was and is now, on this page.",
        )
    if work.unproven:
        yield Unmet(
            "correction-unproven",
            f"The last correction of {work.name} has not been checked on fresh pieces.",
            JUDGE_FRESH,
        )
    found = work.assessed(work.stage)
    if found is None or found.n < LEAST_PIECES:
        taken = found.n if found else 0
        yield Unmet(
            "no-readings",
            f"{work.name} has {taken} reading{'s' if taken != 1 else ''} {work.stage.value}; "
            f"{LEAST_PIECES} or more are needed.",
            "You run test pieces and read them first, on this page.",
        )
    elif found.decision is not Decision.ADJUST and not reason.strip() and not goes_back(work, change):
        yield Unmet(
            "not-justified",
            f"The readings say {found.decision.value.upper()}: mean deviation "
            f"{size(found.mean, work.tolerance.unit, plus=True)}, tolerance "
            f"{size(work.tolerance.value, work.tolerance.unit)}. "
            "Adjusting what is in tolerance makes it worse.",
            "You leave it; or say on this page why it is adjusted all the same, which stays in the record as "
            "an exception.",
        )


def beyond_limits(work: AxisWork, change: Change) -> Iterator[Unmet]:
    """Only what the officer has named may be changed, and only so far."""
    allowed = work.ranges.get(change.parameter)
    if allowed is None:
        may = " and ".join(sorted(work.ranges)) or "nothing yet"
        yield Unmet(
            "not-a-parameter",
            f"The {change.parameter} of {work.name} is not to be changed. A correction may change: {may}.",
            "You correct what is named; or a safety officer describes this parameter with its limits, under "
            "“Calibration”.",
        )
    elif not allowed.holds(change.new):
        yield Unmet(
            "beyond-limit",
            f"{setting_printed(change.new)} is beyond the limits of the {change.parameter} of {work.name}: "
            f"{allowed}.",
            "You stay within the limits. Where more is needed, look at the machine for what is worn, loose "
            "or bent.",
        )


def against_judging(work: AxisWork) -> Iterator[Unmet]:
    """The as-left check of the last correction: fresh pieces, enough of them."""
    yield from not_open(work)
    if not work.corrections:
        yield Unmet(
            "nothing-corrected",
            f"Nothing was corrected on {work.name}.",
            "You close the axis as it is, on this page.",
        )
    taken = len(work.pieces_of(Stage.AS_LEFT))
    if work.corrections and taken < LEAST_PIECES:
        yield Unmet(
            "no-readings",
            f"{taken} fresh piece{'s were' if taken != 1 else ' was'} read since the correction; "
            f"{LEAST_PIECES} or more are needed.",
            "You run fresh pieces and read them, on this page.",
        )


def against_closing_axis(work: AxisWork, *, abandon: bool) -> Iterator[Unmet]:
    """A corrected axis closes only checked; one without any reading is abandoned, not closed."""
    yield from not_open(work)
    if work.unproven:
        yield Unmet(
            "correction-unproven",
            f"The last correction of {work.name} has no as-left check.",
            JUDGE_FRESH,
        )
    if not abandon and not any(not piece.struck for piece in work.pieces):
        yield Unmet(
            "no-readings",
            f"{work.name} has no reading.",
            "You read test pieces, or abandon the axis, on this page.",
        )
