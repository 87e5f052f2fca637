"""What a calibration job does: rows and entries, refusals that write nothing, repeats that count once."""

from dataclasses import replace
from datetime import timedelta
from uuid import uuid4

import pytest

from permits.calibration import actions
from permits.calibration import models as rows
from permits.calibration.actions import Who
from permits.calibration.rules.copies import Copy
from permits.calibration.rules.lengths import from_record
from permits.calibration.rules.parameters import Parameter, parse_factor
from permits.calibration.rules.policy import Overdue, Policy
from permits.ledger.models import Entry
from permits.ledger.verify import verify
from permits.plant.queries import machine_of
from permits.work.rules.refusal import Refused
from tests.calibration.ground import RIGHT, TOO_LONG, axis, entries, instrument, officer, written

pytestmark = pytest.mark.django_db


def refused(act) -> set[str]:
    with pytest.raises(Refused) as found:
        act()
    return found.value.codes


# ── the job ─────────────────────────────────────────────────────────────────────────────────────────────


def test_a_full_job_with_its_times(bench, quillfen):
    """Open, as found, correct, as left, judge, close: each act an entry at its minute; the chain holds."""
    first = written(quillfen)
    start = bench.at(bench.minute + 1)
    bench.opened().readings(*TOO_LONG).change().readings(*RIGHT).judge().end_axis().close_job()
    found = Entry.objects.filter(head=quillfen.head_id, number__gt=first).order_by("number")
    assert [one.kind for one in found] == [
        "JOB_OPENED", "JOB_DESCRIBED", "AXIS_OPENED", *["PIECE_READ"] * 4, "AXIS_CORRECTED",
        "CORRECTION_ENTERED", *["PIECE_READ"] * 4, "AXIS_PROVEN", "RESULT_JUDGED", "AXIS_ENDED",
        "JOB_CLOSED", "SETTINGS_SAVED",
    ]  # fmt: skip
    minutes = [(one.at - start) / timedelta(minutes=1) for one in found]
    assert minutes == [0, 0, 1, 2, 3, 4, 5, 6, 6, 7, 8, 9, 10, 11, 11, 12, 13, 13]
    assert {one.by for one in found} == {f"person:{bench.ref('odo')}"}
    quillfen.head.refresh_from_db()
    assert verify(quillfen.head).ok
    row = bench.job
    assert (row.closed_at, row.settings_after) == (found.last().at, "cell-2026-11-25-after.bak")
    work = row.works.get()
    assert (work.state, work.corrections, work.proven) == ("closed", 1, 1)


def test_a_job_opens_only_under_a_sanction(bench):
    bench.do(bench_command("EndSanction"), "odo", why="enough")
    assert "no-sanction" in refused(bench.open_job)
    assert not rows.Job.objects.exists()


def bench_command(name: str):
    from permits.work.rules import commands

    return getattr(commands, name)


def test_a_file_is_recorded_by_digest_and_size(bench, quillfen):
    copy = Copy("cell.bak", "ab" * 32, 2048)
    actions.open_job(
        site=quillfen, permit=bench.row, machine=machine_of(quillfen, "C1"), settings_before=copy,
        reference_board="RB-02", test_piece="1200 mm", who=bench.who(),
    )  # fmt: skip
    [described] = entries(quillfen, "JOB_DESCRIBED")
    assert described["settings_before_file"] == {"name": "cell.bak", "sha256": "ab" * 32, "size": 2048}
    assert described["settings_before"] == copy.words
    assert bench.job.before == copy


def test_words_are_enough_where_no_file_was_shown(bench, quillfen):
    bench.open_job()
    [described] = entries(quillfen, "JOB_DESCRIBED")
    assert described["settings_before_file"] is None


def test_the_copy_after_is_a_new_one(bench, quillfen):
    bench.open_job()
    before = bench.job.settings_before
    n = written(quillfen)
    codes = refused(
        lambda: actions.close_job(site=quillfen, job=bench.job, settings_after=before, who=bench.who())
    )
    assert codes == {"copy-not-new"}
    assert written(quillfen) == n
    assert bench.job.closed_at is None


def test_a_job_does_not_close_with_an_axis_open_or_a_correction_unchecked(bench):
    bench.opened().readings(*TOO_LONG)
    assert refused(bench.close_job) == {"axis-open"}
    bench.change()
    assert refused(bench.end_axis) == {"correction-unproven"}
    assert refused(lambda: bench.end_axis(abandon=True)) == {"correction-unproven"}
    bench.readings(*RIGHT).judge().end_axis().close_job()


# ── pre-check ───────────────────────────────────────────────────────────────────────────────────────────


def test_a_pre_check_is_an_entry_with_what_was_asked_and_answered(bench, quillfen):
    bench.open_job().pre_check(
        ("Squareness across 89 mm", "0.01 mm", "0.1 mm"), ("Length, 1200 piece", "2 mm", "0.1 mm")
    )
    [found] = entries(quillfen, "PRE_CHECKED")
    assert found["verdict"] == "length-1"
    assert found["features"][1] == {
        "feature": "Length, 1200 piece", "deviation": "2 mm", "standard_uncertainty": "0.1 mm",
        "depends": {"length-1": "1", "angle": "0.4"},
    }  # fmt: skip
    assert [one["axis"] for one in found["axes"]] == ["angle", "length-1", "depth"]
    assert found["ranked"][0]["axis"] == "length-1"
    assert found["ranked"][0]["error"] == "2"
    assert found["grounds"].startswith("Length, short system explains the deviations")
    assert bench.job.pre_checks.get().features == found["features"]


def test_a_pre_check_comes_before_an_axis(bench, quillfen):
    bench.opened()
    assert refused(lambda: bench.pre_check(("Length, 1200 piece", "2 mm", "0.1 mm"))) == {"axis-open"}
    assert not entries(quillfen, "PRE_CHECKED")
    assert not rows.PreCheck.objects.exists()


def test_pieces_are_measured_under_power_only(bench):
    bench.open_job()
    bench.do(bench_command("Reisolate"), "odo")
    assert "not-under-test" in refused(lambda: bench.pre_check(("Length, 1200 piece", "2 mm", "0.1 mm")))


# ── one axis ────────────────────────────────────────────────────────────────────────────────────────────


def test_one_axis_at_a_time(bench):
    bench.opened()
    assert refused(lambda: bench.take_up("angle", "DP-11")) == {"axis-open"}
    bench.end_axis(abandon=True).take_up("angle", "DP-11")
    assert [work.state for work in bench.job.works.order_by("pk")] == ["abandoned", "open"]


def test_an_instrument_of_another_unit_or_not_allowed_is_refused(bench):
    bench.open_job()
    assert refused(lambda: bench.take_up("angle", "ST-03")) == {"wrong-unit", "instrument-not-allowed"}
    assert refused(lambda: bench.take_up("length-1", "DP-11")) == {"wrong-unit"}


def test_an_axis_or_instrument_taken_out_meanwhile_is_refused(bench, quillfen):
    bench.open_job()
    seen, tape = axis("length-1"), instrument("ST-03")
    actions.remove_axis(axis=axis("length-1"), who=officer(quillfen))
    actions.remove_instrument(instrument=instrument("ST-03"), who=officer(quillfen))
    codes = refused(
        lambda: actions.open_axis(site=quillfen, job=bench.job, axis=seen, instrument=tape, who=bench.who())
    )
    assert codes == {"axis-withdrawn", "instrument-withdrawn"}


def test_a_piece_outside_the_sizes_writes_nothing(bench, quillfen):
    bench.opened()
    n = written(quillfen)
    assert refused(lambda: bench.readings("9000 mm", nominal="9000 mm")) == {"outside-range"}
    assert written(quillfen) == n
    assert not bench.axis.pieces.exists()


def test_a_correction_beyond_the_limit_writes_nothing(bench, quillfen):
    bench.opened().readings(*TOO_LONG)
    n = written(quillfen)
    assert refused(lambda: bench.change("12.5 mm", "30 mm")) == {"beyond-limit"}
    assert written(quillfen) == n
    assert bench.axis.corrections == 0


def test_a_scale_is_corrected_without_a_unit(bench, quillfen):
    bench.opened().readings(*TOO_LONG)
    actions.correct(
        site=quillfen, row=bench.axis, parameter=Parameter.SCALE, old=parse_factor("1.000"),
        new=parse_factor("0.9985"), reason="", who=bench.who(),
    )  # fmt: skip
    [found] = entries(quillfen, "CORRECTION_ENTERED")
    assert (found["parameter"], found["old"], found["new"]) == ("scale", "1.000", "0.9985")


def test_an_override_needs_a_reason_and_is_marked(bench, quillfen):
    bench.opened().readings(*RIGHT)
    assert refused(bench.change) == {"not-justified"}
    bench.change(reason="The joiner wants them shorter")
    [found] = entries(quillfen, "CORRECTION_ENTERED")
    assert found["override"] == "The joiner wants them shorter"
    assert found["decision"] == "leave"
    assert bench.axis.changes.get().override == found["override"]


def test_a_reason_that_is_not_needed_is_no_override(bench, quillfen):
    bench.opened().readings(*TOO_LONG).change(reason="because")
    assert entries(quillfen, "CORRECTION_ENTERED")[0]["override"] == ""


def test_going_back_on_what_made_it_worse_is_no_override(bench, quillfen):
    bench.opened().readings(*RIGHT).change("0 mm", "1 mm", reason="tighter")
    bench.readings("1201 mm", "1201 mm", "1201.1 mm").judge().change("1 mm", "0 mm")
    assert entries(quillfen, "RESULT_JUDGED")[0]["worse"] is True
    back = entries(quillfen, "CORRECTION_ENTERED")[1]
    assert (back["back"], back["override"]) == (True, "")


def test_as_left_is_judged_on_fresh_pieces_only(bench, quillfen):
    bench.opened().readings(*TOO_LONG).change()
    assert refused(bench.judge) == {"no-readings"}
    bench.readings(*RIGHT).judge()
    [found] = entries(quillfen, "RESULT_JUDGED")
    assert (found["pieces"], found["decision"], found["worse"]) == (4, "leave", False)


def test_a_wrong_reading_is_taken_back_and_stays_in_the_record(bench, quillfen):
    bench.opened().readings("120 mm", *RIGHT).strike(1)
    [found] = entries(quillfen, "PIECE_STRUCK")
    assert found == {
        "job": 1, "axis": "length-1", "piece": 1, "stage": "as found", "nominal": "1200 mm",
        "measured": "120 mm", "why": "120 typed for 1200",
    }  # fmt: skip
    assert bench.axis.pieces.get(n=1).struck_at is not None
    bench.end_axis()
    assert entries(quillfen, "AXIS_ENDED")[0]["decision"] == "leave"


def test_a_reading_that_a_correction_rests_on_is_not_taken_back(bench):
    bench.opened().readings(*TOO_LONG).change()
    assert refused(lambda: bench.strike(1)) == {"decided-on"}


def test_a_new_certificate_changes_no_earlier_decision(bench, quillfen):
    """The tape's uncertainty doubles after the axis was opened: what was read with it is judged as it was."""
    from permits.calibration.queries import work_page

    bench.opened().readings("1200.3 mm", "1200.3 mm")
    before = work_page(bench.axis).found
    tape = instrument("ST-03")
    actions.save_instrument(
        site=quillfen, number="ST-03", name=tape.name, expanded_uncertainty=from_record("2 mm"),
        coverage_factor=tape.coverage_factor, resolution=from_record("1 mm"), due_on=tape.due_on,
        who=officer(quillfen),
    )  # fmt: skip
    assert work_page(bench.axis).found == before


def test_a_changed_tolerance_holds_from_the_next_time_on(bench, quillfen, cell):
    bench.opened().readings("1200.3 mm", "1200.3 mm")
    actions.save_axis(
        machine=cell, code="length-1", name="Length, short system", tolerance=from_record("0.1 mm"),
        ranges={Parameter.OFFSET: ranges()}, who=officer(quillfen),
    )  # fmt: skip
    bench.end_axis()
    assert entries(quillfen, "AXIS_ENDED")[0]["decision"] == "leave"
    bench.take_up()
    assert entries(quillfen, "AXIS_OPENED")[1]["tolerance"] == "0.1 mm"


def ranges():
    from tests.calibration.ground import range_of

    return range_of("-25 mm", "25 mm")


# ── instruments out of date ─────────────────────────────────────────────────────────────────────────────


def make_overdue(site) -> str:
    """The tape was due the day before the plant was described."""
    due = site.day_of(site.head.last_at) - timedelta(days=2)
    rows.Instrument.objects.filter(number="ST-03").update(due_on=due)
    return due.isoformat()


def test_an_overdue_instrument_is_refused_when_an_axis_is_opened(bench, quillfen):
    make_overdue(quillfen)
    bench.open_job()
    assert refused(bench.take_up) == {"instrument-overdue"}


def test_a_reading_is_refused_where_the_date_passed_since_the_axis_was_opened(bench, quillfen):
    bench.opened()
    make_overdue(quillfen)
    assert refused(lambda: bench.readings("1200 mm")) == {"instrument-overdue"}
    assert not bench.axis.pieces.exists()


def test_by_site_policy_it_is_taken_and_marked(bench, quillfen):
    due = make_overdue(quillfen)
    actions.save_policy(site=quillfen, policy=Policy(overdue=Overdue.RECORDED), who=officer(quillfen))
    bench.opened().readings("1200 mm")
    assert entries(quillfen, "AXIS_OPENED")[0]["overdue_since"] == due
    assert entries(quillfen, "PIECE_READ")[0]["overdue_since"] == due
    assert bench.axis.pieces.get().overdue


def test_one_in_date_is_not_marked(bench, quillfen):
    bench.opened().readings("1200 mm")
    assert entries(quillfen, "AXIS_OPENED")[0]["overdue_since"] == ""
    assert not bench.axis.pieces.get().overdue


# ── the same request twice ──────────────────────────────────────────────────────────────────────────────


def test_every_act_sent_twice_counts_once(bench, quillfen):
    def twice(act):
        who = replace(bench.who(), key=uuid4())
        act(who)
        n = written(quillfen)
        act(Who(by=who.by, at=who.at + timedelta(seconds=5), key=who.key))
        assert written(quillfen) == n, act

    on = {"site": quillfen}
    mm = from_record
    twice(lambda who: actions.open_job(
        **on, permit=bench.row, machine=machine_of(quillfen, "C1"), settings_before="a", reference_board="b",
        test_piece="c", who=who,
    ))  # fmt: skip
    measured = [(rows.Feature.objects.first(), mm("2 mm"), mm("0.1 mm"))]
    twice(lambda who: actions.pre_check(**on, job=bench.job, measured=measured, who=who))
    twice(lambda who: actions.open_axis(
        **on, job=bench.job, axis=axis("length-1"), instrument=instrument("ST-03"), who=who
    ))  # fmt: skip
    twice(lambda who: actions.read_pieces(
        **on, row=bench.axis, pieces=[(mm("1200 mm"), mm("120 mm"))], who=who
    ))  # fmt: skip
    twice(lambda who: actions.strike_piece(**on, row=bench.axis, n=1, why="typed wrong", who=who))
    bench.readings(*TOO_LONG)
    twice(lambda who: actions.correct(
        **on, row=bench.axis, parameter=Parameter.OFFSET, old=mm("2 mm"), new=mm("0 mm"), reason="", who=who
    ))  # fmt: skip
    bench.readings(*RIGHT)
    twice(lambda who: actions.judge(**on, row=bench.axis, who=who))
    twice(lambda who: actions.end_axis(**on, row=bench.axis, abandon=False, who=who))
    twice(lambda who: actions.close_job(**on, job=bench.job, settings_after="z", who=who))
    assert bench.axis.pieces.count() == 9
    assert bench.axis.changes.count() == 1
