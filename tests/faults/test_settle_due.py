"""The minutes' job outlives the database's faults: one log line each, the other sites and rounds go on."""

import logging
import os
import signal
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import psycopg
import pytest
from django.core.management import CommandError, call_command
from django.db import OperationalError, connection, transaction

from permits.ledger.models import Entry
from permits.ledger.pen import CLOCK
from permits.people.models import Site
from permits.work.management.commands import settle_due
from tests.faults.plant import ROOT, Plant
from tests.faults.test_database_away import alive, in_time, own_server, started_again
from tests.postgres import new_database
from tests.records import job as jobs
from tests.records.conftest import job, plant

__all__ = ["job", "own_server", "plant"]


WAITS = """
    INSERT INTO work_message (site_id, person, entry, kind, permit, by, text, urgent, at, mail_failures)
    SELECT site.id, person.ref, %s, 'NOTED', '', '', %s, false, now() - interval '5 minutes', 0
    FROM people_site site, people_person person WHERE site.code = 'QUILLFEN' AND person.email LIKE 'ilse@%%'
"""
LEFT = "SELECT count(*) FROM work_message WHERE text = %s AND mailed_at IS NOT NULL"


class Enough(Exception):
    """The job of each minute has gone round often enough."""


@pytest.fixture
def overdue(job, fernbrook, monkeypatch):
    """A permit of the second site has run out by the clock of the job of each minute."""
    after_end = jobs.isolated(job).row.ends_at + timedelta(minutes=5)
    monkeypatch.setattr(settle_due, "now", lambda: after_end)
    return job


def fails_for(monkeypatch, code, times=1):
    """The database says no, `times` times, as soon as it is asked about one site."""
    real, left = settle_due.settle_site, [times]

    def settle_site(*, site, at):
        if site.code == code and left[0]:
            left[0] -= 1
            with transaction.atomic(), connection.cursor() as cursor:
                cursor.execute("SELECT broken FROM nothing")
        return real(site=site, at=at)

    monkeypatch.setattr(settle_due, "settle_site", settle_site)


def expired(job):
    return Entry.objects.filter(head=job.site.head_id, kind="PERMIT_EXPIRED", by=CLOCK.ref).count()


@pytest.mark.django_db
def test_where_one_site_fails_the_others_are_settled_and_the_exit_status_tells(overdue, monkeypatch, caplog):
    fails_for(monkeypatch, "FERNBROOK")
    assert list(Site.objects.order_by("code").values_list("code", flat=True)) == ["FERNBROOK", "QUILLFEN"]
    with caplog.at_level(logging.ERROR), pytest.raises(CommandError, match="failed for FERNBROOK") as error:
        call_command("settle_due")
    assert error.value.returncode == 1
    [record] = caplog.records
    assert record.name == "permits.settle_due"
    assert record.getMessage().startswith("settle_due: FERNBROOK: OperationalError: ")
    assert "\n" not in record.getMessage()
    assert not record.exc_info
    assert expired(overdue) == 1


@pytest.mark.django_db
def test_what_failed_in_one_round_is_done_in_the_next(overdue, monkeypatch, caplog):
    fails_for(monkeypatch, "QUILLFEN")
    seen = []

    def sleep(seconds):
        seen.append((seconds, expired(overdue)))
        if len(seen) == 2:
            raise Enough

    monkeypatch.setattr(settle_due.time, "sleep", sleep)
    with caplog.at_level(logging.ERROR), pytest.raises(Enough):
        call_command("settle_due", every=60)
    assert seen == [(60, 0), (60, 1)]
    assert [record.name for record in caplog.records] == ["permits.settle_due"]


@pytest.mark.django_db
def test_a_fault_in_the_list_of_sites_or_in_the_mail_is_no_end_either(overdue, monkeypatch, caplog):
    def away(*args):
        raise OperationalError("the connection is closed")

    monkeypatch.setattr(settle_due.mail, "send_waiting", away)
    with pytest.raises(CommandError, match="failed for mail"):
        call_command("settle_due")
    assert expired(overdue) == 1
    monkeypatch.setattr(settle_due.Site.objects, "order_by", away)
    with pytest.raises(CommandError, match="failed for the list of sites"):
        call_command("settle_due")
    assert [record.getMessage() for record in caplog.records if record.name == "permits.settle_due"] == [
        "settle_due: mail: OperationalError: the connection is closed",
        "settle_due: the list of sites: OperationalError: the connection is closed",
    ]


@pytest.mark.django_db
def test_a_mistake_in_the_program_still_stops_it(overdue, monkeypatch):
    monkeypatch.setattr(settle_due, "settle_site", lambda **given: given["when"])
    with pytest.raises(KeyError):
        call_command("settle_due")


def goes_round(url, entry, what):
    """A message that waits is mailed: a round leaves that behind, whenever one looks."""
    with psycopg.connect(url, autocommit=True) as other:
        assert other.execute(WAITS, [entry, what]).rowcount == 1
        in_time(lambda: other.execute(LEFT, [what]).fetchone()[0], what)


@pytest.mark.postgresql
def test_it_outlives_a_server_that_is_gone_for_a_while(own_server, tmp_path):
    url = new_database(own_server)
    with psycopg.connect(url) as asked:
        folder = Path(asked.execute("SHOW data_directory").fetchone()[0])
    behind, log, again = Plant(tmp_path, url), tmp_path / "settle_due.log", None
    with log.open("wb") as out:
        job_of_each_second = subprocess.Popen(
            [sys.executable, "manage.py", "settle_due", "--every", "1"],
            cwd=ROOT, env=behind.environment, stdout=out, stderr=out,
        )  # fmt: skip
    try:
        goes_round(url, 9001, "it goes round")
        pid = int((folder / "postmaster.pid").read_text().split()[0])
        os.kill(pid, signal.SIGQUIT)  # as if its machine had lost power
        in_time(lambda: not (folder / "postmaster.pid").exists() or not alive(pid), "the server is gone")
        in_time(lambda: b"settle_due: the list of sites: Operational" in log.read_bytes(), "it says so")
        with (tmp_path / "postgresql.log").open("wb") as said:
            again = started_again(own_server, folder, said)
        goes_round(url, 9002, "it goes round again")
        assert job_of_each_second.poll() is None
        assert b"Traceback" not in log.read_bytes()
    finally:
        job_of_each_second.kill()
        job_of_each_second.wait(20)
        if again is not None:
            again.send_signal(signal.SIGQUIT)
            again.wait(20)
