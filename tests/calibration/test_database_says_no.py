"""One test per constraint of the calibration room, going round the actions to hit it."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import IntegrityError
from django.db.models import ProtectedError

from permits.calibration import models as rows
from permits.work.models import Permit
from tests.calibration.ground import axis, instrument

pytestmark = pytest.mark.django_db
NOON = datetime(2026, 12, 1, 12, tzinfo=UTC)


def refuses(name):
    return pytest.raises(IntegrityError, match=name)


def change(model, **fields) -> None:
    """Change one row behind everyone's back."""
    row = model.objects.order_by("pk").first()
    model.objects.filter(pk=row.pk).update(**fields)


# ── how a site measures ─────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("field", "value", "name"),
    [
        ("lengths", "deg", "a_site_measures_in_mm_or_in"),
        ("finest", 48, "finest_fraction_is_known"),
        ("overdue", "ignored", "overdue_is_known"),
    ],
)
def test_a_policy_has_known_choices_only(quillfen, field, value, name):
    fields = {"lengths": "mm", "finest": 16, "overdue": "refused"} | {field: value}
    with refuses(name):
        rows.MeasuringPolicy.objects.create(site=quillfen, **fields)


def test_one_policy_a_site(quillfen):
    fields = {"lengths": "mm", "finest": 16, "overdue": "refused"}
    rows.MeasuringPolicy.objects.create(site=quillfen, **fields)
    with refuses("site"):
        rows.MeasuringPolicy.objects.create(site=quillfen, **fields)


# ── axes, features, instruments ─────────────────────────────────────────────────────────────────────────


def test_one_live_axis_per_machine_and_code(cell):
    fields = {"machine": cell, "name": "Other", "order": 1, "unit": "mm", "tolerance": "1 mm"}
    with refuses("machine_id, calibration_axis.code|one_live_axis_per_machine_and_code"):
        rows.Axis.objects.create(code="angle", **fields)


def test_one_live_axis_per_machine_and_name(cell):
    fields = {"machine": cell, "code": "other", "order": 1, "unit": "mm", "tolerance": "1 mm"}
    with refuses("machine_id, calibration_axis.name|one_live_axis_per_machine_and_name"):
        rows.Axis.objects.create(name="Saw angle", **fields)


def test_an_axis_taken_out_leaves_room_for_another(cell):
    rows.Axis.objects.filter(code="angle").update(removed_at=NOON)
    rows.Axis.objects.create(
        machine=cell, code="angle", name="Saw angle", order=1, unit="deg", tolerance="1 deg"
    )


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"code": ""}, "axis_has_code_and_name"),
        ({"name": ""}, "axis_has_code_and_name"),
        ({"unit": "ft"}, "axis_unit_is_known"),
        ({"nominal_from": "1 mm", "nominal_to": ""}, "nominal_range_has_two_ends"),
        ({"offset_lowest": "", "offset_highest": "1 mm"}, "offset_limits_have_two_ends"),
        ({"scale_lowest": "1", "scale_highest": ""}, "scale_limits_have_two_ends"),
    ],
)
def test_an_axis_is_described_whole(cell, fields, name):
    with refuses(name):
        change(rows.Axis, **fields)


def test_one_live_feature_per_machine_and_name(cell):
    with refuses("machine_id, calibration_feature.name|one_live_feature_per_machine_and_name"):
        rows.Feature.objects.create(machine=cell, name="Squareness across 89 mm", unit="mm", depends={})


@pytest.mark.parametrize(
    ("fields", "name"), [({"name": ""}, "feature_has_a_name"), ({"unit": "N"}, "feature_unit_is_known")]
)
def test_a_feature_has_a_name_and_a_unit(cell, fields, name):
    with refuses(name):
        change(rows.Feature, **fields)


def test_one_live_instrument_per_site_and_number(quillfen):
    with refuses("site_id, calibration_instrument.number|one_live_instrument_per_site_and_number"):
        rows.Instrument.objects.create(
            site=quillfen, number="ST-03", name="Twin", unit="mm", expanded_uncertainty="1 mm",
            coverage_factor=2, resolution="1 mm", due_on=date(2027, 1, 1),
        )  # fmt: skip


def test_a_coverage_factor_is_above_zero(quillfen):
    with refuses("coverage_factor_is_above_zero"):
        change(rows.Instrument, coverage_factor=0)


def test_an_earlier_result_has_a_source_and_its_day_to_itself(quillfen):
    fields = {"axis": axis("angle"), "on": date(2026, 1, 1), "as_found": "1 deg", "by": "A", "at": NOON}
    rows.EarlierResult.objects.create(source="Book 3", **fields)
    with refuses("axis_id, calibration_earlierresult.on|one_earlier_result_per_axis_and_day"):
        rows.EarlierResult.objects.create(source="Book 4", **fields)


def test_an_earlier_result_names_its_source(quillfen):
    with refuses("earlier_result_has_a_source"):
        rows.EarlierResult.objects.create(
            axis=axis("angle"), on=date(2026, 1, 1), as_found="1 deg", by="A", at=NOON, source=""
        )


# ── the job ─────────────────────────────────────────────────────────────────────────────────────────────


@pytest.fixture
def job(quillfen, bench, cell):
    return rows.Job.objects.create(
        permit=Permit.objects.get(reference=bench.permit), number=1, machine=cell, settings_before="a",
        reference_board="b", test_piece="c", opened_by="A", opened_at=NOON,
    )  # fmt: skip


def work(job, **fields) -> rows.AxisWork:
    return rows.AxisWork.objects.create(**{
        "job": job, "axis": axis("angle"), "instrument": instrument("DP-11"), "tolerance": "1 deg",
        "expanded_uncertainty": "1 deg", "coverage_factor": 2, "resolution": "1 deg", "state": "open",
        "opened_at": NOON,
    } | fields)  # fmt: skip


def piece(at, **fields) -> rows.Piece:
    return rows.Piece.objects.create(**{
        "work": at, "n": 1, "stage": "as found", "corrections": 0, "nominal": "1 deg", "measured": "1 deg",
        "by": "A", "at": NOON,
    } | fields)  # fmt: skip


def test_one_job_per_permit_and_number(job):
    job.pk = None
    with refuses("permit_id, calibration_job.number|one_job_per_permit_and_number"):
        job.save()


def test_a_job_closes_after_it_opened(job):
    with refuses("job_closed_after_opened"):
        change(rows.Job, closed_at=NOON - timedelta(seconds=1), settings_after="z")


def test_a_closed_job_has_settings_after(job):
    with refuses("closed_job_has_settings_after"):
        change(rows.Job, closed_at=NOON)


def test_a_pre_check_has_its_place(job):
    fields = {"job": job, "n": 1, "features": [], "axes": [], "by": "A", "at": NOON}
    rows.PreCheck.objects.create(**fields)
    with refuses("job_id, calibration_precheck.n|pre_check_has_its_place"):
        rows.PreCheck.objects.create(**fields)


def test_one_open_axis_per_job(job):
    work(job)
    with refuses("calibration_axiswork.job_id|one_open_axis_per_job"):
        work(job, axis=axis("depth"))


def test_only_corrections_are_proven(job):
    with refuses("only_corrections_are_proven"):
        work(job, proven=1)


@pytest.mark.parametrize("fields", [{"state": "closed"}, {"state": "open", "ended_at": NOON}])
def test_axis_work_that_is_over_has_ended(job, fields):
    with refuses("axis_work_that_is_over_has_ended"):
        work(job, **fields)


@pytest.mark.parametrize(
    "wrong",
    [
        {"owed_at_opening": ""},
        {"corrections": 1},
        {"state": "abandoned"},
        {"state": "open", "ended_at": None},
    ],
)
def test_proven_as_found_is_what_was_owed_not_corrected_and_closed(job, wrong):
    right = {"proven_as_found": True, "owed_at_opening": "P-1", "state": "closed", "ended_at": NOON}
    with refuses("proven_as_found_is_owed_uncorrected_and_closed"):
        work(job, **right | wrong)


def test_a_piece_has_its_place(job):
    at = work(job)
    piece(at)
    with refuses("work_id, calibration_piece.n|piece_has_its_place"):
        piece(at)


@pytest.mark.parametrize("fields", [{"corrections": 1}, {"stage": "as left"}])
def test_a_piece_is_as_left_after_a_correction(job, fields):
    with refuses("a_piece_is_as_left_after_a_correction"):
        piece(work(job), **fields)


@pytest.mark.parametrize("fields", [{"struck_at": NOON}, {"struck_why": "typed wrong"}])
def test_a_struck_piece_says_why(job, fields):
    with refuses("a_struck_piece_says_why"):
        piece(work(job), **fields)


def test_a_correction_changes_something_and_has_its_place(job):
    fields = {"work": work(job), "n": 1, "parameter": "offset", "old": "1 deg", "by": "A", "at": NOON}
    rows.Correction.objects.create(new="2 deg", **fields)
    with refuses("work_id, calibration_correction.n|correction_has_its_place"):
        rows.Correction.objects.create(new="3 deg", **fields)


def test_a_correction_changes_something(job):
    with refuses("a_correction_changes_something"):
        rows.Correction.objects.create(
            work=work(job), n=1, parameter="offset", old="1 deg", new="1 deg", by="A", at=NOON
        )


def test_what_was_used_is_not_deleted(job):
    work(job)
    for row in (axis("angle"), instrument("DP-11"), job):
        with pytest.raises(ProtectedError):
            row.delete()
