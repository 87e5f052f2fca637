"""An axis open while its machine is left unproven, one that owes nothing, a machine that names no axis."""

import pytest

from permits.work.models import OutOfUse
from tests.calibration.ground import RIGHT, TOO_LONG, entries
from tests.work.reading_pages import text_of

pytestmark = pytest.mark.django_db


def leave_out(site, **left) -> None:
    """P-7 on the machine is closed as not proven now."""
    fields = {"axes": [], "defects": [], "any_axis": False} | left
    OutOfUse.objects.create(site=site, machine="C1", permit="P-7", **fields)


def is_out() -> bool:
    return OutOfUse.objects.filter(machine="C1").exists()


def test_what_is_left_in_tolerance_without_owing_anything_is_no_proof(bench, quillfen):
    bench.opened().readings(*RIGHT).end_axis()
    assert entries(quillfen, "AXIS_OPENED")[0]["owed"] == ""
    assert not entries(quillfen, "AXIS_PROVEN")
    assert not bench.axis.proven_as_found


def test_readings_begun_before_the_machine_was_left_unproven_prove_nothing(bench, odo, signed_in, quillfen):
    bench.opened().readings(*RIGHT)
    leave_out(quillfen, axes=["length-1"])
    page = text_of(signed_in(odo).get(f"/permits/{bench.permit}/job/"))
    assert "It was opened before P-7 was closed, so its pieces do not settle that." in page
    bench.end_axis()
    assert is_out()
    bench.take_up().readings(*RIGHT).end_axis()
    assert not is_out()


@pytest.mark.parametrize("judged_before", [False, True])
def test_judging_pieces_from_before_proves_the_correction_and_does_not_lift_what_was_left(
    bench, quillfen, judged_before
):
    bench.opened().readings(*TOO_LONG).change().readings(*RIGHT)
    if judged_before:
        bench.judge()
    leave_out(quillfen, axes=["length-1"])
    bench.judge()
    assert is_out()
    assert entries(quillfen, "AXIS_PROVEN")[-1]["lifts"] is False
    bench.end_axis()
    assert is_out()
    bench.take_up().readings(*RIGHT).end_axis()
    assert not is_out()
    assert entries(quillfen, "AXIS_PROVEN")[-1]["lifts"] is True


def test_where_no_axis_was_named_any_proves_it(bench, quillfen):
    leave_out(quillfen, any_axis=True)
    bench.opened("depth", "ST-09").readings(*["48 in"] * 4, nominal="48 in").end_axis()
    assert not is_out()


def test_a_machine_out_of_use_for_its_defects_alone_owes_no_check(bench, odo, signed_in, quillfen):
    leave_out(quillfen, defects=["Cables: loose"])
    bench.open_job()
    assert " owe" not in text_of(signed_in(odo).get(f"/permits/{bench.permit}/job/"))
    bench.take_up().readings(*RIGHT).end_axis()
    assert is_out()
    assert not bench.axis.proven_as_found
