"""The job's pages on the phone: what they show, bad input, refusals, stale pages, repeats, other sites."""

import re
from hashlib import sha256
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from permits.calibration import actions
from permits.calibration import models as rows
from permits.calibration.rules.lengths import Unit
from permits.calibration.rules.policy import Policy
from permits.calibration.views import answering
from permits.people.repeats import was_done
from tests.calibration.ground import (
    RIGHT,
    TOO_LONG,
    axis,
    entries,
    feature,
    instrument,
    officer,
    post,
    written,
)
from tests.factories_people import MembershipFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def at(bench):
    """at("piece/"): an address of the job's pages."""
    return lambda more="": f"/permits/{bench.permit}/job/{more}"


def text(answer) -> str:
    return answer.content.decode()


OPENING = {
    "machine": "C1",
    "settings_before": "cell-1.bak",
    "reference_board": "RB-02",
    "test_piece": "1200 mm",
}


# ── opening the job ─────────────────────────────────────────────────────────────────────────────────────


def test_a_job_is_opened_and_its_page_shows_what_was_recorded(as_odo, at, bench):
    assert as_odo.get(at("open/")).status_code == 200
    answer = post(as_odo, at("open/"), **OPENING)
    assert answer.url == at()
    page = text(as_odo.get(at()))
    for words in ("cell-1.bak", "RB-02", "Open an axis", "Pre-check: which axis is it?"):
        assert words in page


def first(code="length-1", number="ST-03"):
    return OPENING | {"axis": axis(code).pk, "instrument": instrument(number).pk}


def test_an_axis_opens_with_the_job(as_odo, at, bench, quillfen):
    page = text(as_odo.get(at("open/")))
    for words in ("Not known yet", "Length, short system", "Not chosen yet", "ST-03"):
        assert words in page
    again = first() | {"key": str(uuid4())}
    for _ in range(2):  # sent again it is the same one
        assert post(as_odo, at("open/"), **again).url == at()
    assert rows.Job.objects.count() == 1
    [opened] = entries(quillfen, "AXIS_OPENED")
    assert (opened["job"], opened["axis"], opened["instrument"]) == (1, "length-1", "ST-03")
    assert "Record what is read" in text(as_odo.get(at()))


def test_a_job_whose_axis_does_not_open_does_not_open_either(as_odo, at, bench, quillfen):
    """One form, one transaction: what stands against the axis stands against the whole."""
    n = written(quillfen)
    answer = post(as_odo, at("open/"), **first("angle", "ST-03"))
    assert answer.status_code == 409
    assert {"wrong-unit", "instrument-not-allowed"} & answer.context["refusal"].codes
    assert "RB-02" in text(answer)
    assert written(quillfen) == n
    assert not rows.Job.objects.exists()
    answer = post(as_odo, at("open/"), **first() | {"instrument": ""})
    assert answer.status_code == 422
    assert "No instrument is chosen; the axis opens with one." in text(answer)


def test_the_file_is_recorded_by_its_digest_and_not_kept(as_odo, at, bench, quillfen):
    content = b"offset=12.5\n" * 1000
    file = SimpleUploadedFile("../../cell <1>.bak", content)
    post(as_odo, at("open/"), **OPENING | {"settings_before": "", "settings_before_file": file})
    [described] = entries(quillfen, "JOB_DESCRIBED")
    digest = sha256(content).hexdigest()
    assert described["settings_before_file"] == {"name": "cell <1>.bak", "sha256": digest, "size": 12000}
    page = text(as_odo.get(at()))
    assert f"cell &lt;1&gt;.bak (SHA-256 {digest}, 12,000 bytes)" in page


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"settings_before": ""}, "Say where the copy is, or attach the file."),
        ({"settings_before": "x" * 201}, "at most 200 characters"),
        ({"reference_board": " "}, "Reference board is empty; a few words would be right."),
        ({"test_piece": ""}, "Test piece is empty; a few words would be right."),
        ({"machine": "K4"}, "This is no machine of the permit; choose one of the list."),
        ({"machine": ""}, "No machine is chosen."),
        ({"key": "42"}, "This page&#x27;s number is damaged; open it again, then send it."),
    ],
)
def test_bad_input_is_named_and_what_was_typed_is_kept(as_odo, at, wrong, message):
    answer = post(as_odo, at("open/"), **OPENING | {"test_piece": "A piece <b>", **wrong})
    assert answer.status_code == 422
    assert message in text(answer)
    if "test_piece" not in wrong:
        assert "A piece &lt;b&gt;" in text(answer)
    assert not rows.Job.objects.exists()


def test_an_empty_file_is_no_copy(as_odo, at):
    file = SimpleUploadedFile("cell.bak", b"")
    answer = post(as_odo, at("open/"), **OPENING | {"settings_before_file": file})
    assert answer.status_code == 422
    assert "The file is empty" in text(answer)


def test_a_second_job_is_refused_as_typed(as_odo, at, bench):
    bench.open_job()
    answer = post(as_odo, at("open/"), **OPENING)
    assert answer.status_code == 409
    assert "Job 1 is open already." in text(answer)
    assert "cell-1.bak" in text(answer)


# ── the pre-check ───────────────────────────────────────────────────────────────────────────────────────


def features(**typed):
    """Fields by feature: squareness=("0.1", "0.05")."""
    names = {"squareness": "Squareness across 89 mm", "length": "Length, 1200 piece"}
    found = {}
    for short, (deviation, uncertainty) in typed.items():
        pk = feature(names[short]).pk
        found |= {f"deviation-{pk}": deviation, f"uncertainty-{pk}": uncertainty}
    return {"job": 1} | found


def test_a_pre_check_says_which_axis_explains_the_pieces(as_odo, at, bench):
    bench.open_job()
    answer = post(as_odo, at("pre-check/"), **features(squareness=("0", "0.1"), length=("+2", "0.1")))
    assert answer.url == at()
    page = text(as_odo.get(at()))
    assert "Length, short system explains the deviations" in page
    assert f'<option value="{axis("length-1").pk}" selected>' in page  # chosen already
    assert f'<option value="{instrument("ST-03").pk}" selected>' in page


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({}, "No feature was measured"),
        (
            {"length": ("", "0.1")},
            "The deviation of Length, 1200 piece is missing; 0 if the feature is right.",
        ),
        ({"length": ("2", "")}, "How sure is Length, 1200 piece?"),
        ({"length": ("2", "0")}, "How sure is Length, 1200 piece?"),
        ({"length": ("2,5", "0.1")}, "has a comma; the decimal sign is a point"),
        ({"length": ("2", "-0.1")}, "has a sign (-) where none belongs"),
    ],
)
def test_a_pre_check_with_bad_input(as_odo, at, bench, typed, message):
    bench.open_job()
    answer = post(as_odo, at("pre-check/"), **features(**{"squareness": ("", ""), **typed}))
    assert answer.status_code == 422
    assert message in text(answer)
    assert not rows.PreCheck.objects.exists()


def test_the_axis_that_a_pre_check_names_opens_with_it(as_odo, at, bench, quillfen):
    bench.open_job()
    typed = features(squareness=("0", "0.1"), length=("+2", "0.1")) | {"instrument": instrument("ST-03").pk}
    again = typed | {"key": str(uuid4())}
    for _ in range(2):  # sent again it is the same one
        assert post(as_odo, at("pre-check/"), **again).url == at()
    [opened] = entries(quillfen, "AXIS_OPENED")
    assert (opened["axis"], opened["instrument"]) == ("length-1", "ST-03")
    assert len(entries(quillfen, "PRE_CHECKED")) == 1
    assert "Record what is read" in text(as_odo.get(at()))
    bench.next(150)  # the bench began two hours ago; the page was sent now
    bench.readings(*RIGHT).end_axis()
    assert "explains the deviations" not in text(as_odo.get(at()))  # it told of that axis


def test_a_pre_check_that_names_no_axis_opens_none(as_odo, at, bench, quillfen):
    bench.open_job()
    typed = features(length=("+2", "0.1")) | {"instrument": instrument("ST-03").pk}
    assert post(as_odo, at("pre-check/"), **typed).url == at()
    assert "The pieces cannot tell" in text(as_odo.get(at()))
    assert not entries(quillfen, "AXIS_OPENED")


def test_a_pre_check_is_not_recorded_where_its_axis_does_not_open(as_odo, at, bench, quillfen):
    bench.open_job()
    n = written(quillfen)
    typed = features(squareness=("0", "0.1"), length=("+2", "0.1")) | {"instrument": instrument("DP-11").pk}
    answer = post(as_odo, at("pre-check/"), **typed)
    assert answer.status_code == 409
    assert "wrong-unit" in answer.context["refusal"].codes
    assert written(quillfen) == n


def test_a_pre_check_with_an_axis_open_is_refused(as_odo, at, bench):
    bench.opened()
    answer = post(as_odo, at("pre-check/"), **features(length=("2", "0.1")))
    assert answer.status_code == 409
    assert "the pre-check comes before an axis is opened" in text(answer)
    assert 'value="2"' in text(answer)


def test_a_pre_check_from_before_an_axis_tells_no_more(as_odo, at, bench):
    bench.open_job().pre_check(
        ("Length, 1200 piece", "2 mm", "0.1 mm"), ("Squareness across 89 mm", "0 mm", "0.1 mm")
    )
    assert "Pre-check 1" in text(as_odo.get(at()))
    bench.take_up().end_axis(abandon=True)
    assert "Pre-check 1" not in text(as_odo.get(at()))


def test_a_machine_without_features_says_who_describes_them(as_odo, at, bench):
    bench.open_job()
    rows.Feature.objects.all().delete()
    assert "a safety officer does that first" in text(as_odo.get(at("pre-check/")))


# ── opening an axis ─────────────────────────────────────────────────────────────────────────────────────


def opening(code="length-1", number="ST-03"):
    return {"job": 1, "axis": axis(code).pk, "instrument": instrument(number).pk}


def test_the_first_axis_in_the_officers_order_is_chosen_with_an_instrument_that_may_read_it(
    as_odo, at, bench
):
    bench.open_job()
    page = text(as_odo.get(at()))
    assert f'<option value="{axis("angle").pk}" selected>' in page
    assert f'<option value="{instrument("DP-11").pk}" selected>' in page


def test_an_axis_is_opened(as_odo, at, bench):
    bench.open_job()
    assert post(as_odo, at("axis/open/"), **opening()).url == at()
    page = text(as_odo.get(at()))
    assert "<h1>Length, short system</h1>" in page
    assert "±0.5 mm, read with ST-03" in page


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"axis": 999}, "This is no axis of the machine any more; choose one of the list."),
        ({"axis": ""}, "No axis is chosen."),
        ({"instrument": "x"}, "This is no instrument in use any more; choose one of the list."),
        ({"instrument": ""}, "No instrument is chosen."),
    ],
)
def test_an_axis_that_is_none_is_named(as_odo, at, bench, wrong, message):
    bench.open_job()
    answer = post(as_odo, at("axis/open/"), **opening() | wrong)
    assert answer.status_code == 422
    assert message in text(answer)


def test_an_instrument_that_does_not_fit_is_refused_with_what_would(as_odo, at, bench):
    bench.open_job()
    answer = post(as_odo, at("axis/open/"), **opening("angle", "ST-03"))
    assert answer.status_code == 409
    assert "You take one of these, and choose it on this page: DP-11." in text(answer)
    assert "2 things are missing" in text(answer)


# ── reading pieces ──────────────────────────────────────────────────────────────────────────────────────


def about(bench, **fields):
    return {"work": bench.axis.pk} | fields


def test_after_each_piece_the_mean_and_the_decision_are_shown(as_odo, at, bench):
    bench.opened()
    seen = []
    for size in ("1202", "1202.1", "1201.9"):
        assert post(as_odo, at("piece/"), **about(bench, nominal="1200", measured=size)).url == at()
        page = text(as_odo.get(at()))
        tally = page.split('class="tally"')[1]
        seen.append(
            tuple(re.search(rf'class="{name}">([^<]+)<', tally)[1] for name in ("lead", "state-word"))
        )
    assert seen == [("+2 mm", "measure again"), ("+2.05 mm", "adjust"), ("+2 mm", "adjust")]
    assert 'name="nominal" value="1200"' in page  # the next piece is most likely of the same size
    assert "Adjust: add -2 mm" in page


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"measured": ""}, "Measured is missing. Accepted: millimetres as 2352 or 2352.675, without a sign."),
        ({"measured": "12,5"}, "has a comma; the decimal sign is a point"),
        ({"measured": "47 1/4"}, "is a fraction; millimetres are decimal"),
        ({"measured": "+1200"}, "has a sign (+) where none belongs"),
        ({"measured": "1200 in"}, "is in inches where millimetres belong"),
        ({"nominal": "twelve"}, "has “t” in it"),
    ],
)
def test_a_reading_that_cannot_be_read_is_kept_as_typed(as_odo, at, bench, typed, message):
    bench.opened()
    answer = post(as_odo, at("piece/"), **about(bench, **{"nominal": "1200", "measured": "1200.5", **typed}))
    assert answer.status_code == 422
    assert message in text(answer)
    for value in ({"nominal": "1200", "measured": "1200.5"} | typed).values():
        assert not value or f'value="{value}"' in text(answer)
    assert not bench.axis.pieces.exists()


def test_several_pieces_are_read_with_one_form(as_odo, at, bench, quillfen):
    """A line without a nominal size has that of the line above; each piece has its own entry."""
    bench.opened()
    typed = {"nominal": "1200", "measured": "1202", "measured-2": "1202.1"}
    typed |= {"nominal-3": "600", "measured-3": "602", "measured-4": "601.9"}
    assert post(as_odo, at("piece/"), **about(bench, **typed)).url == at()
    read = [(one["piece"], one["nominal"], one["measured"]) for one in entries(quillfen, "PIECE_READ")]
    assert read == [
        (1, "1200 mm", "1202 mm"), (2, "1200 mm", "1202.1 mm"),
        (3, "600 mm", "602 mm"), (4, "600 mm", "601.9 mm"),
    ]  # fmt: skip
    assert "Mean of 4 pieces as found" in text(as_odo.get(at()))


def test_two_lines_are_in_sight_and_further_ones_unfold(as_odo, at, bench):
    bench.opened()
    page = text(as_odo.get(at()))
    before, folded = page.split('<details class="more-pieces">', 1)
    assert 'name="measured-2"' in before
    assert 'name="measured-3"' in folded
    assert page.count("<summary>Add a piece</summary>") == 4
    typed = about(bench, nominal="1200", measured="1202", **{"measured-4": "12,5"})
    answer = post(as_odo, at("piece/"), **typed)
    assert answer.status_code == 422
    assert text(answer).count('<details class="more-pieces" open>') == 2  # as far as something was typed


def test_several_pieces_are_read_all_or_none(as_odo, at, bench, quillfen):
    bench.opened()
    n = written(quillfen)
    for more, status, words in (
        ({"measured-2": "12,5"}, 422, "has a comma; the decimal sign is a point"),
        ({"nominal-2": "600"}, 422, "What this piece measured is missing; or clear its nominal."),
        ({"nominal-2": "9000", "measured-2": "9000"}, 409, "Nominal 9000 mm is outside the sizes"),
    ):
        answer = post(as_odo, at("piece/"), **about(bench, nominal="1200", measured="1200", **more))
        assert answer.status_code == status
        assert words in text(answer)
    assert written(quillfen) == n
    assert not bench.axis.pieces.exists()


def test_what_stands_against_two_pieces_alike_is_said_once(as_odo, at, bench):
    bench.opened()
    typed = about(bench, nominal="9000", measured="9000", **{"measured-2": "9001"})
    answer = post(as_odo, at("piece/"), **typed)
    assert [unmet.code for unmet in answer.context["refusal"].unmet] == ["outside-range"]


def test_the_last_fresh_pieces_judge_the_correction_with_their_own_form(as_odo, at, bench, quillfen):
    bench.opened().readings(*TOO_LONG)
    assert 'name="judging"' not in text(as_odo.get(at()))  # nothing was corrected yet
    bench.change()
    assert 'name="judging"' in text(as_odo.get(at()))
    n = written(quillfen)
    again = about(bench, nominal="1200", measured="1200", judging="on", key=str(uuid4()))
    again |= {"measured-2": "1200.1", "measured-3": "1199.9", "measured-4": "1200"}
    for _ in range(2):  # sent again it is the same one
        assert post(as_odo, at("piece/"), **again).url == at()
    assert written(quillfen) == n + 4 + 2  # the pieces, the permit's proof and what was judged
    [judged] = entries(quillfen, "RESULT_JUDGED")
    assert (judged["pieces"], judged["decision"]) == (4, "leave")
    assert "Close the axis" in text(as_odo.get(at()))


@pytest.mark.parametrize("sizes", [("1200",), ("1199.4", "1200.4")], ids=["too few", "too far apart"])
def test_pieces_that_settle_nothing_are_recorded_and_not_judged(as_odo, at, bench, quillfen, sizes):
    bench.opened().readings(*TOO_LONG).change()
    lines = dict(zip(("measured", "measured-2"), sizes, strict=False))
    assert post(as_odo, at("piece/"), **about(bench, nominal="1200", judging="on", **lines)).url == at()
    assert bench.axis.pieces.count() == 4 + len(sizes)
    assert not entries(quillfen, "RESULT_JUDGED")
    assert bench.axis.proven == 0
    assert "They do not settle it yet: nothing is judged." in text(as_odo.get(at()))


def test_a_piece_outside_the_sizes_is_refused_as_typed(as_odo, at, bench):
    bench.opened()
    answer = post(as_odo, at("piece/"), **about(bench, nominal="9000", measured="9000.5"))
    assert answer.status_code == 409
    assert "Nominal 9000 mm is outside the sizes of Length, short system: 150 to 1500 mm." in text(answer)
    assert 'value="9000.5"' in text(answer)


def test_a_page_left_open_does_not_read_into_another_axis(as_odo, at, bench):
    """Two phones: one still shows the axis that the other has closed; its piece must not count next."""
    bench.opened().readings(*RIGHT)
    stale = about(bench, nominal="1200", measured="1202")
    bench.end_axis().take_up("depth", "ST-09")
    answer = post(as_odo, at("piece/"), **stale)
    assert answer.status_code == 409
    assert "Length, short system is closed." in text(answer)
    assert 'value="1202"' not in text(answer)  # the page's form is about the depth stop now
    assert not bench.axis.pieces.exists()


def test_fractions_are_typed_and_have_keys_in_inches(as_odo, at, bench, quillfen):
    actions.save_policy(site=quillfen, policy=Policy(Unit.INCH, 64), who=officer(quillfen))
    bench.opened("depth", "ST-09")
    post(as_odo, at("piece/"), **about(bench, nominal="92 5/8", measured="92 41/64"))
    page = text(as_odo.get(at()))
    assert "+1/64 in" in page
    for fraction in ("1/16", "1/8", "1/2", "15/16"):
        assert f'data-fraction="{fraction}"' in page
    assert 'data-nudge="1/64"' in page
    assert page.count("data-fraction=") == 15


def test_a_site_that_uses_sixteenths_has_no_finer_key(as_odo, at, bench):
    bench.opened("depth", "ST-09")
    assert "data-nudge" not in text(as_odo.get(at()))


def test_decimal_keys_step_by_what_the_instrument_shows(as_odo, at, bench):
    bench.opened()
    page = text(as_odo.get(at()))
    assert 'data-nudge="0.05"' in page
    assert "data-fraction" not in page


def test_the_keys_are_hidden_until_a_script_shows_them(as_odo, at, bench):
    bench.opened()
    page = text(as_odo.get(at()))
    assert 'aria-label="Keys" hidden>' in page


def test_a_length_of_the_other_system_is_shown_converted(as_odo, at, bench, quillfen):
    actions.save_policy(site=quillfen, policy=Policy(Unit.INCH), who=officer(quillfen))
    bench.opened().readings("1202.54 mm", "1202.54 mm")
    page = text(as_odo.get(at()))
    assert "+2.54 mm" in page
    assert "0.1 in, converted" in page or "1/10 in, converted" in page


# ── taking a reading back ───────────────────────────────────────────────────────────────────────────────


def test_a_wrong_reading_is_taken_back(as_odo, at, bench):
    bench.opened().readings("120 mm", *RIGHT)
    assert post(as_odo, at("piece/strike/"), **about(bench, piece=1, why="120 typed for 1200")).url == at()
    page = text(as_odo.get(at()))
    assert "Taken back: 120 typed for 1200" in page
    assert ">leave<" in page


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"why": ""}, "What was entered wrong is empty"),
        ({"piece": "9"}, "This piece&#x27;s reading cannot be taken back any more"),
        ({"piece": ""}, "No piece is chosen."),
    ],
)
def test_taking_back_says_what_is_missing(as_odo, at, bench, wrong, message):
    bench.opened().readings("120 mm")
    answer = post(as_odo, at("piece/strike/"), **about(bench, piece=1, why="wrong piece") | wrong)
    assert answer.status_code == 422
    assert message in text(answer)


# ── corrections ─────────────────────────────────────────────────────────────────────────────────────────


def change(bench, **fields):
    return about(bench, **{"parameter": "offset", "old": "12.5", "new": "10.5", "reason": ""} | fields)


def test_a_correction_is_entered_and_asks_for_fresh_pieces(as_odo, at, bench):
    bench.opened().readings(*TOO_LONG)
    assert post(as_odo, at("correction/"), **change(bench)).url == at()
    page = text(as_odo.get(at()))
    assert "Correction 1: offset from 12.5 mm to 10.5 mm" in page
    assert "cut after the correction" in page


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"old": ""}, "What the parameter was is missing; read it in the machine."),
        ({"new": ""}, "What the parameter is now is missing; read it in the machine."),
        ({"new": "10,5"}, "has a comma; the decimal sign is a point"),
        ({"parameter": "scale", "old": "1", "new": "-1"}, "is no factor. Accepted: a factor as 1 or 0.9985"),
        ({"parameter": "speed"}, "This is no parameter that a correction of the axis may change."),
        ({"parameter": ""}, "No parameter is chosen."),
    ],
)
def test_a_correction_that_cannot_be_read(as_odo, at, bench, wrong, message):
    bench.opened().readings(*TOO_LONG)
    answer = post(as_odo, at("correction/"), **change(bench, **wrong))
    assert answer.status_code == 422
    assert message in text(answer)
    assert "<details" in text(answer)
    assert bench.axis.corrections == 0


def test_a_correction_beyond_the_limit_is_refused_naming_it(as_odo, at, bench):
    bench.opened().readings(*TOO_LONG)
    answer = post(as_odo, at("correction/"), **change(bench, new="40"))
    assert answer.status_code == 409
    assert "40 mm is beyond the limits of the offset of Length, short system: -25 to 25 mm." in text(answer)
    assert 'value="40"' in text(answer)


def test_an_override_without_a_reason_is_refused_and_with_one_is_taken(as_odo, at, bench):
    bench.opened().readings(*RIGHT)
    answer = post(as_odo, at("correction/"), **change(bench))
    assert answer.status_code == 409
    assert "The readings say LEAVE" in text(answer)
    assert post(as_odo, at("correction/"), **change(bench, reason="tighter")).url == at()
    assert "Against the readings: tighter" in text(as_odo.get(at()))


def test_the_limits_stand_beside_the_parameter(as_odo, at, bench):
    bench.opened().readings(*TOO_LONG)
    page = text(as_odo.get(at()))
    assert "offset, -25 to 25 mm" in page
    assert "scale, 0.98 to 1.02" in page


def test_worse_than_found_suggests_going_back(as_odo, at, bench):
    bench.opened().readings(*TOO_LONG).change("12.5 mm", "16 mm").readings("1205 mm", "1205.1 mm").judge()
    page = text(as_odo.get(at()))
    assert "It is worse than it was found" in page
    assert "set the offset from 16 mm back to 12.5 mm, or load the saved settings" in page


# ── judging, ending, closing ────────────────────────────────────────────────────────────────────────────


def test_a_result_is_judged_and_the_axis_closed(as_odo, at, bench):
    bench.opened().readings(*TOO_LONG).change()
    answer = post(as_odo, at("judge/"), **about(bench))
    assert answer.status_code == 409
    assert "0 fresh pieces were read since the correction" in text(answer)
    bench.readings(*RIGHT)
    assert "Judge the fresh pieces" in text(as_odo.get(at()))
    assert post(as_odo, at("judge/"), **about(bench)).url == at()
    assert "Close the axis" in text(as_odo.get(at()))
    assert post(as_odo, at("axis/end/"), **about(bench, how="close")).url == at()
    assert "Open an axis" in text(as_odo.get(at()))


def test_an_axis_with_a_correction_unchecked_does_not_end(as_odo, at, bench):
    bench.opened().readings(*TOO_LONG).change()
    for how in ("close", "abandon"):
        answer = post(as_odo, at("axis/end/"), **about(bench, how=how))
        assert answer.status_code == 409
        assert "has no as-left check" in text(answer)


def test_the_job_closes_with_a_new_copy(as_odo, at, bench):
    bench.opened().readings(*RIGHT).end_axis()
    before = bench.job.settings_before
    answer = post(as_odo, at("close/"), job=1, settings_after="")
    assert answer.status_code == 422
    assert "Say where the copy is, or attach the file." in text(answer)
    answer = post(as_odo, at("close/"), job=1, settings_after=before)
    assert answer.status_code == 409
    assert "no save overwrites another" in text(answer)
    answer = post(as_odo, at("close/"), job=1, settings_after="cell-2.bak")
    assert answer.url == f"/permits/{bench.permit}/"
    assert bench.job.settings_after == "cell-2.bak"


def test_a_closed_job_is_shown_and_nothing_is_asked(as_odo, at, bench):
    bench.opened().readings(*RIGHT).end_axis().close_job()
    page = text(as_odo.get(at()))
    assert "Calibration job, closed" in page
    assert "Length, short system, closed" in page
    assert "cell-2026-11-25-after.bak" in page
    assert 'action="/permits' not in page


def test_a_job_with_an_open_axis_does_not_close(as_odo, at, bench):
    bench.opened()
    answer = post(as_odo, at("close/"), job=1, settings_after="cell-2.bak")
    assert answer.status_code == 409
    assert "still open" in text(answer)


# ── repeats, who, where ─────────────────────────────────────────────────────────────────────────────────


def test_a_form_sent_twice_counts_once_even_when_its_page_is_gone(as_odo, at, bench, quillfen):
    """On a poor network the phone sends again: the answer is where it would have led, never an error."""
    bench.opened().readings(*RIGHT)
    for path, fields, leads in (
        ("piece/", about(bench, nominal="1200", measured="1200"), at()),
        ("axis/end/", about(bench, how="close"), at()),
        ("close/", {"job": 1, "settings_after": "cell-2.bak"}, f"/permits/{bench.permit}/"),
    ):
        again = fields | {"key": str(uuid4())}
        assert post(as_odo, at(path), **again).url == leads
        n = written(quillfen)
        assert post(as_odo, at(path), **again).url == leads
        assert written(quillfen) == n


def test_a_reading_corrected_on_its_old_page_is_neither_lost_nor_taken_for_recorded(
    as_odo, at, bench, quillfen
):
    bench.opened()
    typed = about(bench, nominal="1200", measured="1202") | {"key": str(uuid4())}
    assert post(as_odo, at("piece/"), **typed).url == at()
    n = written(quillfen)
    answer = post(as_odo, at("piece/"), **typed | {"measured": "1201.5"})
    assert answer.status_code == 409
    assert "This page was sent already at " in text(answer)
    assert written(quillfen) == n
    form = answer.context["forms"]["piece"]
    assert form["measured"].value() == "1201.5"
    assert form["key"].value() != typed["key"]
    again = typed | {"measured": "1201.5", "key": form["key"].value()}
    assert post(as_odo, at("piece/"), **again).url == at()
    assert written(quillfen) > n


def test_two_readings_under_one_key_at_once_are_told_apart_by_the_pen(
    as_odo, at, bench, quillfen, monkeypatch
):
    """Both were looked at before either was recorded."""
    bench.opened()
    typed = about(bench, nominal="1200", measured="1202") | {"key": str(uuid4())}
    asked = []

    def not_yet(request):
        asked.append(request)
        return was_done(request) if len(asked) > 1 else False

    post(as_odo, at("piece/"), **typed)
    n = written(quillfen)
    monkeypatch.setattr(answering, "was_done", not_yet)
    answer = post(as_odo, at("piece/"), **typed | {"measured": "1201.5"})
    assert answer.status_code == 409
    assert "This page was sent already at " in text(answer)
    assert answer.context["forms"]["piece"]["key"].value() != typed["key"]
    assert written(quillfen) == n


@pytest.mark.parametrize(
    ("path", "fields"),
    [("axis/end/", {"how": "close"}), ("judge/", {}), ("close/", {"job": 1, "settings_after": "cell-2.bak"})],
)
def test_a_key_of_one_form_makes_no_other_answer_done(as_odo, at, bench, quillfen, path, fields):
    bench.opened().readings(*RIGHT)
    key = str(uuid4())
    assert post(as_odo, at("piece/"), **about(bench, nominal="1200", measured="1200"), key=key).url == at()
    n = written(quillfen)
    answer = post(as_odo, at(path), **about(bench, **fields), key=key)
    assert answer.status_code == 409
    assert "This page was sent already at " in text(answer)
    assert written(quillfen) == n


def test_the_right_role_at_the_wrong_site_finds_nothing(bench, at, fernbrook, odo, signed_in):
    bench.opened()
    MembershipFactory(person=odo, site=fernbrook)
    client = signed_in(odo, fernbrook)
    assert client.get(at()).status_code == 404
    paths = "open pre-check axis/open piece piece/strike correction judge axis/end close"
    for path in (f"{one}/" for one in paths.split()):
        assert post(client, at(path), **about(bench, job=1)).status_code == 404, path


def test_an_axis_of_another_permit_is_not_found(as_odo, at, bench):
    bench.open_job()
    assert post(as_odo, at("piece/"), work=4711, nominal="1200", measured="1200").status_code == 404
    assert post(as_odo, at("piece/"), nominal="1200", measured="1200").status_code == 404


def test_someone_who_does_not_work_under_the_permit_is_refused(bench, at, ruben, signed_in):
    bench.opened()
    answer = post(signed_in(ruben), at("piece/"), **about(bench, nominal="1200", measured="1200"))
    assert answer.status_code == 409


def test_everyone_at_the_site_may_look(bench, at, pia, darya, signed_in):
    bench.opened().readings(*RIGHT)
    for person in (pia, darya):
        assert signed_in(person).get(at()).status_code == 200
    assert "This axis over time" not in text(signed_in(pia).get(at()))
    assert "This axis over time" in text(signed_in(darya).get(at()))


def test_before_a_job_was_opened_there_is_no_page(as_odo, at, bench):
    assert as_odo.get(at()).status_code == 404


def test_the_page_costs_the_same_with_many_pieces(as_odo, at, bench, django_assert_max_num_queries):
    bench.opened().readings(*RIGHT * 5)
    with django_assert_max_num_queries(60):
        as_odo.get(at())
