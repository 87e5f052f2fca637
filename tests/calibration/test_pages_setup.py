"""The officer's pages: axes, features, instruments, how the site measures, an axis over time."""

from datetime import timedelta

import pytest

from permits.calibration import models as rows
from permits.calibration.queries import policy_of
from permits.calibration.rules.lengths import Unit
from permits.calibration.rules.policy import Overdue, Policy
from tests.calibration.ground import (
    RIGHT,
    TOO_LONG,
    axis,
    entries,
    feature,
    in_days,
    instrument,
    post,
    written,
)
from tests.factories_people import MembershipFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def as_maud(maud, signed_in):
    return signed_in(maud)


@pytest.fixture
def elsewhere(maud, fernbrook, signed_in):
    """The officer, at another site where she is one too."""
    from permits.people.rules.roles import Role

    MembershipFactory(person=maud, site=fernbrook, role=Role.OFFICER)
    return signed_in(maud, fernbrook)


def text(answer) -> str:
    return answer.content.decode()


# ── axes ────────────────────────────────────────────────────────────────────────────────────────────────

HEIGHT = {
    "code": "height", "name": "Height of cut", "unit": "mm", "tolerance": "0.5", "order": "",
    "nominal_from": "30", "nominal_to": "300", "offset_lowest": "-10", "offset_highest": "+10",
}  # fmt: skip


def test_an_axis_is_added_and_listed_last(as_maud, cell):
    assert as_maud.get("/axes/C1/add/").status_code == 200
    answer = post(as_maud, "/axes/C1/add/", **HEIGHT, instruments=[instrument("ST-03").pk])
    assert answer.url == "/axes/C1/"
    row = axis("height")
    assert (row.order, row.offset_highest, row.nominal_to) == (4, "+10 mm", "300 mm")
    assert [one.number for one in row.instruments.all()] == ["ST-03"]
    page = text(as_maud.get("/axes/C1/"))
    assert "30 to 300 mm" in page
    assert "offset, -10 to +10 mm" in page


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"code": ""}, "The short name is empty; a word such as angle or length-1 would be right."),
        ({"code": "my axis"}, "Only letters, digits, hyphens and underscores"),
        ({"name": ""}, "Name is empty; a few words would be right."),
        ({"unit": "ft"}, "This is no unit here; mm, inch or degree would be right."),
        ({"order": "0"}, "The first place is 1."),
        ({"order": "first"}, "This is no whole number; 1 for the first axis would be right."),
        ({"tolerance": ""}, "The tolerance is missing; how far a size may be off either way, such as 0.5."),
        ({"tolerance": "0"}, "The tolerance is zero; a size above zero would be right."),
        ({"tolerance": "-0.5"}, "has a sign (-) where none belongs"),
        ({"tolerance": "1/2"}, "is a fraction; millimetres are decimal"),
        ({"nominal_to": ""}, "Only one end is given; both or neither."),
        ({"nominal_from": "400"}, "This end is not above the other one."),
        ({"offset_lowest": "ten"}, "has “t” in it"),
        (
            {"offset_lowest": "", "offset_highest": ""},
            "Give the limits of the offset, of the scale, or of both.",
        ),
        ({"scale_lowest": "0", "scale_highest": "1.1"}, "is zero, which would command nothing"),
        ({"scale_lowest": "0.9 mm", "scale_highest": "1.1"}, "is no factor"),
        ({"instruments": ["999"]}, "One of these is no longer in use"),
        ({"instruments": ["x"]}, "One of these is no instrument"),
        ({"key": ""}, "This page came without its number; open it again, then send it."),
    ],
)
def test_an_axis_with_bad_input_is_kept_as_typed(as_maud, cell, quillfen, wrong, message):
    n = written(quillfen)
    answer = post(as_maud, "/axes/C1/add/", **HEIGHT | wrong)
    assert answer.status_code == 422
    assert message in text(answer)
    for name, value in (HEIGHT | wrong).items():
        if name in ("tolerance", "nominal_from", "offset_lowest") and value:
            assert f'value="{value}"' in text(answer)
    assert written(quillfen) == n


def test_an_axis_that_cannot_be_is_refused_as_typed(as_maud, cell):
    answer = post(as_maud, "/axes/C1/add/", **HEIGHT | {"name": "Saw angle"})
    assert answer.status_code == 409
    assert "Another axis is named Saw angle." in text(answer)
    assert 'value="Saw angle"' in text(answer)


def test_a_new_axis_begins_with_the_sites_lengths(as_maud, cell, quillfen):
    assert '<option value="mm" selected>' in text(as_maud.get("/axes/C1/add/"))
    rows.MeasuringPolicy.objects.create(site=quillfen, lengths="in", finest=32, overdue="refused")
    assert '<option value="in" selected>' in text(as_maud.get("/axes/C1/add/"))


def test_an_axis_is_changed_from_what_was_typed(as_maud, cell):
    row = axis("length-1")
    page = text(as_maud.get(f"/axes/C1/{row.pk}/change/"))
    for value in ('value="0.5"', 'value="150"', 'value="-25"', 'value="0.98"'):
        assert value in page
    changed = HEIGHT | {"name": "Length, short", "tolerance": "0.4"}
    assert post(as_maud, f"/axes/C1/{row.pk}/change/", **changed).url == "/axes/C1/"
    row.refresh_from_db()
    assert (row.code, row.name, row.tolerance, row.order) == ("length-1", "Length, short", "0.4 mm", 2)


def test_an_axis_is_taken_out_and_stays_readable(as_maud, bench, quillfen):
    bench.opened()
    row = axis("length-1")
    page = f"/axes/C1/{row.pk}/remove/"
    assert "What it was found at and left at stays" in text(as_maud.get(page))
    answer = post(as_maud, page)
    assert answer.status_code == 409
    assert f"is open in the calibration job of {bench.permit}" in text(answer)
    bench.readings(*RIGHT).end_axis()
    assert post(as_maud, page).url == "/axes/C1/"
    page_of_axes = text(as_maud.get("/axes/C1/"))
    assert f'href="/axes/C1/{row.pk}/change/"' not in page_of_axes
    assert f'Taken out: <a href="/axes/C1/{row.pk}/">Length, short system</a>' in page_of_axes
    assert "Taken out on" in text(as_maud.get(f"/axes/C1/{row.pk}/"))
    assert as_maud.get(f"/axes/C1/{row.pk}/change/").status_code == 404


def test_sent_twice_an_axis_is_saved_once(as_maud, cell, quillfen):
    key = "11111111-2222-3333-4444-555555555555"
    post(as_maud, "/axes/C1/add/", **HEIGHT, key=key)
    n = written(quillfen)
    assert post(as_maud, "/axes/C1/add/", **HEIGHT, key=key).url == "/axes/C1/"
    assert written(quillfen) == n


def test_another_axis_under_a_used_key_is_not_taken_for_saved(as_maud, cell, quillfen):
    key = "11111111-2222-3333-4444-555555555555"
    post(as_maud, "/axes/C1/add/", **HEIGHT, key=key)
    n = written(quillfen)
    answer = post(as_maud, "/axes/C1/add/", **HEIGHT | {"name": "Depth"}, key=key)
    assert answer.status_code == 409
    assert "This page was sent already at " in text(answer)
    assert answer.context["form"]["name"].value() == "Depth"
    assert written(quillfen) == n


# ── features ────────────────────────────────────────────────────────────────────────────────────────────


def feature_fields(name="Bow", unit="mm", **depends):
    return {"name": name, "unit": unit} | {f"axis-{axis(code).pk}": value for code, value in depends.items()}


def test_a_feature_is_described_and_changed(as_maud, cell, quillfen):
    assert post(as_maud, "/axes/C1/features/", **feature_fields(angle="-0.5")).url == "/axes/C1/features/"
    assert feature("Bow").depends == {"angle": "-0.5"}
    page = text(as_maud.get("/axes/C1/features/?feature=Bow"))
    assert 'value="Bow"' in page
    assert 'value="-0.5"' in page


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"angle": "a lot"}, "“a lot” is no number; a decimal such as 1.2 or -0.4 would be right."),
        ({"angle": "1,5"}, "is no number"),
        ({"angle": "0"}, "The feature depends on no axis"),
        ({}, "The feature depends on no axis"),
        ({"name": "", "angle": "1"}, "Feature of the test piece is empty"),
        ({"unit": "N", "angle": "1"}, "This is no unit here"),
    ],
)
def test_a_feature_with_bad_input(as_maud, cell, fields, message):
    answer = post(as_maud, "/axes/C1/features/", **feature_fields(**fields))
    assert answer.status_code == 422
    assert message in text(answer)
    assert not rows.Feature.objects.filter(name="Bow").exists()


def test_a_feature_is_taken_out(as_maud, cell, quillfen):
    row = feature("Length, 1200 piece")
    assert post(as_maud, f"/axes/C1/features/{row.pk}/remove/").url == "/axes/C1/features/"
    assert ">Length, 1200 piece<" not in text(as_maud.get("/axes/C1/"))
    assert entries(quillfen, "FEATURE_REMOVED") == [{"feature": "Length, 1200 piece"}]


# ── instruments ─────────────────────────────────────────────────────────────────────────────────────────


def caliper(**more):
    return {
        "number": "CP-20", "name": "Caliper", "unit": "mm", "expanded_uncertainty": "0.04",
        "coverage_factor": "2", "resolution": "0.01", "due_on": in_days(100).isoformat(),
    } | more  # fmt: skip


def test_an_instrument_is_entered(as_maud, cell):
    assert post(as_maud, "/instruments/", **caliper()).url == "/instruments/"
    page = text(as_maud.get("/instruments/"))
    assert "CP-20" in page
    assert "out of date" not in page.split("<table")[1]


def test_one_out_of_date_is_shown_as_such(as_maud, cell):
    post(as_maud, "/instruments/", **caliper(due_on=in_days(-1).isoformat()))
    assert "out of date" in text(as_maud.get("/instruments/")).split("<table")[1]


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"number": ""}, "Number on the instrument is empty"),
        ({"name": ""}, "What it is is empty"),
        ({"unit": ""}, "This is no unit here"),
        (
            {"expanded_uncertainty": ""},
            "U is missing; it stands on the certificate, with its coverage factor k.",
        ),
        ({"expanded_uncertainty": "0,04"}, "has a comma; the decimal sign is a point"),
        ({"expanded_uncertainty": "-0.04"}, "has a sign (-) where none belongs"),
        ({"coverage_factor": "0"}, "The coverage factor is not above zero"),
        ({"coverage_factor": "two"}, "This is no number; a decimal such as 2 or 1.96 would be right."),
        ({"coverage_factor": ""}, "The coverage factor is missing"),
        ({"resolution": ""}, "The resolution is missing; the smallest step that the instrument shows."),
        ({"due_on": ""}, "The date is missing; it stands on the calibration label."),
        ({"due_on": "soon"}, "This is no date; year, month and day as 2027-05-31 would be right."),
    ],
)
def test_an_instrument_with_bad_input(as_maud, cell, wrong, message):
    answer = post(as_maud, "/instruments/", **caliper(**wrong))
    assert answer.status_code == 422
    assert message in text(answer)
    assert 'value="Caliper"' in text(answer) or "name" in wrong
    assert not rows.Instrument.objects.filter(number="CP-20").exists()


def test_a_new_certificate_begins_with_the_old_one(as_maud, cell):
    page = text(as_maud.get("/instruments/?number=ST-03"))
    assert 'value="Steel tape, 10 m, class I"' in page
    assert 'value="0.05"' in page


def test_an_instrument_at_work_stays(as_maud, bench):
    bench.opened()
    page = f"/instruments/{instrument('ST-03').pk}/remove/"
    answer = post(as_maud, page)
    assert answer.status_code == 409
    assert "is being read with it under" in text(answer)
    bench.end_axis(abandon=True)
    assert post(as_maud, page).url == "/instruments/"


# ── how the site measures ───────────────────────────────────────────────────────────────────────────────


def test_a_site_chooses_how_it_measures(as_maud, cell, quillfen):
    chosen = {"lengths": "in", "finest": "32", "overdue": "recorded"}
    assert post(as_maud, "/calibration/policy/", **chosen).url == "/calibration/"
    assert policy_of(quillfen) == Policy(Unit.INCH, 32, Overdue.RECORDED)
    page = text(as_maud.get("/calibration/"))
    assert "the phone&#x27;s keys down to 1/32 in" in page or "the phone's keys down to 1/32 in" in page
    assert "an exception in the record (site policy)" in page
    assert "≈ 0.0197 in, converted" in text(as_maud.get("/axes/C1/"))


@pytest.mark.parametrize(
    "wrong", [{"lengths": "deg"}, {"finest": "48"}, {"overdue": "ignored"}, {"lengths": ""}]
)
def test_a_choice_that_is_none_is_refused(as_maud, cell, quillfen, wrong):
    answer = post(
        as_maud, "/calibration/policy/", **{"lengths": "in", "finest": "32", "overdue": "recorded"} | wrong
    )
    assert answer.status_code == 422
    assert "choose one of these" in text(answer)
    assert policy_of(quillfen) == Policy()


# ── over time ───────────────────────────────────────────────────────────────────────────────────────────


def earlier(client, row, days=30, **more):
    fields = {"on": in_days(-days).isoformat(), "as_found": "0.3", "as_left": "", "source": "Book 3, page 14"}
    return post(client, f"/axes/C1/{row.pk}/earlier/", **fields | more)


def test_an_axis_over_time(as_maud, bench):
    row = axis("length-1")
    page = text(as_maud.get(f"/axes/C1/{row.pk}/"))
    assert "A chart needs two visits." in page
    bench.opened().readings(*TOO_LONG).change().readings(*RIGHT).judge().end_axis()
    for days in (90, 60, 30):
        assert earlier(as_maud, row, days).url == f"/axes/C1/{row.pk}/"
    page = text(as_maud.get(f"/axes/C1/{row.pk}/"))
    assert page.count("<svg") == 4  # as found and as left, each for a desk and for a phone
    assert "+2 mm" in page
    assert "lies beyond the limits" in page or "No rule speaks" in page
    assert "Book 3, page 14" in page
    assert f"/permits/{bench.permit}/" in page
    assert "Adjusted 1 time in 4 visits, never for nothing." in page
    assert "limits are provisional below 20 (common practice)" in page


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"on": ""}, "The day is missing."),
        ({"on": "yesterday"}, "This is no date; year, month and day as 2026-05-31 would be right."),
        ({"as_found": ""}, "Mean deviation as found is missing. Accepted: millimetres"),
        ({"as_found": "0,3"}, "has a comma; the decimal sign is a point"),
        ({"as_left": "1/2"}, "is a fraction; millimetres are decimal"),
        ({"source": ""}, "Where it is written is empty"),
    ],
)
def test_an_earlier_result_with_bad_input(as_maud, cell, wrong, message):
    answer = earlier(as_maud, axis("length-1"), **wrong)
    assert answer.status_code == 422
    assert message in text(answer)
    assert not rows.EarlierResult.objects.exists()


def test_an_earlier_result_of_a_day_that_has_one_or_is_yet_to_come_is_refused(as_maud, cell):
    row = axis("length-1")
    earlier(as_maud, row)
    answer = earlier(as_maud, row)
    assert answer.status_code == 409
    assert "has an earlier result of" in text(answer)
    assert earlier(as_maud, row, days=-400).status_code == 409


def test_the_auditor_and_the_technician_read_and_change_nothing(cell, darya, odo, signed_in):
    for person in (darya, odo):
        client = signed_in(person)
        for path in ("/calibration/", "/axes/C1/", f"/axes/C1/{axis('angle').pk}/"):
            page = client.get(path)
            assert page.status_code == 200
            for offered in ("Add an axis", "Take out", "Enter an earlier result", "Describe features"):
                assert offered not in text(page), path


def test_the_way_here_stands_in_the_navigation(cell, darya, pia, signed_in):
    assert 'href="/calibration/"' in text(signed_in(darya).get("/calibration/"))
    assert 'href="/calibration/"' not in text(signed_in(pia).get("/me/"))


def test_the_right_role_at_the_wrong_site_finds_nothing(cell, elsewhere):
    angle, tape, one = axis("angle").pk, instrument("ST-03").pk, feature("Length, 1200 piece").pk
    paths = ["", "add/", "features/", f"features/{one}/remove/", f"{angle}/"]
    paths += [f"{angle}/{act}/" for act in ("change", "remove", "earlier")]
    for path in (*(f"/axes/C1/{path}" for path in paths), f"/instruments/{tape}/remove/"):
        assert elsewhere.get(path).status_code == 404, path
        if path not in ("/axes/C1/", f"/axes/C1/{angle}/"):
            assert post(elsewhere, path).status_code == 404, path
    assert "ST-03" not in text(elsewhere.get("/instruments/"))
    assert "ST-03" not in text(elsewhere.get("/calibration/"))


def test_an_axis_of_another_machine_is_not_found(as_maud, cell):
    assert as_maud.get(f"/axes/K4/{axis('angle').pk}/").status_code == 404
    assert as_maud.get("/axes/C1/4711/").status_code == 404


def test_the_lists_cost_the_same_with_many_rows(as_maud, cell, quillfen, django_assert_max_num_queries):
    for n in range(20):
        rows.Instrument.objects.create(
            site=quillfen, number=f"X-{n}", name="X", unit="mm", expanded_uncertainty="1 mm",
            coverage_factor=2, resolution="1 mm", due_on=in_days(0) + timedelta(days=1),
        )  # fmt: skip
    with django_assert_max_num_queries(8):
        as_maud.get("/calibration/")
