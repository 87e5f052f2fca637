"""Was it recorded? The page says no where that is known, and *perhaps* where only the lost database knows."""

import logging
import sqlite3
import threading
from uuid import uuid4

import psycopg
import pytest
from django.core.handlers.exception import response_for_exception
from django.db import OperationalError, connection
from django.test import RequestFactory

from permits.config.faults import each_by_itself
from permits.ledger import outcome
from permits.ledger.gate import GateShut
from permits.ledger.pen import writing
from tests.faults.plant import running
from tests.faults.test_database_away import in_time, own_server
from tests.ledger.conftest import ODO, SEVEN, head
from tests.postgres import new_database

__all__ = ["head", "own_server"]

DEFINITE, PERHAPS = "Not recorded. Count it as not done.", "Perhaps not recorded."


def lost(cause=None):
    error = OperationalError("the connection was lost")
    error.__cause__ = cause or psycopg.OperationalError("server closed the connection unexpectedly")
    return error


def full():
    cause = sqlite3.OperationalError("database or disk is full")
    cause.sqlite_errorname = "SQLITE_FULL"
    return lost(cause)


def answered(error):
    """Django's answer to a request whose view raised this error."""
    outcome_before = outcome.may_be_kept()
    request = RequestFactory().post("/permits/P-1/ready/", {"key": "k-1"})
    try:
        raise error
    except type(error) as raised:
        response = response_for_exception(request, raised)
    assert response.status_code == 503
    assert outcome.may_be_kept() == outcome_before
    return response.content.decode()


def write(head, *, fails=None):
    with writing(head.pk, by=ODO, at=SEVEN) as pen:
        pen.write("noted", "permit:P-1", {})
        if fails is not None:
            raise fails


def failed(head, monkeypatch, error):
    """The error as it comes out of the pen, where the database raises it in place of the commit's answer."""

    def commit(sid):
        raise error

    with monkeypatch.context() as patch:
        patch.setattr(connection, "savepoint_commit", commit)  # a test's transaction is a savepoint
        with pytest.raises(OperationalError) as raised:
            write(head)
    return raised.value


@pytest.fixture(autouse=True)
def a_new_request():
    each_by_itself(lambda request: None)(None)


def test_where_nothing_was_written_it_is_known():
    assert DEFINITE in answered(lost())


@pytest.mark.django_db
def test_where_it_broke_before_the_commit_it_is_known(head):
    with pytest.raises(OperationalError) as raised:
        write(head, fails=lost())
    assert DEFINITE in answered(raised.value)


@pytest.mark.django_db
def test_where_it_broke_at_the_commit_nobody_can_tell(head, monkeypatch, caplog):
    with caplog.at_level(logging.ERROR, "permits.faults"):
        page = answered(failed(head, monkeypatch, lost()))
    assert PERHAPS in page
    assert DEFINITE not in page
    assert "until the permit’s page shows it" in page
    assert "it counts once" in page
    assert caplog.messages[-1].endswith("the connection was lost (perhaps recorded)")


@pytest.mark.django_db
def test_a_disk_that_was_full_at_the_commit_says_itself_that_it_kept_nothing(head, monkeypatch):
    assert DEFINITE in answered(failed(head, monkeypatch, full()))


@pytest.mark.django_db
@pytest.mark.parametrize("error", [lost(), full(), GateShut("no turn")], ids=["lost", "full", "shut"])
def test_what_fails_after_the_commit_does_not_deny_it(head, error):
    """Such as the session, which is kept last; that its disk is full says nothing about the record."""
    write(head)
    assert PERHAPS in answered(error)


@pytest.mark.django_db
def test_of_two_transactions_the_last_one_counts(head):
    """A PIN's entry is kept before the command that it signs is begun."""
    write(head)
    with pytest.raises(OperationalError) as raised:
        write(head, fails=lost())
    assert DEFINITE in answered(raised.value)


@pytest.mark.django_db
def test_what_the_thread_wrote_for_another_request_is_not_this_ones(head):
    write(head)
    assert each_by_itself(lambda request: outcome.may_be_kept())(None) is False


@pytest.mark.postgresql
def test_a_command_that_was_recorded_while_its_connection_died_is_not_denied(own_server, tmp_path):
    """The server has kept it and waits for a standby that is not there, when the connection is cut."""
    url = new_database(own_server)
    with running(tmp_path, url) as plant, psycopg.connect(url, autocommit=True) as other:
        phone, key, answers = plant.phone("eleni"), str(uuid4()), []
        phone.open_page("P-1")
        before = plant.entries()

        def wait_for_standby(name):
            other.execute(f"ALTER SYSTEM SET synchronous_standby_names = '{name}'")
            other.execute("SELECT pg_reload_conf()")
            asked = "SHOW synchronous_standby_names"
            in_time(lambda: other.execute(asked).fetchone() == (name,), "the server has read it")

        wait_for_standby("nobody")
        asking = threading.Thread(target=lambda: answers.append(phone.tell("P-1", key)))
        asking.start()
        waiting = "SELECT pid FROM pg_stat_activity WHERE wait_event = 'SyncRep'"
        [pid] = in_time(lambda: other.execute(waiting).fetchone(), "a commit that waits for a standby")
        assert other.execute("SELECT pg_terminate_backend(%s)", [pid]).fetchone() == (True,)
        asking.join(60)
        wait_for_standby("")
        [answer] = answers
        assert answer.status == 503, answer.text
        assert PERHAPS in answer.text
        assert DEFINITE not in answer.text
        [line] = [line for line in plant.said() if key in line]
        assert line.endswith("(perhaps recorded)")
        assert plant.entries() == before + 1, "it was recorded"
        assert phone.tell("P-1", key).status == 302, "and sent again it counts once"
        assert plant.entries() == before + 1
