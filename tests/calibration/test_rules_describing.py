"""What an officer describes: parameters with limits, copies, instruments, how the site measures, axes."""

from datetime import date
from fractions import Fraction

import pytest

from permits.calibration.rules.copies import Copy, against_copy_after
from permits.calibration.rules.describing import (
    Known,
    against_axis,
    against_feature,
    against_removing_axis,
    default_order,
)
from permits.calibration.rules.instruments import OnHand, against_instrument, against_overdue
from permits.calibration.rules.lengths import NotALength, Unit, from_record
from permits.calibration.rules.parameters import (
    Change,
    Factor,
    Parameter,
    Range,
    parse_factor,
    range_from_record,
    setting_from_record,
    setting_printed,
    setting_recorded,
)
from permits.calibration.rules.policy import Overdue, Policy

MM = from_record


def codes(unmet) -> set[str]:
    return {one.code for one in unmet}


# ── factors and ranges ──────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(("typed", "value"), [("1", 1), (" 0.9985 ", "0.9985"), ("1.00", 1), ("12", 12)])
def test_a_scale_is_a_factor_above_zero(typed, value):
    assert parse_factor(typed).value == Fraction(value)


@pytest.mark.parametrize(
    ("typed", "wrong"),
    [
        ("", "nothing was typed"),
        ("1,001", "has a comma"),
        ("-1", "is no factor"),
        ("1 mm", "is no factor"),
        ("1/2", "is no factor"),
        ("1e3", "is no factor"),
        ("0", "is zero"),
        ("0.000", "is zero"),
        ("1234567", "is no factor"),
    ],
)
def test_what_is_no_factor_is_refused_with_the_forms(typed, wrong):
    with pytest.raises(NotALength) as refused:
        parse_factor(typed)
    assert wrong in refused.value.wrong
    assert "a factor as 1 or 0.9985" in str(refused.value)


@pytest.mark.parametrize("recorded", ["12.5 mm", "-1/2 in", "0.15 deg", "1.0002"])
def test_a_setting_is_recorded_as_typed_and_read_back(recorded):
    assert setting_recorded(setting_from_record(recorded)) == recorded


def test_a_setting_is_printed_with_its_unit_and_a_factor_without():
    assert setting_printed(setting_from_record("0.15 deg")) == "0.15°"
    assert setting_printed(setting_from_record("1.0002")) == "1.0002"


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        ("-25 mm", "25 mm", "-25 to 25 mm"),
        ("-1/2 in", "1/2 in", "-1/2 to 1/2 in"),
        ("0 deg", "60 deg", "0 to 60°"),
        ("0.98", "1.02", "0.98 to 1.02"),
    ],
)
def test_a_range_says_its_unit_once(low, high, words):
    assert str(range_from_record(low, high)) == words


def test_a_range_holds_its_ends_and_only_its_own_unit():
    limits = range_from_record("-25 mm", "25 mm")
    assert limits.holds(MM("-25 mm"))
    assert limits.holds(MM("25 mm"))
    assert not limits.holds(MM("25.001 mm"))
    assert not limits.holds(MM("0 in"))
    assert not limits.holds(Factor(Fraction(1), "1"))


@pytest.mark.parametrize(
    ("low", "high"), [("5 mm", "5 mm"), ("6 mm", "5 mm"), ("1 mm", "2 in"), ("1", "2 mm")]
)
def test_a_range_that_is_none_is_an_error(low, high):
    with pytest.raises(ValueError, match="range"):
        Range(setting_from_record(low), setting_from_record(high))


def test_no_ends_are_no_range():
    assert range_from_record("", "") is None


def test_a_change_is_undone_by_its_opposite_of_the_same_parameter():
    change = Change(Parameter.OFFSET, MM("12.5 mm"), MM("10.5 mm"))
    assert Change(Parameter.OFFSET, MM("10.50 mm"), MM("12.5 mm")).undoes(change)
    assert not Change(Parameter.OFFSET, MM("10.5 mm"), MM("12 mm")).undoes(change)
    assert change.back == "set the offset from 10.5 mm back to 12.5 mm"


# ── copies of the settings ──────────────────────────────────────────────────────────────────────────────

BEFORE = Copy("cell.bak", "ab" * 32, 12345)


def test_a_copy_says_its_digest_and_size_where_a_file_was_shown():
    assert BEFORE.words == f"cell.bak (SHA-256 {'ab' * 32}, 12,345 bytes)"
    assert BEFORE.data == {"name": "cell.bak", "sha256": "ab" * 32, "size": 12345}
    assert Copy("USB stick 4, cell.bak").words == "USB stick 4, cell.bak"
    assert Copy("USB stick 4, cell.bak").data is None


def test_no_save_overwrites_another():
    """Common practice: each save of the settings is a new file."""
    assert codes(against_copy_after(BEFORE, Copy("Cell.bak "), corrections=0)) == {"copy-not-new"}
    assert not codes(against_copy_after(BEFORE, Copy("cell-2.bak"), corrections=1))


def test_the_same_content_after_a_correction_is_no_new_copy():
    same = Copy("cell-2.bak", BEFORE.sha256, 12345)
    [unmet] = against_copy_after(BEFORE, same, corrections=2)
    assert unmet.code == "copy-unchanged"
    assert "2 corrections were made" in unmet.what
    assert not codes(against_copy_after(BEFORE, same, corrections=0))


# ── instruments ─────────────────────────────────────────────────────────────────────────────────────────

TAPE = OnHand("ST-03 Steel tape", "ST-03", Unit.MM, date(2026, 11, 25))
RECORDS = Policy(overdue=Overdue.RECORDED)


def against(instrument=TAPE, *, unit=Unit.MM, allowed=(), day=date(2026, 11, 25), policy=Policy()):  # noqa: B008
    return list(
        against_instrument(instrument, axis="Length", unit=unit, allowed=allowed, day=day, policy=policy)
    )


def test_an_instrument_counts_on_the_day_it_is_due_and_not_after():
    assert not TAPE.is_overdue(date(2026, 11, 25))
    assert not against()
    [unmet] = against(day=date(2026, 11, 26))
    assert unmet.code == "instrument-overdue"
    assert "25 November 2026" in unmet.what


def test_where_the_site_records_it_an_overdue_instrument_is_not_refused():
    assert not list(against_overdue(TAPE, date(2027, 1, 1), RECORDS))
    assert not against(day=date(2027, 1, 1), policy=RECORDS)


def test_an_instrument_reads_the_axis_unit_and_is_among_those_allowed():
    assert codes(against(unit=Unit.DEGREE)) == {"wrong-unit"}
    [unmet] = against(allowed=("CP-20", "DP-11"))
    assert unmet.code == "instrument-not-allowed"
    assert "CP-20, DP-11" in unmet.who
    assert not against(allowed=("ST-03",))


def test_an_instrument_out_of_use_is_not_taken_up():
    gone = OnHand(TAPE.name, TAPE.number, TAPE.unit, TAPE.due_on, withdrawn=True)
    assert codes(against(gone)) == {"instrument-withdrawn"}


# ── how the site measures ───────────────────────────────────────────────────────────────────────────────


def test_a_length_in_the_other_system_is_shown_converted_and_says_so():
    inches = Policy(lengths=Unit.INCH)
    assert inches.also(MM("25.4 mm")) == "1 in, converted"
    assert inches.also(MM("0.5 mm")) == "≈ 0.0197 in, converted"
    assert Policy().also(MM("92 5/8 in")) == "2352.675 mm, converted"


def test_what_is_in_the_sites_system_or_an_angle_is_not_converted():
    assert Policy().also(MM("0.5 mm")) == ""
    assert Policy(lengths=Unit.INCH).also(MM("0.15 deg")) == ""


# ── axes and features ───────────────────────────────────────────────────────────────────────────────────

OFFSET = {Parameter.OFFSET: range_from_record("-1 mm", "1 mm")}
SAW = Known("angle", "Saw angle", 1, Unit.DEGREE)
LENGTH = Known("length", "Length", 2, Unit.MM, has_readings=True)


def test_an_angle_axis_comes_first_and_any_other_last():
    """Common practice: the others depend on the angle."""
    assert default_order(Unit.DEGREE, [LENGTH]) == 1
    assert default_order(Unit.MM, [SAW, LENGTH]) == 3
    assert default_order(Unit.MM, []) == 1


def test_an_axis_may_be_described_and_changed():
    assert not codes(against_axis("height", "Height", MM("0.5 mm"), OFFSET, [SAW, LENGTH]))
    assert not codes(against_axis("length", "Length", MM("0.4 mm"), OFFSET, [SAW, LENGTH]))


@pytest.mark.parametrize(
    ("code", "name", "tolerance", "ranges", "expected"),
    [
        ("height", "LENGTH", "0.5 mm", OFFSET, "name-taken"),
        ("length", "Length", "1/64 in", OFFSET, "unit-in-use"),
        ("height", "Pair", "0.5 mm", OFFSET, "name-is-a-verdict"),
        ("none", "Height", "0.5 mm", OFFSET, "name-is-a-verdict"),
        ("height", "Height", "0 mm", OFFSET, "no-tolerance"),
        ("height", "Height", "0.5 mm", {}, "no-parameter"),
    ],
)
def test_what_an_axis_cannot_be(code, name, tolerance, ranges, expected):
    assert codes(against_axis(code, name, MM(tolerance), ranges, [SAW, LENGTH])) == {expected}


def test_the_unit_may_change_while_nothing_was_read():
    assert not codes(against_axis("angle", "Saw angle", MM("0.5 mm"), OFFSET, [SAW]))


def test_an_axis_at_work_is_not_taken_out():
    assert not codes(against_removing_axis(SAW))
    at_work = Known("angle", "Saw angle", 1, Unit.DEGREE, open_in="P-7")
    [unmet] = against_removing_axis(at_work)
    assert unmet.code == "axis-open"
    assert "P-7" in unmet.what


def test_a_feature_depends_on_something():
    assert codes(against_feature({})) == {"depends-on-nothing"}
    assert codes(against_feature({"angle": Fraction(0)})) == {"depends-on-nothing"}
    assert not codes(against_feature({"angle": Fraction(-1, 2)}))
