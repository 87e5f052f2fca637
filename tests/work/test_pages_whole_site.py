"""The pages about the whole site: an emergency, paper mode, and what every page says while they last."""

from __future__ import annotations

import json

import pytest

from permits.ledger.models import Entry
from permits.people.rules.roles import Role
from permits.work.rules import commands as c
from tests.cast import PIN
from tests.work.form_rows import ref
from tests.work.forms_moved_on import put_on, told
from tests.work.forms_otherwise import by_the_clock
from tests.work.reading_pages import filled, page_of, send, text_of

SITE = "/whole-site/"
ALL_OUT = {"all_inside_signed_on": "on"}  # asked where paper mode ends


@pytest.fixture
def maud(works, phone):
    return phone("maud")


def declare(client, why: str = "fire in hall 2"):
    return client.post(f"{SITE}declare-emergency/", filled(client, SITE, why=why))


def declare_paper(client, job, *, minutes_ago: int = 60):
    since = by_the_clock(job, minutes_ago=minutes_ago)
    return send(client, f"{SITE}declare-paper/", since=since, why="no power at the server")


def of_the_site(job) -> list[Entry]:
    return [entry for entry in job.entries() if entry.about == "site"]


# ── emergency ───────────────────────────────────────────────────────────────────────────────────────────


def test_one_press_without_a_reason_stops_every_permit(job, maud):
    job.to("signed_on")
    answer = declare(maud, why="")
    assert (answer.status_code, answer.url) == (302, SITE)
    assert "The emergency is declared. Every open permit is stopped." in text_of(maud.get(SITE))
    stopped = {entry.about for entry in job.entries() if entry.kind == "WORK_STOPPED"}
    assert stopped == {"permit:P-1", f"permit:{job.id}"}
    row = next(row for row in maud.get("/board/").context["rows"] if row.id == job.id)
    assert (row.state, row.word) == ("unsafe", "Come out: stopped in an emergency")


@pytest.mark.parametrize("path", ["/", "/board/", "/find/", "/me/", "/permits/P-1/", "/permits/P-1/stop/"])
def test_every_page_says_that_there_is_an_emergency(job, maud, phone, path):
    calm = phone("pia").get(path).content.decode()
    assert "EMERGENCY" not in calm
    declare(maud)
    page = phone("pia").get(path).content.decode()
    assert '<p class="declared" data-state="unsafe" role="alert"><b>EMERGENCY</b> since ' in page
    assert "fire in hall 2. Come out, stay out." in page


def test_another_site_has_no_part_in_it(job, maud, elsewhere):
    declare(maud)
    assert "EMERGENCY" not in text_of(elsewhere(Role.AUDITOR).get("/board/"))


def test_a_long_reason_leaves_room_for_the_page(job, maud):
    declare(maud, why="smoke and " * 45)
    head = maud.get("/").content.decode().partition('<p class="declared"')[2].partition("</p>")[0]
    assert "…" in head
    assert len(head) < 260


def test_an_emergency_is_declared_once(job, maud):
    typed = filled(maud, SITE, why="fire")
    assert maud.post(f"{SITE}declare-emergency/", typed).status_code == 302
    before = len(job.entries())
    again = maud.post(f"{SITE}declare-emergency/", typed)
    assert (again.status_code, again.url) == (302, SITE)
    assert len(job.entries()) == before
    answer = send(maud, f"{SITE}declare-emergency/")
    assert answer.status_code == 409
    assert "An emergency is declared since" in text_of(answer)


def test_the_permit_leads_the_officer_to_its_end_and_each_stop_stays(job, maud):
    job.to("told")
    declare(maud)
    assert maud.get(job.url).context["step"].url == f"{SITE}end-emergency/"
    answer = send(maud, f"{SITE}end-emergency/", how="put out", pin=PIN["maud"])
    assert (answer.status_code, answer.url) == (302, SITE)
    page = text_of(maud.get(SITE))
    assert "The emergency has ended." in page
    assert "Stopped by a site emergency, declared by Maud Ferrisdale" in page
    assert maud.get(job.url).context["step"].url == f"{job.url}lift/"


@pytest.mark.parametrize(
    ("page", "typed", "field", "said"),
    [
        ("end-emergency", {"how": ""}, "how", "Nothing is written; a few words would be right."),
        ("end-emergency", {"how": "out", "pin": ""}, "pin", "The PIN is missing"),
        ("end-emergency", {"how": "out", "pin": "000000"}, "pin", "This is not the PIN of Maud Ferrisdale"),
        ("declare-emergency", {"why": "x" * 501}, "why", "501 characters are too many; 500 at most"),
        ("declare-paper", {"since": "", "why": "no power"}, "since", "The time is missing"),
        ("declare-paper", {"since": "soon", "why": "no power"}, "since", "Not a time; a day and a time"),
        ("declare-paper", {"why": ""}, "why", "Nothing is written; a few words would be right."),
        ("end-paper", {"how": ""}, "how", "Nothing is written; a few words would be right."),
        ("end-paper", {"how": "all", "pin": "000000"}, "pin", "This is not the PIN of Maud Ferrisdale"),
        ("tell-returned", {"how": ""}, "how", "Nothing is written; a few words would be right."),
    ],
)
def test_bad_input_says_what_would_be_right_and_changes_nothing(job, maud, page, typed, field, said):
    before = len(of_the_site(job))
    signed = {"pin": PIN["maud"]} if page.startswith("end-") else {}
    answer = send(maud, f"{SITE}{page}/", **signed | typed)
    assert answer.status_code == 422
    assert answer.context["form"].errors[field][0].startswith(said)
    shown = page_of(answer).posts
    assert all(shown[name] == [value] for name, value in typed.items() if name != "pin")
    assert len(of_the_site(job)) == before


@pytest.mark.parametrize(
    ("page", "typed", "said"),
    [
        ("end-emergency", {"how": "put out", "pin": PIN["maud"]}, "No emergency is declared."),
        ("end-paper", {"how": "all entered", "pin": PIN["maud"]}, "Paper mode is not declared."),
        ("tell-returned", {"how": "at the gate"}, "Nothing is to be told to nobody yet."),
        ("declare-paper", {"since": "2099-01-01T10:00", "why": "no power"}, "begin in the future"),
    ],
)
def test_what_cannot_be_is_refused_with_what_would_be_right(job, maud, page, typed, said):
    before = len(job.entries())
    answer = send(maud, f"{SITE}{page}/", **typed)
    assert answer.status_code == 409
    assert said in text_of(answer)
    assert len(job.entries()) == before


# ── paper mode ──────────────────────────────────────────────────────────────────────────────────────────


def test_paper_mode_is_said_on_every_page_until_it_ends(job, maud, phone):
    job.to("told")
    assert declare_paper(maud, job).status_code == 302
    said = '<p class="declared" data-state="unproven"><b>ON PAPER</b> since '
    for path in ("/", "/board/", job.url):
        assert said in phone("odo").get(path).content.decode()
    answer = send(maud, f"{SITE}end-paper/", how="forms 7 to 9, at the gate", **ALL_OUT, pin=PIN["maud"])
    assert answer.status_code == 302
    assert said not in phone("odo").get("/").content.decode()


def test_who_ends_paper_mode_may_be_another_on_the_same_phone(job, maud, person):
    declare_paper(maud, job)
    signed = {"sign_in": "torvald", "pin": PIN["torvald"]}
    assert send(maud, f"{SITE}end-paper/", how="all entered", **ALL_OUT, **signed).status_code == 302
    assert f"Written for {person('torvald').name}." in text_of(maud.get(SITE))
    entry = of_the_site(job)[-1]
    assert (entry.kind, entry.by) == ("PAPER_ENDED", person("torvald").about)
    assert json.loads(entry.body)["device"] == person("maud").about


# ── what happened since a page was shown ────────────────────────────────────────────────────────────────


def missed_one(job, torvald, page):
    """The emergency or the paper mode that the page showed was ended, and another one declared."""
    send(torvald, f"{SITE}end-{page}/", how="over", **ALL_OUT, pin=PIN["torvald"])
    if page == "emergency":
        declare(torvald, why="gas in hall 3")
    else:
        declare_paper(torvald, job, minutes_ago=20)


@pytest.mark.parametrize(
    ("page", "says"),
    [("emergency", "An emergency was declared by Torvald"), ("paper", "paper mode was declared by Torvald")],
)
def test_another_one_than_the_page_showed_is_not_ended_unseen(job, maud, phone, page, says):
    job.to("told")
    declare(maud) if page == "emergency" else declare_paper(maud, job)
    url = f"{SITE}end-{page}/"
    typed = filled(maud, url, how="put out", **ALL_OUT, pin=PIN["maud"])
    missed_one(job, phone("torvald"), page)
    before = len(job.entries())
    answer = maud.post(url, typed)
    assert answer.status_code == 409
    shown = page_of(answer)
    assert "The site has moved on since this page was shown." in shown.text
    assert says.lower() in shown.text.lower()
    assert shown.posts["how"] == ["put out"]
    assert len(job.entries()) == before
    assert maud.post(url, shown.posts | {"pin": PIN["maud"]}).status_code == 302


def test_paper_mode_is_not_declared_over_anothers(job, maud, phone):
    url = f"{SITE}declare-paper/"
    since = by_the_clock(job, minutes_ago=60)
    typed = filled(maud, url, since=since, why="no power at the server")
    declare_paper(phone("torvald"), job)
    answer = maud.post(url, typed)
    assert answer.status_code == 409
    assert answer.context["refusal"].codes == {"page-stale", "paper-already"}
    assert "Paper mode was declared by Torvald" in text_of(answer)
    again = maud.post(url, page_of(answer).posts)
    assert again.context["refusal"].codes == {"paper-already"}


@pytest.mark.parametrize("page", ["emergency", "paper"])
def test_what_happens_under_a_permit_does_not_concern_the_site(job, maud, page):
    job.to("accepted")
    declare(maud) if page == "emergency" else declare_paper(maud, job)
    typed = filled(maud, f"{SITE}end-{page}/", how="over", **ALL_OUT, pin=PIN["maud"])
    told(job)
    assert maud.post(f"{SITE}end-{page}/", typed).status_code == 302


def test_an_emergency_is_declared_from_the_oldest_page(job, maud, phone):
    typed = filled(maud, SITE, why="smoke in hall 2")
    torvald = phone("torvald")
    declare(torvald)
    send(torvald, f"{SITE}end-emergency/", how="a false alarm", pin=PIN["torvald"])
    assert maud.post(f"{SITE}declare-emergency/", typed | {"seen": ""}).status_code == 302


def taken_off(job, owner="odo", where="box"):
    fields = {"searched": "every zone"} if where == "box" else {"where": where}
    job.do(
        c.TakeOffForAbsent, "maud", owner=ref(owner), second=ref("torvald"), not_on_site="gate list",
        tried="telephone", **fields,
    )  # fmt: skip


def test_who_was_told_meanwhile_or_lost_another_lock_is_told_of_that_too(job, maud):
    job.to("told")
    put_on(job, "wim", "C1-QB1", "W-1")
    job.to("signed_on")
    taken_off(job)
    url = f"{SITE}tell-returned/"
    typed = filled(maud, url, how="at the gate", who=ref("odo"))
    taken_off(job, where="C1-QB1")
    answer = maud.post(url, typed)
    assert answer.status_code == 409
    assert "Odo Kestrelman's lock on" in text_of(answer)
    typed = page_of(answer).posts
    assert typed["how"] == ["at the gate"]
    job.do(c.TellReturned, "szczesny", person=ref("odo"), how="by telephone")
    answer = maud.post(url, typed)
    assert " told Odo Kestrelman that their lock was taken off" in text_of(answer)


def test_who_is_told_is_not_held_up_by_what_another_lost(job, maud):
    job.to("told")
    put_on(job, "wim", "C1-QB1", "W-1")
    job.to("signed_on")
    taken_off(job)
    typed = filled(maud, f"{SITE}tell-returned/", how="at the gate", who=ref("odo"))
    taken_off(job, "wim", "C1-QB1")
    assert maud.post(f"{SITE}tell-returned/", typed).status_code == 302


# ── the page itself ─────────────────────────────────────────────────────────────────────────────────────


def test_an_issuer_looks_on_and_declares_nothing(job, phone):
    page = text_of(phone("szczesny").get(SITE))
    assert "None is declared." in page
    assert "STOP every permit now" not in page
    assert "Declare paper mode" not in page


def test_the_page_lists_what_is_held_up(job, maud):
    from tests.work.forms_otherwise import stopped

    assert "No permit is held up." in text_of(maud.get(SITE))
    job.to("told")
    stopped(job)
    assert f"{job.id} Stopped by Pía Lindqvall at" in text_of(maud.get(SITE))
