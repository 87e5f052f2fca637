"""The officer's descriptions: each change an entry, history kept, refusals, repeats; earlier results."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction

import pytest

from permits.calibration import actions
from permits.calibration import models as rows
from permits.calibration.queries import axes_of, history, policy_of
from permits.calibration.rules.lengths import Unit, from_record
from permits.calibration.rules.parameters import Parameter
from permits.calibration.rules.policy import Overdue, Policy
from permits.work.rules.refusal import Refused
from tests.calibration.ground import RIGHT, axis, entries, feature, instrument, officer, range_of, written

pytestmark = pytest.mark.django_db


def save(cell, code="height", name="Height of cut", tolerance="0.5 mm", **more):
    more.setdefault("who", officer(cell.site))
    more.setdefault("ranges", {Parameter.OFFSET: range_of("-10 mm", "10 mm")})
    actions.save_axis(machine=cell, code=code, name=name, tolerance=from_record(tolerance), **more)


def refused(act) -> set[str]:
    with pytest.raises(Refused) as found:
        act()
    return found.value.codes


# ── axes ────────────────────────────────────────────────────────────────────────────────────────────────


def test_an_axis_is_an_entry_with_everything_that_was_said(quillfen, cell):
    save(
        cell, nominal=range_of("30 mm", "300 mm"), instruments=[instrument("ST-03")],
        ranges={Parameter.OFFSET: range_of("-10 mm", "10 mm"), Parameter.SCALE: range_of("0.9", "1.1")},
    )  # fmt: skip
    assert entries(quillfen, "AXIS_SAVED")[-1] == {
        "axis": "height", "name": "Height of cut", "order": 4, "unit": "mm", "tolerance": "0.5 mm",
        "nominal_from": "30 mm", "nominal_to": "300 mm", "offset_lowest": "-10 mm", "offset_highest": "10 mm",
        "scale_lowest": "0.9", "scale_highest": "1.1", "instruments": ["ST-03"],
    }  # fmt: skip


def test_an_angle_axis_comes_first_by_default_and_the_officer_has_the_last_word(cell):
    """Common practice: the angle first. The ground describes angle, length, depth without numbers."""
    assert [one.code for one in axes_of(cell)] == ["angle", "length-1", "depth"]
    save(cell, "tilt", "Tilt", "0.1 deg", ranges={Parameter.OFFSET: range_of("-1 deg", "1 deg")})
    assert [one.code for one in axes_of(cell)] == ["angle", "tilt", "length-1", "depth"]
    save(
        cell,
        "angle",
        "Saw angle",
        "0.15 deg",
        order=9,
        ranges={Parameter.OFFSET: range_of("-1 deg", "1 deg")},
    )
    assert [one.code for one in axes_of(cell)] == ["tilt", "length-1", "depth", "angle"]


def test_a_change_keeps_the_place_and_the_row(cell):
    before = axis("length-1")
    save(cell, "length-1", "Length, short", "0.4 mm")
    after = axis("length-1")
    assert (after.pk, after.order, after.name, after.tolerance) == (before.pk, 2, "Length, short", "0.4 mm")
    assert after.nominal_from == ""  # what is not said any more holds no more


def test_what_cannot_be_described_writes_nothing(quillfen, cell):
    n = written(quillfen)
    assert refused(lambda: save(cell, name="saw angle")) == {"name-taken"}
    assert refused(lambda: save(cell, ranges={})) == {"no-parameter"}
    assert written(quillfen) == n


def test_the_unit_stays_once_there_are_results(bench, cell):
    bench.opened().readings(*RIGHT).end_axis()
    inches = {Parameter.OFFSET: range_of("-1 in", "1 in")}
    codes = refused(lambda: save(cell, "length-1", "Length, short system", "1/64 in", ranges=inches))
    assert codes == {"unit-in-use"}


def test_an_axis_taken_out_keeps_its_history_and_its_name_is_free_again(bench, quillfen, cell):
    bench.opened().readings(*RIGHT).end_axis()
    old = axis("length-1")
    actions.remove_axis(axis=axis("length-1"), who=officer(quillfen))
    assert entries(quillfen, "AXIS_REMOVED") == [{"axis": "length-1", "name": "Length, short system"}]
    assert "length-1" not in [one.code for one in axes_of(cell)]
    save(
        cell,
        "length-1",
        "Length, short system",
        "1/64 in",
        ranges={Parameter.OFFSET: range_of("-1 in", "1 in")},
    )
    old.refresh_from_db()
    assert len(history(old).visits) == 1
    assert history(axis("length-1")).visits == []


def test_an_axis_at_work_is_not_taken_out(bench, quillfen):
    bench.opened()
    assert refused(lambda: actions.remove_axis(axis=axis("length-1"), who=officer(quillfen))) == {"axis-open"}


def test_taking_out_twice_counts_once(quillfen, cell):
    row = axis("depth")
    actions.remove_axis(axis=row, who=officer(quillfen))
    n = written(quillfen)
    actions.remove_axis(axis=row, who=officer(quillfen))
    assert written(quillfen) == n


# ── features ────────────────────────────────────────────────────────────────────────────────────────────


def save_feature(cell, name, **depends: str):
    actions.save_feature(
        machine=cell, name=name, unit=Unit.MM, digits=depends, who=officer(cell.site),
        depends={code: Fraction(digits) for code, digits in depends.items()},
    )  # fmt: skip


def test_a_feature_is_an_entry_and_zeros_are_left_out(quillfen, cell):
    save_feature(cell, "Bow", angle="-0.50", depth="0")
    assert entries(quillfen, "FEATURE_SAVED")[-1] == {
        "feature": "Bow",
        "unit": "mm",
        "depends": {"angle": "-0.50"},
    }
    save_feature(cell, "Bow", depth="2")
    assert feature("Bow").depends == {"depth": "2"}
    assert refused(lambda: save_feature(cell, "Bow", depth="0")) == {"depends-on-nothing"}


def test_a_feature_taken_out_stays_in_earlier_pre_checks(bench, quillfen, cell):
    bench.open_job().pre_check(("Length, 1200 piece", "2 mm", "0.1 mm"))
    row = feature("Length, 1200 piece")
    actions.remove_feature(feature=row, who=officer(quillfen))
    assert entries(quillfen, "FEATURE_REMOVED") == [{"feature": "Length, 1200 piece"}]
    assert bench.job.pre_checks.get().features[0]["feature"] == "Length, 1200 piece"
    n = written(quillfen)
    actions.remove_feature(feature=row, who=officer(quillfen))
    assert written(quillfen) == n


# ── instruments ─────────────────────────────────────────────────────────────────────────────────────────


def test_an_instrument_at_work_is_not_taken_out(bench, quillfen):
    bench.opened()
    tape = instrument("ST-03")
    assert refused(lambda: actions.remove_instrument(instrument=tape, who=officer(quillfen))) == {
        "instrument-at-work"
    }
    bench.end_axis(abandon=True)
    actions.remove_instrument(instrument=tape, who=officer(quillfen))
    assert entries(quillfen, "INSTRUMENT_REMOVED") == [{"name": "Steel tape, 10 m, class I"}]
    assert bench.axis.instrument.number == "ST-03"  # what was read with it still names it


def test_a_number_is_free_again_once_taken_out(quillfen, cell):
    actions.remove_instrument(instrument=instrument("ST-03"), who=officer(quillfen))
    actions.save_instrument(
        site=quillfen, number="ST-03", name="New tape", expanded_uncertainty=from_record("0.1 mm"),
        coverage_factor=Decimal(2), resolution=from_record("0.1 mm"),
        due_on=quillfen.day_of(quillfen.head.last_at), who=officer(quillfen),
    )  # fmt: skip
    assert instrument("ST-03").name == "New tape"
    assert rows.Instrument.objects.filter(number="ST-03").count() == 2


# ── policy ──────────────────────────────────────────────────────────────────────────────────────────────


def test_a_site_measures_by_the_defaults_until_it_chooses(quillfen):
    assert policy_of(quillfen) == Policy(Unit.MM, 16, Overdue.REFUSED)
    chosen = Policy(Unit.INCH, 64, Overdue.RECORDED)
    actions.save_policy(site=quillfen, policy=chosen, who=officer(quillfen))
    assert policy_of(quillfen) == chosen
    assert entries(quillfen, "MEASURING_POLICY_SAVED") == [
        {"lengths": "in", "finest": 64, "overdue": "recorded"}
    ]


# ── earlier results ─────────────────────────────────────────────────────────────────────────────────────


def enter(site, days_ago=30, found="0.3 mm", left=None, who=None):
    on = site.day_of(site.head.last_at) - timedelta(days=days_ago)
    actions.enter_earlier(
        axis=axis("length-1"), on=on, as_found=from_record(found),
        as_left=from_record(left) if left else None, source="Book 3, page 14", who=who or officer(site),
    )  # fmt: skip
    return on


def test_an_earlier_result_is_an_entry_and_a_visit(quillfen, cell):
    on = enter(quillfen, left="0.05 mm")
    assert entries(quillfen, "EARLIER_RESULT_ENTERED") == [
        {
            "axis": "length-1", "name": "Length, short system", "on": on.isoformat(), "as_found": "0.3 mm",
            "as_left": "0.05 mm", "source": "Book 3, page 14",
        }
    ]  # fmt: skip
    [line] = history(axis("length-1")).visits
    assert (line.day, line.found, line.left, line.source) == (on, "+0.3 mm", "+0.05 mm", "Book 3, page 14")


def test_one_earlier_result_a_day_and_none_that_is_yet_to_come(quillfen, cell):
    enter(quillfen)
    assert refused(lambda: enter(quillfen)) == {"day-taken"}
    assert refused(lambda: enter(quillfen, days_ago=-1)) == {"not-earlier"}


def test_the_same_request_twice_counts_once(quillfen, cell):
    who = officer(quillfen)
    enter(quillfen, who=who)
    n = written(quillfen)
    enter(quillfen, who=replace(who))
    save(cell, who=who)
    actions.save_policy(site=quillfen, policy=Policy(), who=who)
    assert written(quillfen) == n
