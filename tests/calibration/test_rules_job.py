"""One axis at work: what may be done, what is to be done next, what counts and what does not."""

from dataclasses import replace
from fractions import Fraction

import pytest

from permits.calibration.rules import against
from permits.calibration.rules import job as rules
from permits.calibration.rules.deciding import Decision, Instrument
from permits.calibration.rules.job import AxisState, AxisWork, Do, Piece, Stage, what_next
from permits.calibration.rules.lengths import from_record
from permits.calibration.rules.parameters import Change, Factor, Parameter, Range

MM = from_record
WORK = AxisWork(
    axis="length-1",
    name="Length",
    state=AxisState.OPEN,
    tolerance=MM("0.5 mm"),
    instrument=Instrument(Fraction(1, 10), Fraction(2), Fraction(1, 20)),
    nominal=Range(MM("150 mm"), MM("1500 mm")),
    ranges={Parameter.OFFSET: Range(MM("-25 mm"), MM("25 mm"))},
)
TOO_LONG = ("1202.0", "1202.1", "1201.9")
RIGHT = ("1200.0", "1200.1", "1199.9")
DOUBTFUL = ("1200.4", "1200.6")
DOWN = Change(Parameter.OFFSET, MM("12.5 mm"), MM("10.5 mm"))
UP = Change(Parameter.OFFSET, MM("10.5 mm"), MM("12.5 mm"))


def read(work: AxisWork, *sizes: str) -> AxisWork:
    """The work after pieces of nominal 1200 mm were read."""
    pieces = list(work.pieces)
    for size in sizes:
        piece = Piece(MM("1200 mm"), MM(f"{size} mm"), work.stage, work.corrections, len(pieces) + 1)
        pieces.append(piece)
    return replace(work, pieces=tuple(pieces))


def corrected(work: AxisWork, change: Change = DOWN) -> AxisWork:
    return replace(work, corrections=work.corrections + 1, changes=(*work.changes, change))


def judged(work: AxisWork) -> AxisWork:
    return replace(work, proven=work.corrections)


def codes(unmet) -> set[str]:
    return {one.code for one in unmet}


# ── what counts ─────────────────────────────────────────────────────────────────────────────────────────


def test_as_found_is_every_piece_before_the_first_correction():
    work = read(corrected(read(WORK, *TOO_LONG)), *RIGHT)
    assert len(work.pieces_of(Stage.AS_FOUND)) == 3
    assert work.stage is Stage.AS_LEFT


def test_as_left_is_only_what_came_after_the_last_correction():
    work = judged(read(corrected(read(WORK, *TOO_LONG)), "1201.0", "1201.1"))
    work = read(corrected(work, Change(Parameter.OFFSET, MM("10.5 mm"), MM("9.5 mm"))), *RIGHT)
    assert [piece.measured.typed for piece in work.pieces_of(Stage.AS_LEFT)] == list(RIGHT)


def test_a_piece_that_was_taken_back_counts_for_nothing():
    work = read(WORK, "120", *RIGHT)
    struck = replace(work, pieces=(replace(work.pieces[0], struck=True), *work.pieces[1:]))
    assert work.assessed(Stage.AS_FOUND).decision is not Decision.LEAVE
    assert struck.assessed(Stage.AS_FOUND).decision is Decision.LEAVE
    assert len(struck.pieces_of(Stage.AS_FOUND)) == 3


def test_nothing_is_said_before_a_piece_is_read():
    assert WORK.assessed(Stage.AS_FOUND) is None


# ── opening an axis, reading pieces ─────────────────────────────────────────────────────────────────────


def test_one_axis_at_a_time():
    """Common practice: another axis opens only when the first is closed or abandoned."""
    assert codes(against.against_opening_axis((WORK,))) == {"axis-open"}
    for state in (AxisState.CLOSED, AxisState.ABANDONED):
        assert not codes(against.against_opening_axis((replace(WORK, state=state),)))


@pytest.mark.parametrize("nominal", ["150 mm", "1500 mm", "1200 mm"])
def test_a_piece_within_the_sizes_of_the_axis_may_be_read(nominal):
    assert not codes(against.against_piece(WORK, MM(nominal), MM("1200 mm")))


@pytest.mark.parametrize("nominal", ["149.9 mm", "1500.1 mm", "9000 mm"])
def test_a_piece_outside_the_sizes_is_refused_with_the_range(nominal):
    [unmet] = against.against_piece(WORK, MM(nominal), MM("1200 mm"))
    assert unmet.code == "outside-range"
    assert "150 to 1500 mm" in unmet.what


def test_an_axis_without_a_range_reads_any_size():
    assert not codes(against.against_piece(replace(WORK, nominal=None), MM("9000 mm"), MM("9000 mm")))


def test_a_reading_in_another_unit_is_refused_once_a_size():
    unmet = list(against.against_piece(WORK, MM("47 1/4 in"), MM("47 1/4 in")))
    assert [one.code for one in unmet] == ["wrong-unit", "wrong-unit"]
    assert "read in mm" in unmet[0].what


def test_a_closed_axis_takes_no_piece():
    closed = replace(WORK, state=AxisState.CLOSED)
    assert "axis-not-open" in codes(against.against_piece(closed, MM("1200 mm"), MM("1200 mm")))


# ── a reading that was entered wrong ────────────────────────────────────────────────────────────────────


def test_a_wrong_reading_is_taken_back_with_a_reason():
    work = read(WORK, "120", "1200")
    assert not codes(against.against_striking(work, 1, "120 typed for 1200"))
    assert codes(against.against_striking(work, 1, "  ")) == {"no-reason"}
    assert codes(against.against_striking(work, 7, "x")) == {"no-such-piece"}


def test_a_reading_is_taken_back_once():
    work = read(WORK, "120", "1200")
    struck = replace(work, pieces=(replace(work.pieces[0], struck=True), work.pieces[1]))
    assert codes(against.against_striking(struck, 1, "x")) == {"struck-already"}


def test_what_was_decided_on_stays():
    work = read(corrected(read(WORK, *TOO_LONG)), *RIGHT)
    assert codes(against.against_striking(work, 1, "x")) == {"decided-on"}  # the correction rests on it
    assert not codes(against.against_striking(work, 4, "x"))
    assert codes(against.against_striking(judged(work), 4, "x")) == {"decided-on"}


# ── corrections ─────────────────────────────────────────────────────────────────────────────────────────


def test_a_correction_that_the_readings_ask_for_needs_no_reason():
    work = read(WORK, *TOO_LONG)
    assert not codes(against.against_correction(work, DOWN, ""))
    assert not rules.is_override(work, DOWN)


@pytest.mark.parametrize("sizes", [RIGHT, DOUBTFUL])
def test_a_correction_against_leave_or_measure_again_needs_a_reason_and_is_an_override(sizes):
    work = read(WORK, *sizes)
    [unmet] = against.against_correction(work, DOWN, "")
    assert unmet.code == "not-justified"
    assert "makes it worse" in unmet.what
    assert not codes(against.against_correction(work, DOWN, "The joiner wants it"))
    assert rules.is_override(work, DOWN)


def test_a_correction_needs_two_readings():
    assert codes(against.against_correction(read(WORK, "1202"), DOWN, "")) == {"no-readings"}
    assert codes(against.against_correction(WORK, DOWN, "why")) == {"no-readings"}


def test_a_correction_changes_something():
    same = Change(Parameter.OFFSET, MM("12.5 mm"), MM("12.50 mm"))
    assert codes(against.against_correction(read(WORK, *TOO_LONG), same, "")) == {"nothing-changed"}


@pytest.mark.parametrize("new", ["25.1 mm", "-25.1 mm"])
def test_a_correction_beyond_the_limit_is_refused_naming_it(new):
    change = Change(Parameter.OFFSET, MM("12.5 mm"), MM(new))
    [unmet] = against.against_correction(read(WORK, *TOO_LONG), change, "")
    assert unmet.code == "beyond-limit"
    assert "-25 to 25 mm" in unmet.what
    assert new in unmet.what


@pytest.mark.parametrize("new", ["25 mm", "-25 mm"])
def test_a_correction_to_the_limit_is_allowed(new):
    change = Change(Parameter.OFFSET, MM("30 mm"), MM(new))
    assert not codes(against.against_correction(read(WORK, *TOO_LONG), change, ""))


def test_only_named_parameters_may_be_changed():
    change = Change(Parameter.SCALE, Factor(Fraction(1), "1"), Factor(Fraction("1.001"), "1.001"))
    [unmet] = against.against_correction(read(WORK, *TOO_LONG), change, "")
    assert unmet.code == "not-a-parameter"
    assert "offset" in unmet.what


def test_a_correction_waits_for_the_check_of_the_last_one():
    work = corrected(read(WORK, *TOO_LONG))
    assert "correction-unproven" in codes(against.against_correction(work, UP, "why"))


# ── worse than it was found ─────────────────────────────────────────────────────────────────────────────

MADE_WORSE = judged(read(corrected(read(WORK, "1200.7", "1200.8", "1200.7")), "1202.9", "1203.0", "1202.9"))


def test_fresh_pieces_further_off_than_found_are_worse():
    assert rules.went_worse(MADE_WORSE)
    assert not rules.went_worse(read(corrected(read(WORK, *TOO_LONG)), *RIGHT))
    assert not rules.went_worse(WORK)


def test_the_other_side_of_zero_is_judged_by_size():
    assert rules.went_worse(read(corrected(read(WORK, "1200.7", "1200.7")), "1199.0", "1199.0"))


def test_going_back_is_no_override_and_needs_no_reason():
    work = judged(read(corrected(read(WORK, *RIGHT)), "1200.3", "1200.2", "1200.3"))
    assert not codes(against.against_correction(work, UP, ""))
    assert not rules.is_override(work, UP)
    elsewhere = Change(Parameter.OFFSET, MM("10.5 mm"), MM("12 mm"))
    assert codes(against.against_correction(work, elsewhere, "")) == {"not-justified"}


def test_going_back_is_not_gone_back_on():
    back = judged(read(corrected(MADE_WORSE, UP), "1200.9", "1201.0", "1200.9"))
    assert rules.went_worse(back)
    assert back.to_undo is None
    assert what_next(back) is Do.CORRECT


# ── judging and ending ──────────────────────────────────────────────────────────────────────────────────


def test_judging_needs_a_correction_and_two_fresh_pieces():
    assert codes(against.against_judging(read(WORK, *TOO_LONG))) == {"nothing-corrected"}
    one = read(corrected(read(WORK, *TOO_LONG)), "1200")
    assert codes(against.against_judging(one)) == {"no-readings"}
    assert not codes(against.against_judging(read(one, "1200")))


def test_a_corrected_axis_neither_closes_nor_is_abandoned_unchecked():
    work = read(corrected(read(WORK, *TOO_LONG)), *RIGHT)
    for abandon in (False, True):
        assert codes(against.against_closing_axis(work, abandon=abandon)) == {"correction-unproven"}
        assert not codes(against.against_closing_axis(judged(work), abandon=abandon))


def test_an_axis_without_a_reading_is_abandoned_not_closed():
    assert codes(against.against_closing_axis(WORK, abandon=False)) == {"no-readings"}
    assert not codes(against.against_closing_axis(WORK, abandon=True))
    only_struck = replace(WORK, pieces=(replace(read(WORK, "120").pieces[0], struck=True),))
    assert codes(against.against_closing_axis(only_struck, abandon=False)) == {"no-readings"}


def test_a_withdrawn_axis_is_not_opened():
    assert codes(against.against_withdrawn("Length", withdrawn=True)) == {"axis-withdrawn"}
    assert not codes(against.against_withdrawn("Length", withdrawn=False))


# ── the one next thing ──────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("work", "expected"),
    [
        (WORK, Do.READ),
        (read(WORK, "1202"), Do.READ),
        (read(WORK, *RIGHT), Do.LEAVE),
        (read(WORK, *TOO_LONG), Do.CORRECT),
        (read(WORK, *DOUBTFUL), Do.READ_MORE),
        (corrected(read(WORK, *TOO_LONG)), Do.READ_FRESH),
        (read(corrected(read(WORK, *TOO_LONG)), "1200"), Do.READ_FRESH),
        (read(corrected(read(WORK, *TOO_LONG)), *DOUBTFUL), Do.READ_FRESH),
        (read(corrected(read(WORK, *TOO_LONG)), *RIGHT), Do.JUDGE),
        (judged(read(corrected(read(WORK, *TOO_LONG)), *RIGHT)), Do.CLOSE),
        (judged(read(corrected(read(WORK, *TOO_LONG)), "1201.0", "1201.0")), Do.CORRECT),
        (MADE_WORSE, Do.GO_BACK),
    ],
)
def test_what_is_next(work, expected):
    assert what_next(work) is expected
