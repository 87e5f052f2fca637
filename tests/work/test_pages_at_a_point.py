"""A point's page names the one next thing for whoever stands there, and how the point stands for anybody."""

import pytest
from django.utils.timezone import now

from permits.plant.models import Tag
from permits.work.rules import commands as c
from permits.work.rules.words import Position
from tests.work.reading_pages import send, text_of
from tests.work.the_job import TheJob

MAIN, STANDBY, TIE, CONVEYOR = "C1-QB1", "C1-QB2", "C1-QB3", "OUT-QB1"
BUS = "C1-CDC"  # runs down in 300 s
MAIN_SAID = "=L3.C1+H3-QB1 Cell main disconnector"
STANDBY_SAID = "=L3.C1+H4-QB2 Cell standby feed disconnector"


@pytest.fixture
def at(works, phone):
    """at("odo", "C1-QB1"): the point's page as that person's phone shows it after a scan."""

    def scan(sign_in: str, code: str):
        tag = Tag.objects.get(site=works, node__code=code, withdrawn_at=None)
        return phone(sign_in).get(f"/T/{tag.token}")

    return scan


def step(answer) -> tuple[str, str]:
    """(title, address) of the one next thing."""
    found = answer.context["step"]
    assert found.title in text_of(answer)
    return found.title, found.url


def state(answer) -> tuple[str, str]:
    page = answer.context["page"]
    return page.state, page.word


# ── no permit, others' permits ──────────────────────────────────────────────────────────────────────────


def test_where_no_permit_names_it_one_is_asked_for(at):
    answer = at("odo", "P1-QB1")
    assert step(answer) == ("Ask for a permit", "/permits/new/P1/")
    assert "No open permit names this point, and locks go on under a permit." in text_of(answer)
    assert state(answer) == ("live", "Not locked: take it as live")


def test_at_a_point_of_no_machine_the_machine_is_chosen_first(at):
    assert step(at("odo", "B3-QB1"))[1] == "/permits/new/"


def test_an_operator_is_told_that_no_permit_names_it(at):
    assert step(at("pia", "P1-QB1")) == ("No open permit names this point", "")


def test_at_a_point_of_others_their_permit_and_what_it_waits_for_are_named(job, at):
    job.to("told")
    answer = at("ruben", MAIN)
    assert step(answer) == ("Odo Kestrelman isolates the machine", "")
    assert f"{job.id} Not proven dead" in text_of(answer)


def test_whoever_can_issue_is_led_to_it_from_the_point(job, at):
    job.to("asked")
    assert step(at("szczesny", MAIN)) == ("Issue the permit", f"{job.url}issue/")


def test_before_anyone_is_told_no_lock_is_offered(job, at):
    job.to("accepted")
    assert step(at("odo", MAIN)) == ("Tell affected people", f"{job.url}tell/")


# ── lock and release in the plan's order ────────────────────────────────────────────────────────────────


def test_the_next_point_of_the_plan_is_locked_by_the_plate_that_was_scanned(job, at):
    job.to("told")
    token = Tag.objects.get(node__code=MAIN, withdrawn_at=None).token
    assert step(at("odo", MAIN)) == (f"Lock {MAIN_SAID}", f"{job.url}lock/?code={token}")


def test_out_of_order_the_point_that_comes_first_is_named_with_its_place(job, at):
    job.to("told")
    answer = at("odo", STANDBY)
    assert step(answer) == (f"First {MAIN_SAID}", "")
    page = text_of(answer)
    assert f"It comes before this one in the plan of {job.id}." in page
    assert "Lock it: Board 3, by column A4, line 3 aisle, panel 2." in page


def test_a_store_waits_for_its_locks(job, at):
    job.to("told")
    assert step(at("odo", BUS)) == (f"First {MAIN_SAID}", "")


def test_a_point_that_is_done_names_the_next_one(job, at):
    job.to("told")
    lock(job, MAIN, "odo", "L-1")
    answer = at("odo", MAIN)
    assert step(answer) == (f"Next is {STANDBY_SAID}", "")
    assert f"This one is done for {job.id}." in text_of(answer)
    assert state(answer) == ("locked", "Locked, not proven dead")
    assert "L-1" in text_of(answer)


def test_crew_may_hang_their_own_lock_beside_anothers(job, at, phone):
    job.to("locked")
    answer = at("wim", MAIN)
    assert [one.title for one in answer.context["more"]] == ["Hang my own lock here too"]
    sent = send(phone("wim"), answer.context["more"][0].url, padlock="W-1", tag="T-90", position="off")
    assert sent.status_code == 302
    assert at("wim", MAIN).context["more"] == []
    assert {k.number for k in at("wim", MAIN).context["page"].locks} == {"O-1", "W-1"}


def test_a_stranger_is_not_offered_a_lock_beside_anothers(job, at):
    job.to("locked")
    assert at("ruben", MAIN).context["more"] == []


# ── running down, to be tested ──────────────────────────────────────────────────────────────────────────


def test_a_store_that_runs_down_says_until_when(job, at):
    job.to("locked")
    job.at = now()
    job.do(c.ReleaseStore, "odo", minutes=0, point=BUS, method="as on its plate", padlock="L-1", tag="T-1")
    answer = at("odo", BUS)
    title, url = step(answer)
    assert (title, url) == ("Next is =L3.C1-CQ1 Saw blade", "")  # the plan goes on meanwhile
    for point in job.planned("release")[1:]:
        job.do(
            c.ReleaseStore, "odo", minutes=0, point=point, method="done", padlock=f"L-{point}", tag="T-2"
        )
    answer = at("odo", BUS)
    assert step(answer) == ("Wait, then test", "")
    assert "a reading before then does not count." in text_of(answer)
    assert "data-countdown-until" in answer.content.decode()
    assert state(answer) == ("locked", "Locked, not proven dead")


def test_a_reading_that_is_due_leads_to_the_machines_page(job, at):
    job.to("released")
    assert step(at("odo", MAIN)) == ("Prove C1 dead", f"{job.url}verify/C1/")


def test_who_is_not_qualified_is_told_who_is(job, at):
    job.to("released")
    answer = at("wim", MAIN)
    assert step(answer) == ("A qualified person tests C1", "")
    assert "Who can: Odo Kestrelman" in text_of(answer)


def test_a_proven_point_says_so_and_leads_on(job, at):
    job.to("proven")
    answer = at("odo", MAIN)
    assert state(answer) == ("dead", "Proven dead")
    assert step(answer) == ("Sign on", f"{job.url}sign-on/")


def test_a_point_that_two_permits_hold_is_proven_only_when_both_have_proven_it(job, at):
    assert state(at("odo", CONVEYOR)) == ("dead", "Proven dead")  # for the permit next door
    job.to("locked")
    answer = at("odo", CONVEYOR)
    assert state(answer) == ("locked", "Locked, not proven dead")
    assert {lock.permit for lock in answer.context["page"].locks} == {"P-1", job.id}


def test_a_failed_test_stands_on_the_point_for_everybody(job, at, phone):
    from tests.work.every_form import readings

    job.to("released")
    send(phone("odo"), f"{job.url}verify/C1/", **readings(job) | {"r_C1-QB1_0": "231"})
    assert state(at("pia", MAIN)) == ("unsafe", "Test failed: not dead")


# ── locks off ───────────────────────────────────────────────────────────────────────────────────────────


def test_after_the_hand_back_ones_own_lock_comes_off(job, at):
    job.to("handed_back")
    assert step(at("odo", MAIN)) == ("Take your lock O-1 off", f"{job.url}remove-locks/")


def test_in_a_test_only_the_sanctioned_points_are_unlocked(job, at):
    job.to("begun")
    assert step(at("odo", MAIN)) == ("Take your lock O-1 off", f"{job.url}remove-locks/")
    answer = at("odo", CONVEYOR)
    assert step(answer) == ("Your lock O-4 stays on", "")
    assert "The sanction does not name this point." in text_of(answer)


def test_anothers_lock_is_not_offered_to_be_taken_off(job, at):
    job.to("told")
    lock(job, MAIN, "wim", "W-1")
    for point in job.planned("lock")[1:]:
        lock(job, point, "odo", f"L-{point}")
    job.stage = "locked"
    job.to("handed_back")
    answer = at("odo", MAIN)
    assert step(answer) == ("No lock of yours hangs here", "")
    assert step(at("wim", MAIN)) == ("Take your lock W-1 off", f"{job.url}remove-locks/")


def test_while_an_area_is_unclear_it_is_confirmed_by_whoever_stands_there(job, at):
    job.to("unlocked")
    assert step(at("pia", TIE)) == ("Confirm the areas clear", f"{job.url}confirm-clear/")


def lock(job: TheJob, point: str, by: str, padlock: str) -> None:
    job.do(c.ApplyLock, by, point=point, padlock=padlock, tag=f"T{padlock}", position=Position.OFF)


def test_a_points_state_stands_once_on_its_page(job, at):
    job.to("told")
    page = text_of(at("odo", MAIN))
    assert page.count("Not locked: take it as live") == 1


def test_under_a_test_permit_point_machine_and_picture_say_the_same_of_a_propped_store(job, phone, at):
    """Tested with nothing upstream, and fed again by what is freed: the prop hangs, the proof does not."""
    job.to("proven")
    gantry = "C1-GANTRY"
    assert word_of(phone("odo").get(job.url), gantry) == "proven dead"
    job.to("live")
    assert word_of(phone("odo").get(job.url), gantry) == "released, but fed again"
    assert text_of(at("odo", gantry)).count("Released, but fed again") == 1
    cell = text_of(phone("odo").get("/machines/C1/"))
    assert "Measuring gantry =L3.C1-UQ1 released, but fed again" in cell
    assert word_of(phone("odo").get(job.url), "C1-QM1") == "proven dead"  # its own feed was there all along


def word_of(answer, point: str) -> str:
    return next(line.word for line in answer.context["page"].points if line.id == point)
