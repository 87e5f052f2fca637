"""The demo plant with its people and procedures, and a job on it that has not begun."""

import pytest
from django.db import connection

from permits.ledger.triggers import statements
from permits.work import triggers as permits_triggers
from tests.kept import kept
from tests.records import job as jobs


@pytest.fixture
def plant(quillfen):
    """The demo plant, described: a permit can be asked for."""
    kept("the demo plant, described", lambda: jobs.describe(quillfen))
    return quillfen


@pytest.fixture
def job(plant):
    return jobs.Job(plant, jobs.morning_after(plant))


@pytest.fixture
def owner(db):
    """What an owner of the database can do: every trigger of ours is gone until the test is rolled back."""
    with connection.cursor() as cursor:
        for table, name in [*statements(connection.vendor), *permits_triggers.statements(connection)]:
            on = f" ON {table}" if connection.vendor == "postgresql" else ""
            cursor.execute(f"DROP TRIGGER {name}{on}")
