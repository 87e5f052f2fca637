"""A machine closed as not proven comes back by what is found in tolerance, and by nothing less."""

import copy
from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils.timezone import now

from permits.calibration import actions
from permits.calibration.store import known
from permits.ledger.models import Entry
from permits.ledger.verify import verify
from permits.records.replay import replay
from permits.work.models import OutOfUse
from permits.work.rules import commands as c
from permits.work.rules.refusal import Refused
from tests.calibration import ground
from tests.calibration.ground import RIGHT, TOO_LONG, axis, entries, instrument, officer, post, written
from tests.records import job as jobs
from tests.work.reading_pages import text_of

pytestmark = pytest.mark.django_db

OUT = "C1 is out of use since P-1 was closed not proven: length-1."
OWES = "Length, short system owes its as-left check since P-1 was closed not proven."
OWED = "Its as-left check is owed since P-1 was closed not proven."
DOUBTFUL = ("1200.4 mm", "1200.6 mm")
SCATTERED = ("1200.6 mm", "1199.4 mm") * 9


@pytest.fixture(scope="module")
def left_once(made_once, django_db_blocker):
    """P-1 corrected the length and was closed without its check; P-2 is under power, its job not yet open."""
    with django_db_blocker.unblock():
        first = copy.copy(made_once)
        first.opened().readings(*TOO_LONG).change()
        jobs.restored(first).do(c.CloseOutOfUse, "maud", why="No blade to cut a fresh piece")
        second = ground.Bench(first.site, first.at(first.minute + 1))
        jobs.checked(second).sanction(hours=4).begin().free().clear().ready()
        assert second.at() < now()  # a page can be sent after it
        yield second


@pytest.fixture
def left(quillfen, left_once):
    found = copy.copy(left_once)
    found.site = quillfen
    return found


@pytest.fixture
def at(left):
    return lambda more="": f"/permits/{left.permit}/job/{more}"


def is_out() -> bool:
    return OutOfUse.objects.filter(machine="C1").exists()


def back(job):
    """The job is closed and power is back: only the signatures are missing. No page can be sent after."""
    job.minute = max(job.minute, (now() - job.start) / timedelta(minutes=1))
    return jobs.restored(job.close_job())


def sent(client, at, job, **fields):
    """Close the open axis by the form of its page, or abandon it."""
    return post(client, at("axis/end/"), **{"work": job.axis.pk, "how": "close"} | fields)


def test_an_axis_left_open_by_a_permit_that_is_over_binds_nothing_and_asks_nothing(left, as_odo, quillfen):
    """P-1 ended with its axis open, for ever: nobody can close it, so nobody is asked to."""
    assert known(axis("length-1")).open_in == ""
    tape = instrument("ST-03")
    actions.remove_instrument(instrument=tape, who=officer(quillfen))
    assert entries(quillfen, "INSTRUMENT_REMOVED")
    page = text_of(as_odo.get("/permits/P-1/job/"))
    assert "Length, short system" in page
    assert OWED not in page
    assert "open it again" not in page


# ── through the pages ───────────────────────────────────────────────────────────────────────────────────


def test_opening_the_job_begins_with_the_axis_that_owes_its_check(as_odo, at, left):
    page = as_odo.get(at("open/"))
    assert OWES in text_of(page)
    chosen = {name: page.context["form"][name].value() for name in ("machine", "axis", "instrument")}
    assert chosen == {
        "machine": "C1", "axis": ground.axis("length-1").pk, "instrument": ground.instrument("ST-03").pk,
    }  # fmt: skip


def test_the_machine_comes_back_without_a_correction(as_odo, at, left, quillfen):
    job = {"machine": "C1", "settings_before": "cell-2.bak", "reference_board": "RB", "test_piece": "1200 mm"}
    assert post(as_odo, at("open/"), **job).url == at()
    page = text_of(as_odo.get(at()))
    assert f"{OWES} What is found in tolerance by the guard band is proven by closing it as it is." in page
    form = as_odo.get(at()).context["forms"]["open_axis"]
    assert form.initial["axis"] == axis("length-1").pk  # chosen already

    opening = {"job": 1, "axis": axis("length-1").pk, "instrument": instrument("ST-03").pk}
    assert post(as_odo, at("axis/open/"), **opening).url == at()
    assert f"{OWED} Found in tolerance by the guard band, closing it" in text_of(as_odo.get(at()))

    pieces = {"work": left.axis.pk, "nominal": "1200", "measured": "1200"}
    pieces |= {"measured-2": "1200.1", "measured-3": "1199.9", "measured-4": "1200"}
    assert post(as_odo, at("piece/"), **pieces).url == at()
    page = text_of(as_odo.get(at()))
    assert f"Leave it as it is: that proves it {OWED} These pieces prove it as it is: close the axis." in page
    assert "Close this axis: it is proven" in page
    assert is_out()  # nothing is proven before it is closed

    first, twice = written(quillfen), {"key": str(uuid4())}
    for _ in range(2):  # sent again it is the same one
        assert sent(as_odo, at, left, **twice).url == at()
    found = Entry.objects.filter(head=quillfen.head_id, number__gt=first).order_by("number")
    assert [one.kind for one in found] == ["AXIS_PROVEN", "RESULT_JUDGED", "AXIS_ENDED"]
    assert not is_out()
    page = text_of(as_odo.get(at()))
    assert "Length, short system is proven as it was found." in page
    assert "as found, proven so" in page
    assert OWES not in page


def proven(left):
    return left.opened().readings(*RIGHT).end_axis()


def test_what_the_entries_say_of_it(left, quillfen):
    proven(left)
    assert [one["owed"] for one in entries(quillfen, "AXIS_OPENED")] == ["", "P-1"]
    [judged] = entries(quillfen, "RESULT_JUDGED")
    assert (judged["pieces"], judged["decision"], judged["owed"]) == (4, "leave", "P-1")
    assert judged["worse"] is False
    ended = entries(quillfen, "AXIS_ENDED")[-1]
    assert (ended["stage"], ended["corrections"], ended["decision"]) == ("as found", 0, "leave")
    row = left.axis
    assert (row.owed_at_opening, row.proven_as_found, row.corrections) == ("P-1", True, 0)
    done = replay(quillfen)
    assert done.differences == []
    quillfen.head.refresh_from_db()
    assert verify(quillfen.head).ok


def pages_of_machine(client):
    addresses = [
        reverse("work:board"), reverse("plant:machines"), reverse("plant:machine", args=["C1"]),
        reverse("work:ask-for-permit", args=["C1"]),
    ]  # fmt: skip
    return [text_of(client.get(address)) for address in addresses]


def test_every_page_says_so_until_it_is_proven_and_is_in_service_when_the_permit_ends(as_odo, left, quillfen):
    assert all(OUT in page for page in pages_of_machine(as_odo)[1:])
    proven(left)
    assert not any("out of use since" in page for page in pages_of_machine(as_odo))
    assert any("C1 is not in service" in page for page in pages_of_machine(as_odo))  # P-2 is at work
    back(left).close()
    assert left.row.in_service
    for page in pages_of_machine(as_odo):
        assert "out of use since" not in page
        assert "C1 is not in service" not in page
    assert replay(quillfen).differences == []


def test_its_story_tells_it(left, darya, signed_in):
    proven(left)
    page = text_of(signed_in(darya).get(reverse("records:story", args=[left.permit])))
    for words in (
        "Its as-left check is owed since P-1 was closed not proven",
        "is left as it was found, on 4 pieces: leave",
        "This is the as-left check owed since P-1 was closed not proven",
        "as-left check owed since P-1, as found",
    ):
        assert words in page


# ── what does not lift it ───────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("pieces", "words"),
    [
        (DOUBTFUL, "These pieces cannot tell, so they prove nothing yet."),
        (SCATTERED, "Single pieces scatter beyond the tolerance, which proves nothing."),
        (TOO_LONG, "It is out of tolerance: correct it, then judge fresh pieces."),
        (RIGHT[:1], "Found in tolerance by the guard band, closing it as it is proves it."),
    ],
    ids=["measure again", "scatter", "adjust", "one piece"],
)
def test_what_is_not_plainly_in_tolerance_proves_nothing(as_odo, at, left, quillfen, pieces, words):
    left.opened().readings(*pieces)
    page = text_of(as_odo.get(at()))
    assert OWED in page
    assert words in page
    assert "it is proven" not in page
    assert sent(as_odo, at, left).url == at()
    assert "Length, short system still owes its as-left check, since P-1." in text_of(as_odo.get(at()))
    assert is_out()
    assert not entries(quillfen, "AXIS_PROVEN")
    assert not entries(quillfen, "RESULT_JUDGED")
    assert not left.axis.proven_as_found
    back(left)
    assert not left.row.in_service
    with pytest.raises(Refused) as no:
        left.close()
    assert no.value.codes == {"out-of-use"}
    [unmet] = no.value.unmet
    assert unmet.what == OUT
    assert "In tolerance, it is closed as it is, and proven" in unmet.who


def test_pieces_that_are_right_prove_nothing_where_the_axis_is_given_up(as_odo, at, left):
    left.opened().readings(*RIGHT)
    assert sent(as_odo, at, left, how="abandon").url == at()
    assert is_out()
    assert not left.axis.proven_as_found


def test_another_axis_does_not_prove_it(as_odo, at, left, quillfen):
    left.opened("depth", "ST-09").readings(*["48 in"] * 4, nominal="48 in")
    page = text_of(as_odo.get(at()))
    assert " owes" not in page
    assert "Leave it as it is It is in tolerance." in page
    assert sent(as_odo, at, left).url == at()
    assert is_out()
    assert not entries(quillfen, "AXIS_PROVEN")
    assert OWES in text_of(as_odo.get(at()))


def test_further_pieces_may_settle_what_the_first_did_not(left):
    left.opened().readings("1200.2 mm", "1199.8 mm").readings(*RIGHT * 3).end_axis()
    assert not is_out()


def test_opened_again_only_the_pieces_of_the_second_opening_count(left):
    left.opened().readings(*RIGHT).end_axis(abandon=True)
    left.take_up().readings(RIGHT[0]).end_axis()
    assert is_out()
    left.take_up().readings(*RIGHT).end_axis()
    assert not is_out()


def test_a_correction_is_still_proven_by_its_own_check(left, quillfen):
    left.opened().readings(*TOO_LONG).change()
    assert is_out()
    left.readings(*RIGHT).judge().end_axis()
    assert not is_out()
    assert [one["owed"] for one in entries(quillfen, "RESULT_JUDGED")] == [""]


def test_readings_from_before_it_was_left_unproven_once_more_prove_nothing(left, quillfen):
    """Another permit on the machine is closed as not proven while the axis is open."""
    left.opened().readings(*RIGHT)
    OutOfUse.objects.filter(site=quillfen).update(permit="P-7")
    left.end_axis()
    assert is_out()
