"""Rows to the values that the rules look at: order, what is kept from when it was opened, the defaults."""

from fractions import Fraction
from importlib import import_module

import pytest
from django.apps import apps

from permits.calibration import models as rows
from permits.calibration.rules.lengths import from_record
from permits.calibration.rules.parameters import Parameter
from permits.calibration.store import known, live_axes, measured_in, policy_of, ranges_of, work_of, works_of
from tests.calibration.ground import RIGHT, TOO_LONG, axis, instrument

pytestmark = pytest.mark.django_db


def test_works_come_in_the_order_in_which_they_were_opened(bench):
    bench.opened().end_axis(abandon=True).take_up("angle", "DP-11").end_axis(abandon=True).take_up()
    assert [work.axis for work in works_of(bench.job)] == ["length-1", "angle", "length-1"]


def test_a_work_has_its_pieces_and_changes_in_order(bench):
    bench.opened().readings(*TOO_LONG).change().readings(*RIGHT).strike(8)
    work = work_of(bench.axis)
    assert [piece.n for piece in work.pieces] == list(range(1, 9))
    assert [piece.n for piece in work.pieces if piece.struck] == [8]
    assert work.to_undo.old == from_record("12.5 mm")
    assert (work.corrections, work.proven, str(work.nominal)) == (1, 0, "150 to 1500 mm")


def test_the_certificate_is_that_of_when_the_axis_was_opened(bench):
    bench.opened()
    rows.Instrument.objects.filter(number="ST-03").update(expanded_uncertainty="9 mm", resolution="9 mm")
    rows.Axis.objects.filter(code="length-1").update(tolerance="9 mm")
    work = work_of(bench.axis)
    assert (work.instrument.expanded_uncertainty, work.tolerance) == (Fraction(1, 10), from_record("0.5 mm"))


def test_older_works_are_given_what_they_looked_up_until_now(bench):
    bench.opened()
    rows.AxisWork.objects.update(tolerance="", expanded_uncertainty="", resolution="", coverage_factor=0)
    import_module("permits.calibration.migrations.0003_certificates_kept").keep(apps, None)
    row, tape = bench.axis, instrument("ST-03")
    assert (row.tolerance, row.coverage_factor) == ("0.5 mm", tape.coverage_factor)
    assert (row.expanded_uncertainty, row.resolution) == (tape.expanded_uncertainty, tape.resolution)


def test_of_two_axes_with_one_number_the_angle_comes_first(cell):
    rows.Axis.objects.update(order=1)
    assert [one.code for one in live_axes(cell)] == ["angle", "depth", "length-1"]


def test_only_what_has_limits_may_be_changed(cell):
    assert set(ranges_of(axis("length-1"))) == {Parameter.OFFSET, Parameter.SCALE}
    assert set(ranges_of(axis("angle"))) == {Parameter.OFFSET}


def test_an_axis_is_known_with_what_hangs_on_it(bench):
    assert not known(axis("length-1")).has_readings
    bench.opened()
    found = known(axis("length-1"))
    assert (found.has_readings, found.open_in) == (True, bench.permit)
    bench.end_axis(abandon=True)
    assert known(axis("length-1")).open_in == ""


def test_a_pre_check_is_read_by_the_names_the_axes_had(bench):
    bench.open_job().pre_check(("Length, 1200 piece", "2 mm", "0.1 mm"))
    rows.Axis.objects.filter(code="length-1").update(name="Renamed")
    rows.Feature.objects.update(depends={})
    [measured] = measured_in(bench.job.pre_checks.get())
    assert measured.depends == {"Length, short system": Fraction(1), "Saw angle": Fraction(2, 5)}


def test_a_site_without_a_row_has_the_defaults(quillfen):
    assert (policy_of(quillfen).lengths, policy_of(quillfen).finest) == ("mm", 16)
