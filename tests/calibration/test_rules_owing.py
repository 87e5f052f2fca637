"""An axis left unproven by an earlier permit: which readings prove it as it is, what is said meanwhile."""

from dataclasses import replace
from fractions import Fraction

import pytest

from permits.calibration.rules import owing
from permits.calibration.rules.deciding import Decision, Instrument
from permits.calibration.rules.job import AxisState, Do, Piece, Stage, what_next
from permits.calibration.rules.lengths import from_record
from permits.work.rules.out_of_use import owed_since
from permits.work.rules.words import OutOfUse
from tests.calibration.test_rules_job import DOUBTFUL, RIGHT, TOO_LONG, WORK, corrected, judged, read

OWED = replace(WORK, owed="P-1", owed_at_opening="P-1")
EXACT = replace(OWED, instrument=Instrument(Fraction(1, 1000), Fraction(2), Fraction(1, 1000)))
# Twelve pieces whose mean is surely inside 0.5 mm, and of which some are outside it.
SCATTERED = ("1200.6", "1199.4") * 6


def by_sizes(work, *errors: tuple[str, str]):
    """The work after pieces of several nominals were read: (nominal, measured) in mm."""
    pieces = tuple(
        Piece(from_record(f"{nominal} mm"), from_record(f"{size} mm"), work.stage, 0, n)
        for n, (nominal, size) in enumerate(errors, start=1)
    )
    return replace(work, pieces=pieces)


# ── what is owed ────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("machine", "axis", "expected"),
    [
        ("CUT", "angle", "P-1"),
        ("CUT", "length", ""),
        ("LOOSE", "angle", ""),
        ("ANY", "angle", "P-3"),
        ("ANY", "length", "P-3"),
        ("DRILL", "angle", ""),
    ],
)
def test_an_axis_owes_its_check_where_its_own_machine_was_left_without_it(machine, axis, expected):
    machines = {
        "CUT": OutOfUse("CUT", "P-1", ("angle",)),
        "LOOSE": OutOfUse("LOOSE", "P-2", (), ("Cables: loose",)),
        "ANY": OutOfUse("ANY", "P-3", any_axis=True),
    }
    assert owed_since(machines, machine, axis) == expected


# ── what settles it ─────────────────────────────────────────────────────────────────────────────────────


def test_what_is_found_in_tolerance_is_proven_as_it_is():
    work = read(OWED, *RIGHT)
    assert owing.proves_as_found(work)
    assert what_next(work) is Do.LEAVE
    assert owing.what_settles(work).startswith("These pieces prove it as it is: close the axis.")


def test_an_axis_that_owes_nothing_is_not_proven_by_being_left():
    assert not owing.proves_as_found(read(WORK, *RIGHT))
    assert owing.why_owed(WORK) == owing.what_settles(WORK) == ""


def nothing(*sizes: str):
    work = read(OWED, *sizes)
    return pytest.param(work, id=" ".join(sizes[:2]) or "none")


@pytest.mark.parametrize("work", [nothing(), nothing("1200"), nothing(*DOUBTFUL), nothing(*TOO_LONG)])
def test_none_one_doubtful_and_wrong_pieces_prove_nothing(work):
    assert not owing.proves_as_found(work)


def test_pieces_that_scatter_beyond_the_tolerance_prove_nothing():
    work = read(EXACT, *SCATTERED)
    found = work.assessed(Stage.AS_FOUND)
    assert (found.decision, found.scatter) == (Decision.LEAVE, True)
    assert not owing.proves_as_found(work)
    assert what_next(work) is Do.READ_MORE
    assert what_next(replace(work, owed="")) is Do.LEAVE
    assert "scatter beyond the tolerance, which proves nothing" in owing.what_settles(work)


def test_pieces_that_differ_by_a_scale_within_the_tolerance_are_no_scatter():
    """Off by up to 0.2 mm at the ends, on a line: the line is judged, and every piece is near it."""
    work = by_sizes(
        EXACT, ("200", "199.8"), ("600", "599.87"), ("1000", "1000.07"), ("1400", "1400.2"), ("800", "800")
    )
    found = work.assessed(Stage.AS_FOUND)
    assert (found.decision, found.judged.nominal is not None) == (Decision.LEAVE, True)
    assert owing.proves_as_found(work)


def test_a_struck_piece_counts_for_nothing_here_too():
    work = read(OWED, "1202", *RIGHT)
    assert not owing.proves_as_found(work)
    assert owing.proves_as_found(
        replace(work, pieces=(replace(work.pieces[0], struck=True), *work.pieces[1:]))
    )


def test_after_a_correction_its_own_check_is_the_one_owed():
    work = read(corrected(read(OWED, *TOO_LONG)), *RIGHT)
    assert not owing.proves_as_found(work)
    assert owing.what_settles(work) == "Fresh pieces, judged after the correction, settle it."
    assert not owing.proves_as_found(judged(work))


@pytest.mark.parametrize("before", ["", "P-1"])
def test_an_axis_opened_before_the_machine_was_left_unproven_proves_nothing(before):
    """Its pieces may be from before another permit's correction, of which they know nothing."""
    work = read(replace(OWED, owed="P-3", owed_at_opening=before), *RIGHT)
    assert not owing.proves_as_found(work)
    assert owing.why_owed(work) == "Its as-left check is owed since P-3 was closed not proven."
    assert owing.what_settles(work).startswith("It was opened before P-3 was closed")


@pytest.mark.parametrize("state", [AxisState.CLOSED, AxisState.ABANDONED])
def test_an_axis_that_is_over_proves_nothing_any_more(state):
    assert not owing.proves_as_found(replace(read(OWED, *RIGHT), state=state))


# ── in words ────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("sizes", "words"),
    [
        ((), "Found in tolerance by the guard band, closing it as it is proves it"),
        (TOO_LONG, "It is out of tolerance: correct it, then judge fresh pieces."),
        (DOUBTFUL, "These pieces cannot tell, so they prove nothing yet."),
    ],
)
def test_it_is_said_what_would_settle_it(sizes, words):
    assert owing.what_settles(read(OWED, *sizes)).startswith(words)


@pytest.mark.parametrize(
    ("names", "words"),
    [
        (("Angle",), "Angle owes its as-left check since P-1 was closed not proven."),
        (("Angle", "Length"), "Angle and Length owe their as-left check since P-1"),
        (("Angle", "Length", "Depth"), "Angle, Length and Depth owe their as-left check since P-1"),
        ((), "One axis of the machine owes its as-left check since P-1 was closed not proven."),
    ],
)
def test_a_machine_says_which_of_its_axes_owe_it(names, words):
    assert owing.of_machine(names, "P-1").startswith(words)
