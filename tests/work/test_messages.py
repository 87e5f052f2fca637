"""People are told in the entries' transaction, mailed after the commit; no mail server holds up a command."""

from __future__ import annotations

import logging
import socket
from datetime import timedelta
from uuid import uuid4

import pytest
from django.core import mail as outbox
from django.core.management import call_command
from django.db import IntegrityError, transaction
from django.utils.timezone import now

from permits.ledger.models import Entry
from permits.people.models import Person
from permits.work import mail
from permits.work.actions import perform, settle_site
from permits.work.models import Message, Permit
from permits.work.queries import messages_of, unread_of
from permits.work.reading import mark_read
from permits.work.rules import commands as c
from permits.work.rules.refusal import Refused

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def addresses(works, settings):
    """Odo and Wim have an address; mail is sent while the request waits, so that tests see it."""
    settings.MAIL_IN_BACKGROUND = False
    Person.objects.exclude(email="").update(email="")
    for sign_in in ("odo", "wim"):
        Person.objects.filter(sign_in=sign_in).update(email=f"{sign_in}@quillfen.example")


@pytest.fixture
def committed(django_capture_on_commit_callbacks):
    """What waits for the commit, as if the test's transaction had been one of its own."""
    return lambda: django_capture_on_commit_callbacks(execute=True)


def stop(job, person, why="smoke at the drive"):
    ask = c.StopWork(permit=job.id, by=person("pia").ref, at=now(), why=why)
    return perform(site=job.site, command=ask, by=person("pia").author)


def of(person, sign_in):
    return Message.objects.filter(person=person(sign_in).ref).order_by("entry")


def odos_urgent(job, person):
    return unread_of(job.site, person("odo").ref).urgent


def site_asks(job, person, ask):
    return perform(site=job.site, command=ask, by=person("maud").author)


def test_what_called_people_out_is_no_longer_urgent_once_it_is_lifted(job, person):
    job.to("signed_off")
    stop(job, person)
    assert "is stopped" in odos_urgent(job, person)
    before = unread_of(job.site, person("odo").ref).count
    lift = c.LiftHalt(permit=job.id, by=person("maud").ref, at=now(), how="no smoke, a dusty lamp")
    site_asks(job, person, lift)
    assert odos_urgent(job, person) == ""
    assert unread_of(job.site, person("odo").ref).count >= before, "it stays unread"


def test_an_emergency_that_is_over_shouts_no_more(job, person):
    job.to("signed_off")
    maud = person("maud").ref
    site_asks(job, person, c.DeclareEmergency(by=maud, at=now(), why="fire"))
    assert "Emergency" in odos_urgent(job, person) or "stopped" in odos_urgent(job, person)
    site_asks(job, person, c.EndEmergency(by=maud, at=now(), how="put out"))
    urgent = Message.objects.filter(person=person("odo").ref, urgent=True, read_at=None)
    assert set(urgent.values_list("kind", flat=True)) <= {"WORK_STOPPED"}


# ── in the app ──────────────────────────────────────────────────────────────────────────────────────────


def test_a_message_is_written_with_its_entry_and_names_no_person(job, person):
    job.to("signed_on")
    stop(job, person)
    message = of(person, "odo").last()
    entry = Entry.objects.get(head=job.site.head_id, number=message.entry)
    assert (entry.kind, message.kind, message.permit) == ("WORK_STOPPED", "WORK_STOPPED", job.id)
    assert message.at == entry.at
    assert message.urgent
    assert message.text == f"{job.id} is stopped: smoke at the drive. Come out now and sign off."
    assert message.by == person("pia").ref
    assert not of(person, "pia").filter(kind="WORK_STOPPED").exists()


def test_a_refused_command_tells_nobody(job, person):
    job.to("issued")
    before = Message.objects.count()
    ask = c.SignOnCrew(permit=job.id, by=person("odo").ref, at=now(), padlock="B-1")
    with pytest.raises(Refused):
        perform(site=job.site, command=ask, by=person("odo").author)
    assert Message.objects.count() == before


def test_what_is_rolled_back_was_told_to_nobody(job, person):
    job.to("signed_on")
    before = Message.objects.count()

    with transaction.atomic():
        block = transaction.get_connection().atomic_blocks[-1]
        block._from_testcase = True  # so that an outermost action may open its transaction inside
        stop(job, person)
        assert Message.objects.count() > before
        transaction.set_rollback(True)
    assert Message.objects.count() == before


def test_what_time_does_is_told_by_the_minutes_job(job, person):
    job.to("signed_on")
    over = Permit.objects.get(reference=job.id).ends_at + timedelta(minutes=1)
    settle_site(site=job.site, at=over)
    found = of(person, "odo").filter(kind="PERMIT_EXPIRED").get()
    assert (found.by, found.urgent) == ("", True)


def test_the_same_request_sent_again_tells_nobody_twice(job, person):
    job.to("signed_on")
    key, ask = uuid4(), c.StopWork(permit=job.id, by=person("pia").ref, at=now(), why="smoke")
    for _ in range(2):
        perform(site=job.site, command=ask, by=person("pia").author, key=key)
    assert of(person, "odo").filter(kind="WORK_STOPPED").count() == 1


def test_the_database_keeps_one_message_per_entry_and_person(job, person):
    job.to("signed_on")
    stop(job, person)
    message = of(person, "odo").last()
    message.pk = None
    with pytest.raises(IntegrityError):
        message.save(force_insert=True)


def test_reading_is_ones_own_and_counts_once(job, person):
    job.to("signed_on")
    stop(job, person)
    odo, last = person("odo").ref, of(person, "odo").last()
    before = unread_of(job.site, odo)
    assert before.urgent == last.text
    assert mark_read(site=job.site, person=person("wim").ref, message=last.pk, at=now()) == 0
    assert mark_read(site=job.site, person=odo, message=last.pk, at=now()) == 1
    assert mark_read(site=job.site, person=odo, message=last.pk, at=now()) == 0
    assert unread_of(job.site, odo).count == before.count - 1
    assert mark_read(site=job.site, person=odo, up_to=last.pk, at=now()) == before.count - 1
    assert unread_of(job.site, odo).count == 0


def test_urgent_unread_messages_come_first_then_unread_then_read(job, person):
    job.to("signed_on")
    stop(job, person)
    odo = person("odo").ref
    first = of(person, "odo").first()
    mark_read(site=job.site, person=odo, message=first.pk, at=now())
    lines = messages_of(job.site, odo)
    assert (lines[0].urgent, lines[0].read) == (True, False)
    assert [line.read for line in lines] == sorted(line.read for line in lines)
    assert lines[-1].number == first.pk
    assert lines[0].by == person("pia").name


# ── by mail ─────────────────────────────────────────────────────────────────────────────────────────────


def test_nothing_is_mailed_before_the_commit(job, person, committed):
    job.to("signed_on")
    with committed():
        stop(job, person)
        assert outbox.outbox == []
    assert {tuple(one.to) for one in outbox.outbox} == {("odo@quillfen.example",), ("wim@quillfen.example",)}


def test_one_mail_per_person_says_what_where_and_the_caution(job, person, committed, settings):
    settings.PUBLIC_URL = "https://permits.quillfen.example"
    job.to("signed_on")
    with committed():
        stop(job, person, why="smoke\r\nBcc: everyone@quillfen.example")
    [mailed] = [one for one in outbox.outbox if one.to == ["odo@quillfen.example"]]
    assert mailed.subject.startswith(f"URGENT: {job.id} is stopped: smoke Bcc: everyone")
    assert mailed.recipients() == ["odo@quillfen.example"]
    assert "Come out now and sign off." in mailed.body
    assert f"https://permits.quillfen.example{job.url}" in mailed.body
    assert "https://permits.quillfen.example/messages/" in mailed.body
    assert "a record and a check, never an interlock" in mailed.body
    assert person("pia").name in mailed.body
    assert of(person, "odo").last().mailed_at is not None


def test_a_mail_server_that_is_down_fails_nothing_and_is_logged_in_one_line(
    job, person, committed, settings, caplog
):
    with socket.socket() as free:  # nothing listens there afterwards
        free.bind(("127.0.0.1", 0))
        settings.EMAIL_HOST, settings.EMAIL_PORT = free.getsockname()
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_USE_TLS = False
    job.to("signed_on")
    with caplog.at_level(logging.ERROR, "permits.mail"), committed():
        assert stop(job, person)
    assert store_says_stopped(job)
    [record] = [one for one in caplog.records if one.name == "permits.mail"]
    assert "ConnectionRefusedError" in record.getMessage()
    assert "\n" not in record.getMessage()
    waiting = Message.objects.filter(kind="WORK_STOPPED", mailed_at=None, mail_failures=1)
    assert waiting.count() == 1  # the second person is not waited for as well


def store_says_stopped(job):
    return job.look().permit.is_stopped


def test_what_did_not_leave_is_tried_again_but_not_for_ever(job, person):
    job.to("signed_on")
    Message.objects.update(mailed_at=now())
    stop(job, person)
    at = of(person, "odo").last().at
    assert mail.send_waiting(at + timedelta(seconds=30)) == 0  # the thread that tries it at once may be at it
    assert mail.send_waiting(at + timedelta(minutes=2)) == 2
    assert mail.send_waiting(at + timedelta(minutes=3)) == 0
    Message.objects.filter(kind="WORK_STOPPED").update(mailed_at=None)
    assert mail.send_waiting(at + timedelta(hours=13)) == 0
    assert len(outbox.outbox) == 2


def test_the_minutes_job_sends_what_waits(job, person, capsys):
    job.to("signed_on")
    Message.objects.update(mailed_at=now())
    stop(job, person)
    Message.objects.filter(kind="WORK_STOPPED").update(at=now() - timedelta(minutes=5))
    call_command("settle_due")
    assert "2 messages left by mail" in capsys.readouterr().out


def test_what_was_read_in_the_app_is_not_mailed_later(job, person):
    job.to("signed_on")
    Message.objects.update(mailed_at=now())
    stop(job, person)
    Message.objects.filter(kind="WORK_STOPPED").update(read_at=now())
    assert mail.send_waiting(now() + timedelta(minutes=5)) == 0


def test_who_has_no_address_is_told_in_the_app_alone(job, person, committed):
    job.to("signed_on")
    Person.objects.update(email="")
    with committed():
        stop(job, person)
    assert outbox.outbox == []
    assert of(person, "odo").filter(kind="WORK_STOPPED").exists()
