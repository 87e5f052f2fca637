"""What the ledger's tests share: ledgers, an author, and how an owner of the database meddles."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection

from permits.ledger.models import Head
from permits.ledger.pen import Author, open_ledger, writing
from permits.ledger.triggers import statements
from tests.postgres import postgresql_server, postgresql_url

__all__ = ["postgresql_server", "postgresql_url"]

ODO = Author("person:K7Q2M9XB", "ab" * 32)
on_sqlite = pytest.mark.skipif(connection.vendor != "sqlite", reason="only SQLite can do this")
on_postgresql = pytest.mark.skipif(connection.vendor != "postgresql", reason="only PostgreSQL can do this")
SEVEN = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)


@pytest.fixture
def head(db) -> Head:
    return open_ledger("QP")


@pytest.fixture
def five(head) -> Head:
    """A ledger of five entries, a minute apart."""
    for minute in range(5):
        with writing(head.pk, by=ODO, at=SEVEN + timedelta(minutes=minute)) as pen:
            pen.write("lock-applied", f"permit:P-{minute}", {"point": f"Q{minute}", "position": "off"})
    head.refresh_from_db()
    return head


@pytest.fixture
def owner(db):
    """Runs SQL as an owner of the database could: the triggers are gone. (They come back at the rollback.)"""

    def run(sql, *values):
        with connection.cursor() as cursor:
            cursor.execute(sql, values)
            return cursor.rowcount

    for table, name in statements(connection.vendor):
        run(f"DROP TRIGGER {name}" + (f" ON {table}" if connection.vendor == "postgresql" else ""))
    return run
