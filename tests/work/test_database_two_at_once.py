"""Two transactions of anyone with SQL at once on PostgreSQL: neither is the other's excuse."""

import json
import os
import subprocess
import sys
import threading
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest

from permits.work import triggers
from tests.ledger.conftest import on_sqlite
from tests.postgres import new_database, postgresql_server  # noqa: F401 - fixture

pytestmark = [on_sqlite, pytest.mark.postgresql]

ROOT = Path(__file__).parents[2]
# One point with two people's locks under P-1, and one of them signed on.
AT_WORK = """
from datetime import UTC, datetime
from permits.ledger.pen import open_ledger
from permits.people.models import Site
from permits.work.models import CrewSignOn, Lock, Permit
six, two = datetime(2026, 11, 25, 6, tzinfo=UTC), datetime(2026, 11, 25, 14, tzinfo=UTC)
site = Site.objects.create(code="X", name="X", head=open_ledger("X"))
lists = ("zones", "keep_live", "plan_lock", "plan_release", "plan_order", "crew_named", "procedures")
permit = Permit.objects.create(
    site=site, reference="P-1", number=1, phase="isolated", kind_of_work="x", reason="x", requested_by="ODO",
    requested_at=six, starts_at=six, ends_at=two, proven_cheapest=True, issuer="MAUD", holder="ODO",
    own_issue=False, ever_signed_on=True, checked=True, in_service=False, out_of_use=False, stopped_path=[],
    **{name: [] for name in lists},
)
for n, owner in enumerate(("ODO", "HAL")):
    Lock.objects.create(
        permit=permit, site=site, n=n, where="Q1", padlock=owner, owner=owner, applied_at=six, tag=owner
    )
CrewSignOn.objects.create(permit=permit, n=0, person="ODO", on_at=six)
"""
OFF = "UPDATE work_lock SET removed_at = now() + interval '20 years' WHERE n = {}"
SIGN_OFF = "UPDATE work_crewsignon SET off_at = now() + interval '20 years' WHERE off_at IS NULL"
SIGN_ON = (
    "INSERT INTO work_crewsignon (permit_id, n, person, padlock, on_at) "
    "SELECT id, {}, 'HAL', '', requested_at FROM work_permit"
)
CLOSE = "UPDATE work_permit SET phase = 'closed', ended_at = ends_at"


def environment(url, folder):
    return os.environ | {
        "DATABASE_URL": url, "PERMITS_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "permits.config.settings",
    }  # fmt: skip


def manage(here, *command):
    subprocess.run([sys.executable, "manage.py", *command], cwd=ROOT, env=here, check=True, timeout=300)


@pytest.fixture(scope="module")
def migrated(tmp_path_factory, postgresql_server):  # noqa: F811
    """Tables without a row; each test has a copy."""
    url = new_database(postgresql_server)
    manage(environment(url, tmp_path_factory.mktemp("migrated")), "migrate", "--verbosity", "0")
    return url


@pytest.fixture
def empty_database(migrated, postgresql_server):  # noqa: F811
    return new_database(postgresql_server, like=migrated)


@pytest.fixture
def database(empty_database, tmp_path):
    manage(environment(empty_database, tmp_path), "shell", "--no-imports", "-c", AT_WORK)
    return empty_database


@contextmanager
def meanwhile(database, statement):
    """Another transaction does this, sees nothing of the block's, and comes to its end after the block."""
    said = []

    def run():
        try:
            with psycopg.connect(database) as other:
                other.execute(statement)
        except psycopg.Error as error:
            said.append(str(error))

    thread = threading.Thread(target=run)
    with psycopg.connect(database) as first:
        yield first, said
        thread.start()
        thread.join(1)
        assert thread.is_alive(), "it waits for the first, else it could not know of it"
    thread.join(60)


def test_two_last_locks_do_not_come_off_at_once(database):
    with meanwhile(database, OFF.format(1)) as (first, said):
        first.execute(OFF.format(0))
    assert triggers.LAST_LOCK in said[0]


def test_nobody_signs_on_under_a_permit_while_it_ends(database):
    with psycopg.connect(database) as alone:
        alone.execute(SIGN_OFF)
        alone.execute("UPDATE work_lock SET removed_at = now() + interval '20 years'")
    with meanwhile(database, CLOSE) as (first, said):
        first.execute(SIGN_ON.format(1))
    assert triggers.ENDS_EMPTY in said[0]
    with psycopg.connect(database) as alone:
        alone.execute(SIGN_OFF)
    with meanwhile(database, SIGN_ON.format(2)) as (first, said):
        first.execute(CLOSE)
    assert triggers.IS_OVER in said[0]


@pytest.mark.parametrize(
    ("first", "came", "inside"),
    [("sign-on", "is signed on at Small works", True), ("disable", "is not authorised", False)],
)
def test_nobody_is_disabled_at_one_site_while_they_sign_on_at_another(
    empty_database, tmp_path, first, came, inside
):
    said = subprocess.run(
        [sys.executable, "tests/work/disabled_meanwhile.py", first],
        cwd=ROOT, env=environment(empty_database, tmp_path) | {"PYTHONPATH": str(ROOT)}, check=True,
        capture_output=True, text=True, timeout=300,
    ).stdout  # fmt: skip
    found = json.loads(said)
    assert found["waited"], "each waits for the other, else it could not know of it"
    assert came in found["came"]
    assert (found["inside"], found["active"]) == (inside, inside)
