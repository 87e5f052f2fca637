"""A page sent again: the same request counts once; anything else under its key is told that it was not done.

And a stop is answered as stopped only while it is.
"""

from __future__ import annotations

from datetime import datetime
from uuid import uuid4

import pytest
from django.utils.timezone import now

from permits.ledger.models import Receipt
from permits.work.rules import commands as c
from tests.cast import PIN
from tests.work.every_form import token
from tests.work.reading_pages import filled, page_of, text_of

NOT_TAKEN = "and what it did then is recorded; what you changed since is not."
LOOK = "Look at what is recorded, then send it again."


def not_taken(answer, client, url) -> dict:
    """The page says so, keeps what was typed and has a fresh key: what it would post now."""
    assert answer.status_code == 409, text_of(answer)
    page = page_of(answer)
    assert NOT_TAKEN in page.text
    assert LOOK in page.text
    assert "Nothing was changed." in page.text
    return page.posts


def stops_of(job) -> list[str]:
    return [entry.kind for entry in job.entries() if entry.kind in ("WORK_STOPPED", "HALT_LIFTED")]


def lifted(job) -> None:
    job.do(c.LiftHalt, "maud", minutes=0, how="a rag, taken out")


@pytest.fixture
def odo(works, phone):
    return phone("odo")


# ── a stop ──────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("why", ["smoke", ""])
def test_a_stop_that_was_lifted_is_a_new_stop_when_its_old_page_is_sent_again(job, odo, why):
    job.to("proven")
    typed = filled(odo, f"{job.url}stop/", why=why)
    assert odo.post(f"{job.url}stop/", typed).status_code == 302
    lifted(job)
    again = odo.post(f"{job.url}stop/", typed)
    assert (again.status_code, again.url) == (302, job.url)
    assert stops_of(job) == ["WORK_STOPPED", "HALT_LIFTED", "WORK_STOPPED"]
    assert job.look().permit.halted
    odo.post(f"{job.url}stop/", typed)  # the network sends that one again
    assert stops_of(job) == ["WORK_STOPPED", "HALT_LIFTED", "WORK_STOPPED"]


def test_a_stop_that_holds_counts_once_however_often_it_arrives(job, odo):
    job.to("proven")
    typed = filled(odo, f"{job.url}stop/", why="smoke")
    for _ in range(3):
        assert odo.post(f"{job.url}stop/", typed).url == job.url
        assert "Stopped." in text_of(odo.get(job.url))
    assert stops_of(job) == ["WORK_STOPPED"]


def test_a_stop_is_recorded_beside_anothers_and_with_its_own_reason(job, odo, phone):
    job.to("proven")
    typed = filled(odo, f"{job.url}stop/", why="smoke")
    odo.post(f"{job.url}stop/", typed)
    odo.post(f"{job.url}stop/", typed | {"why": "smoke, and someone is in there"})
    phone("wim").post(f"{job.url}stop/", typed)
    assert [halt.why for halt in job.look().permit.halted] == [
        "smoke", "smoke, and someone is in there", "smoke",
    ]  # fmt: skip
    assert len({halt.by for halt in job.look().permit.halted}) == 2


def test_no_other_forms_key_keeps_a_stop_from_stopping(job, odo):
    job.to("told")
    tell = filled(odo, f"{job.url}tell/", whom="operators", how="by radio")
    odo.post(f"{job.url}tell/", tell)
    stop = filled(odo, f"{job.url}stop/", why="smoke") | {"key": tell["key"]}
    assert odo.post(f"{job.url}stop/", stop).status_code == 302
    assert job.look().permit.halted


def test_a_suspension_that_was_lifted_is_a_new_one(job, odo):
    job.to("proven")
    typed = filled(odo, f"{job.url}suspend/", why="lunch")
    for _ in range(2):
        odo.post(f"{job.url}suspend/", typed)
    assert len(job.look().permit.halted) == 1
    lifted(job)
    assert odo.post(f"{job.url}suspend/", typed).status_code == 302
    assert len(job.look().permit.halted) == 1


def test_an_emergency_that_was_ended_is_declared_anew_from_its_old_page(job, phone):
    job.to("told")
    maud = phone("maud")
    typed = filled(maud, "/whole-site/declare-emergency/", why="fire")
    url = "/whole-site/declare-emergency/"
    for _ in range(2):
        assert maud.post(url, typed).status_code == 302
    end = filled(maud, "/whole-site/end-emergency/", how="out", pin=PIN["maud"])
    assert maud.post("/whole-site/end-emergency/", end).status_code == 302
    assert job.look().site.emergency is None
    assert maud.post(url, typed).status_code == 302
    assert job.look().site.emergency is not None
    other = maud.post(url, typed | {"why": "flood"})
    assert other.context["refusal"].codes == {"emergency-already"}


# ── everything else ─────────────────────────────────────────────────────────────────────────────────────


def test_a_reading_corrected_on_the_old_page_is_not_lost_and_not_taken_for_recorded(job, odo):
    job.to("released")
    url = f"{job.url}verify/C1/"
    zeros = {name: "0" for name in page_of(odo.get(url)).posts if name.startswith("r_")}
    typed = filled(odo, url, instrument="VT-07", proven_before="on", proven_after="on", **zeros)
    assert odo.post(url, typed).status_code == 302
    wrong, before = next(iter(zeros)), len(job.entries())
    fields = not_taken(odo.post(url, typed | {wrong: "231"}), odo, url)
    assert len(job.entries()) == before
    assert fields[wrong] == ["231"]
    assert fields["key"] != typed["key"]
    stale = odo.post(url, fields)  # it is a request of its own now: first it is told what happened since
    assert stale.context["refusal"].codes == {"page-stale"}
    assert odo.post(url, page_of(stale).posts).status_code == 302
    assert any('"value":"231"' in entry.body for entry in job.entries()[before:])


def test_the_message_says_when_by_the_sites_clock(job, odo, works):
    job.to("accepted")
    typed = filled(odo, f"{job.url}tell/", whom="operators", how="by radio")
    odo.post(f"{job.url}tell/", typed)
    [receipt] = Receipt.objects.filter(key=typed["key"][0])
    then = receipt.at.astimezone(works.zone)
    answer = odo.post(f"{job.url}tell/", typed | {"whom": "visitors"})
    assert f"This page was sent already at {then:%H:%M} on {then.day} {then:%B}, and" in text_of(answer)
    assert isinstance(receipt.at, datetime)
    assert len(receipt.content) == 64


def test_a_key_of_one_form_makes_no_other_answer_done(job, odo, phone):
    job.to("accepted")
    tell = filled(odo, f"{job.url}tell/", whom="operators", how="by radio")
    odo.post(f"{job.url}tell/", tell)
    cancel = filled(odo, f"{job.url}cancel/", why="asked in error") | {"key": tell["key"]}
    fields = not_taken(odo.post(f"{job.url}cancel/", cancel), odo, f"{job.url}cancel/")
    assert fields["why"] == ["asked in error"]
    assert odo.post(f"{job.url}cancel/", fields).status_code == 302


def test_another_persons_request_is_no_repeat(job, odo, phone):
    job.to("accepted")
    typed = filled(odo, f"{job.url}tell/", whom="operators", how="by radio")
    odo.post(f"{job.url}tell/", typed)
    before = len(job.entries())
    answer = phone("szczesny").post(f"{job.url}tell/", typed)
    assert answer.status_code in (403, 409)
    assert len(job.entries()) == before


def test_a_repeat_needs_no_second_pin_and_says_that_it_is_one(job, odo):
    job.to("issued")
    url = f"{job.url}accept/"
    knows = {"knows_energies": "on", "knows_hazards": "on", "knows_control": "on"}
    typed = filled(odo, url, pin=PIN["odo"], **knows)
    odo.post(url, typed)
    odo.get(job.url)
    before = len(job.entries())
    again = odo.post(url, typed | {"pin": "", "csrfmiddlewaretoken": "another"})
    assert (again.status_code, again.url) == (302, job.url)
    assert len(job.entries()) == before
    said = text_of(odo.get(job.url))
    assert "Accepted." in said
    assert "This page was sent before, and counts once; below is what holds now." in said


def test_at_a_point_the_padlock_that_was_corrected_is_not_lost(job, odo):
    job.to("told")
    url, point = f"{job.url}lock/", job.planned("lock")[0]
    typed = filled(odo, url, code=token(job, point), padlock="L-9", tag="T-9", position="off")
    assert odo.post(url, typed).status_code == 302
    before = len(job.entries())
    fields = not_taken(odo.post(url, typed | {"padlock": "L-8"}), odo, url)
    assert (fields["padlock"], fields["tag"]) == (["L-8"], ["T-9"])
    assert len(job.entries()) == before


def test_a_request_for_a_permit_that_was_changed_is_not_the_one_that_was_made(odo, works):
    shown = "/permits/new/C1/?show=plan&zones=C1-INFEED&zones=C1-CHAMBER"
    good = {"kind_of_work": "Calibration", "reason": "Boards run long", "starts_in": "0", "hours": "8"}
    typed = filled(odo, shown, **good)
    first = odo.post("/permits/new/C1/", typed)
    assert odo.post("/permits/new/C1/", typed).url == first.url
    fields = not_taken(odo.post("/permits/new/C1/", typed | {"hours": "4"}), odo, shown)
    assert fields["hours"] == ["4"]
    assert fields["zones"] == ["C1-INFEED", "C1-CHAMBER"]
    second = odo.post("/permits/new/C1/", fields)
    assert second.status_code == 302
    assert second.url != first.url


def test_numbers_of_the_site_that_were_changed_on_the_old_page_are_not_lost(works, phone):
    maud, url = phone("maud"), "/policy/change/"
    page = maud.get(url)
    typed = {name: page.context["form"][name].value() for name in page.context["form"].fields}
    typed = {name: str(value) for name, value in typed.items() if value is not False}
    typed |= {"clear_minutes": "8"}
    assert maud.post(url, typed).status_code == 302
    assert maud.post(url, typed).status_code == 302
    answer = maud.post(url, typed | {"clear_minutes": "7"})
    assert answer.status_code == 409
    assert NOT_TAKEN in text_of(answer)
    form = answer.context["form"]
    assert form["clear_minutes"].value() == "7"
    assert form["key"].value() != typed["key"]
    again = typed | {name: form[name].value() for name in ("key", "shown", "clear_minutes")}
    assert maud.post(url, again).status_code == 302


def test_a_page_for_the_whole_site_is_no_exception(job, phone):
    job.to("told")
    maud, url = phone("maud"), "/whole-site/declare-paper/"
    since = now().astimezone(job.site.zone).strftime("%Y-%m-%dT%H:%M")
    typed = filled(maud, url, since=since, why="no power")
    assert maud.post(url, typed).status_code == 302
    fields = not_taken(maud.post(url, typed | {"why": "no network"}), maud, url)
    assert fields["why"] == ["no network"]


def test_the_same_key_and_content_under_way_at_once_is_told_apart_by_the_pen(job, odo, monkeypatch):
    """Both were looked at before either was carried out: the pen has the last word."""
    from permits.work.views import answering

    job.to("accepted")
    typed = filled(odo, f"{job.url}tell/", whom="operators", how="by radio")
    odo.post(f"{job.url}tell/", typed)
    monkeypatch.setattr(answering, "was_done", lambda request: False)
    before = len(job.entries())
    not_taken(odo.post(f"{job.url}tell/", typed | {"whom": "visitors"}), odo, job.url)
    assert odo.post(f"{job.url}tell/", typed).status_code == 302
    assert len(job.entries()) == before


def test_a_missing_key_is_no_repeat(job, odo):
    job.to("accepted")
    typed = filled(odo, f"{job.url}tell/", whom="operators", how="by radio")
    for key in ("", "damaged", str(uuid4())[:31]):
        assert odo.post(f"{job.url}tell/", typed | {"key": key}).status_code == 422
