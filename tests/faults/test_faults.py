"""Which errors are the database's, and which are mistakes in the program: each made by a real database."""

import errno
import logging
import sqlite3

import pytest
from django.core.handlers.exception import response_for_exception
from django.db import DatabaseError, OperationalError, connection
from django.db.backends.postgresql.base import DatabaseWrapper as PostgreSQL
from django.db.backends.sqlite3.base import DatabaseWrapper as SQLite
from django.test import RequestFactory

from permits.config.faults import AWAY, BUSY, FULL, each_by_itself, fault_in
from permits.ledger.gate import GateShut


def database(engine, **changes):
    """A connection of Django's own, so that errors come as Django gives them."""
    own = connection.settings_dict | {
        "TEST": {},
        "CONN_MAX_AGE": 0,
        "CONN_HEALTH_CHECKS": False,
        "OPTIONS": {},
    }
    return engine(own | changes, "faults")


@pytest.fixture
def file_database(tmp_path, django_db_blocker):
    with django_db_blocker.unblock():
        made = database(SQLite, NAME=tmp_path / "file.sqlite3", OPTIONS={"timeout": 0})
        yield made
        made.close()


def run(using, *statements):
    with using.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


def error_of(using, statement):
    with pytest.raises(DatabaseError) as error:
        run(using, statement)
    return error.value


@pytest.mark.django_db
@pytest.mark.parametrize(
    "statement", ["SELECT * FROM no_such_table", "SELEKT", "SELECT no_such_column FROM work_lock"]
)
def test_a_mistake_in_the_program_is_no_fault_of_the_database(statement, db):
    """SQLite calls these OperationalError too."""
    assert fault_in(error_of(connection, statement)) == ""


def test_a_full_database_is_told_by_sqlite(file_database):
    run(file_database, "CREATE TABLE t (b)", "PRAGMA max_page_count = 20")
    error = error_of(file_database, "INSERT INTO t SELECT randomblob(200000)")
    assert isinstance(error, OperationalError)
    assert fault_in(error) == FULL


def test_a_database_that_another_holds_is_busy(file_database, tmp_path):
    run(file_database, "CREATE TABLE t (b)")
    other = sqlite3.connect(tmp_path / "file.sqlite3", isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    assert fault_in(error_of(file_database, "INSERT INTO t VALUES (1)")) == BUSY
    other.close()


def test_no_turn_at_the_gate_is_busy():
    assert fault_in(GateShut("no turn")) == BUSY


def test_a_server_that_does_not_answer_is_away(django_db_blocker):
    where = {"HOST": "127.0.0.1", "PORT": "1", "NAME": "nothing", "USER": "nobody", "PASSWORD": "none"}
    with django_db_blocker.unblock():
        assert fault_in(error_of(database(PostgreSQL, **where), "SELECT 1")) == AWAY


@pytest.mark.parametrize(
    ("error", "fault"),
    [
        (OSError(errno.ENOSPC, "No space left on device"), FULL),
        (FileNotFoundError(errno.ENOENT, "No such file"), ""),
        (ValueError("wrong"), ""),
        (None, ""),
    ],
)
def test_other_errors(error, fault):
    assert fault_in(error) == fault


def answered(error):
    """Django's answer to an error in a view, as the server gives it."""
    request = RequestFactory().post("/permits/P-1/tell/", {"key": "k-1"})

    def failing_view(request):
        try:
            raise error
        except type(error) as raised:
            return response_for_exception(request, raised)

    return each_by_itself(failing_view)(request)


def test_a_mistake_keeps_its_page_and_its_traceback(caplog):
    with caplog.at_level(logging.ERROR):
        response = answered(KeyError("site"))
    assert response.status_code == 500
    assert "The server failed" in response.content.decode()
    [record] = caplog.records
    assert (record.name, bool(record.exc_info)) == ("django.request", True)


def test_a_fault_is_one_line_without_a_traceback(caplog):
    with caplog.at_level(logging.ERROR):
        response = answered(GateShut("no turn to write within 20 s"))
    assert (response.status_code, response["Retry-After"]) == (503, "30")
    [record] = caplog.records
    assert record.name == "permits.faults"
    assert record.getMessage() == (
        "too many want to write at once: POST '/permits/P-1/tell/', site -, person -, key 'k-1': "
        "GateShut: no turn to write within 20 s"
    )
    assert not record.exc_info
