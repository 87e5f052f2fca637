"""Pages that stay live: their version, what it costs to look again, and the reader's messages."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils.timezone import now

from permits.people.rules.roles import Role
from permits.work import queries
from permits.work.actions import perform
from permits.work.models import Message, Permit
from permits.work.rules import commands as c
from permits.work.rules.turning import next_turn
from tests.work.reading_pages import text_of

WHO_ASKS = 3  # the session, the person, their roles


def again(client, address, answer):
    """The same page asked for again by a browser that shows `answer`."""
    return client.get(address, headers={"If-None-Match": answer["ETag"]})


def queries_of(look) -> int:
    with CaptureQueriesContext(connection) as caught:
        look()
    return len(caught)


def many_permits(job, count: int) -> None:
    """Copies of the permit, each with its rows: what a busy site has open."""
    row = job.row
    last = Permit.objects.filter(site=job.site).latest("number").number
    for number in range(last + 1, last + 1 + count):
        copy = Permit.objects.get(pk=row.pk)
        copy.pk, copy.number, copy.reference = None, number, f"P-{number}"
        copy.save(force_insert=True)
        for n, person in enumerate(row.crew_named):
            copy.crew.create(n=n, person=person, padlock=f"C-{number}-{n}", on_at=job.at)


def stop(job, person):
    ask = c.StopWork(permit=job.id, by=person("pia").ref, at=now(), why="smoke")
    perform(site=job.site, command=ask, by=person("pia").author)


# ── the version ─────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("which", ["board", "permit"])
def test_an_unchanged_page_is_not_sent_again(job, phone, which):
    job.to("signed_on")
    odo, address = phone("odo"), "/board/now/" if which == "board" else f"{job.url}now/"
    first = odo.get(address)
    assert first.status_code == 200
    second = again(odo, address, first)
    assert (second.status_code, second.content) == (304, b"")
    assert second["Plant-Clock"]


@pytest.mark.parametrize("which", ["board", "permit"])
def test_whatever_happens_at_the_site_sends_it_again(job, phone, person, which):
    job.to("signed_on")
    odo, address = phone("odo"), "/board/now/" if which == "board" else f"{job.url}now/"
    first = odo.get(address)
    stop(job, person)
    second = again(odo, address, first)
    assert second.status_code == 200
    assert "Come out: stopped" in text_of(second)


def test_time_alone_sends_it_again(job, works):
    """Until the next moment that matters, and never longer than a minute."""
    job.to("cleared")
    entry, site, at = queries.last_entry(works), queries.settled(works, now()), now()
    turn = next_turn(site, at)
    assert turn is not None
    late = turn - timedelta(seconds=5)
    tag = queries.version(works, entry, site, late).tag
    assert queries.still_holds(tag, works, entry, late + timedelta(seconds=1))
    assert not queries.still_holds(tag, works, entry, turn + timedelta(seconds=1))
    tag = queries.version(works, entry, site, at).tag
    assert not queries.still_holds(tag, works, entry, at + timedelta(seconds=61))
    assert not queries.still_holds(tag, works, entry + 1, at)


@pytest.mark.parametrize("shown", ["", "*", '"x"', '"1-2"', 'W/"0-0-0"', '"9999999999999999999999-1-1"'])
def test_a_version_that_makes_no_sense_is_answered_with_the_page(job, phone, shown):
    job.to("told")
    assert phone("odo").get("/board/now/", headers={"If-None-Match": shown}).status_code == 200


def test_a_version_of_another_site_is_none_of_this_one(job, phone, elsewhere):
    job.to("told")
    shown = phone("odo").get("/board/now/")
    assert again(elsewhere(Role.AUDITOR), "/board/now/", shown).status_code == 200


def test_who_is_signed_out_is_not_told_that_nothing_changed(job, phone, client):
    job.to("told")
    shown = phone("odo").get("/board/now/")
    assert again(client, "/board/now/", shown).status_code == 302


# ── what it costs ───────────────────────────────────────────────────────────────────────────────────────


def test_looking_again_costs_one_query_and_the_board_the_same_with_fifty_permits(job, phone):
    job.to("signed_on")
    odo = phone("odo")
    shown = odo.get("/board/now/")
    few = queries_of(lambda: odo.get("/board/now/"))
    many_permits(job, 50)
    assert len(odo.get("/board/now/").context["rows"]) == 52
    assert queries_of(lambda: odo.get("/board/now/")) == few
    assert queries_of(lambda: again(odo, "/board/now/", shown)) == WHO_ASKS + 1


def test_a_permits_page_costs_the_same_with_fifty_permits(job, phone):
    job.to("signed_on")
    odo = phone("odo")
    shown = odo.get(f"{job.url}now/")
    few = queries_of(lambda: odo.get(f"{job.url}now/"))
    many_permits(job, 50)
    assert queries_of(lambda: odo.get(f"{job.url}now/")) == few
    assert queries_of(lambda: again(odo, f"{job.url}now/", shown)) == WHO_ASKS + 1


# ── the pages ───────────────────────────────────────────────────────────────────────────────────────────


def test_the_parts_are_those_of_the_page(job, phone):
    job.to("signed_on")
    odo = phone("odo")
    whole, parts = text_of(odo.get(job.url)), text_of(odo.get(f"{job.url}now/"))
    assert "<html" not in odo.get(f"{job.url}now/").content.decode()
    assert parts
    assert set(parts.split()) <= set(whole.split())


def test_without_scripts_the_board_says_how_old_it_is_and_how_to_load_it(job, phone):
    job.to("told")
    answer = phone("odo").get("/board/")
    assert "As of" in text_of(answer)
    assert '<a href="/board/" data-refresh-by-hand>Load again</a>' in answer.content.decode()


def test_ageing_confirmations_count_down_on_the_board(job, phone):
    job.to("cleared")
    assert 'data-countdown-until="' in phone("odo").get("/board/now/").content.decode()


# ── messages ────────────────────────────────────────────────────────────────────────────────────────────


def test_an_urgent_message_stands_across_every_page_until_it_is_read(job, phone, person):
    job.to("signed_on")
    stop(job, person)
    odo, said = phone("odo"), f"Urgent {job.id} is stopped: smoke. Come out now and sign off."
    for address in ("/", "/board/", job.url, f"{job.url}now/"):
        assert said in text_of(odo.get(address)), address
    assert said not in text_of(phone("pia").get("/"))
    message = Message.objects.get(person=person("odo").ref, kind="WORK_STOPPED")
    answer = odo.post("/messages/read/", {"message": message.pk})
    assert (answer.status_code, answer.url) == (302, "/messages/")
    assert said not in text_of(odo.get("/"))


def test_the_header_counts_what_is_unread(job, phone, person):
    job.to("issued")
    odo = phone("odo")
    Message.objects.exclude(kind="PERMIT_ISSUED").delete()
    assert "1 unread message" in text_of(odo.get("/"))
    odo.post("/messages/read/", {"up_to": Message.objects.latest("pk").pk})
    assert "unread" not in text_of(odo.get("/"))


def test_the_page_of_messages_leads_to_the_permit_and_to_the_answer(job, phone, person):
    job.to("told")
    answer = phone("pia").get("/messages/")
    text, html = text_of(answer), answer.content.decode()
    assert "Do not start it, touch no lock." in text
    assert f'href="{job.url}"' in html
    assert f'href="{job.url}acknowledge/"' in html
    assert person("odo").name in text


def test_nobody_reads_anothers_messages_or_marks_them(job, phone, person):
    job.to("told")
    ours = Message.objects.filter(person=person("pia").ref).latest("pk")
    wim = phone("wim")
    assert ours.text not in text_of(wim.get("/messages/"))
    wim.post("/messages/read/", {"message": ours.pk})
    ours.refresh_from_db()
    assert ours.read_at is None


@pytest.mark.parametrize(
    "posted", [{}, {"message": "x"}, {"message": "-1"}, {"up_to": "x"}, {"message": "9" * 30}]
)
def test_what_makes_no_sense_marks_nothing(job, phone, posted):
    job.to("issued")
    unread = Message.objects.filter(read_at=None).count()
    assert phone("odo").post("/messages/read/", posted).status_code == 302
    assert Message.objects.filter(read_at=None).count() == unread


def test_reading_goes_on_to_a_page_of_this_server_only(job, phone):
    job.to("issued")
    odo = phone("odo")
    assert odo.post("/messages/read/", {"up_to": "1", "next": job.url}).url == job.url
    assert odo.post("/messages/read/", {"up_to": "1", "next": "https://elsewhere.example/"}).url == "/"


def test_who_was_told_nothing_reads_so(works, elsewhere):
    text = text_of(elsewhere(Role.AUDITOR).get("/messages/"))
    assert "Nothing that concerns you has happened yet." in text


def test_messages_cost_the_same_however_many(job, phone, person):
    job.to("issued")
    odo = phone("odo")
    few = queries_of(lambda: odo.get("/messages/"))
    job.to("signed_on")
    stop(job, person)
    assert queries_of(lambda: odo.get("/messages/")) == few
