"""What the database refuses about permits to anyone with SQL, and what finds the rest."""

import os
import re
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.operations import RunPython

from permits.ledger.models import Head
from permits.ledger.verify import verify
from permits.records.replay import replay
from permits.work import models as rows
from permits.work import triggers
from permits.work.checks import INSTALLED_BY, check_triggers
from permits.work.rules import commands as c
from permits.work.rules.words import Phase
from tests.ledger.conftest import on_postgresql, on_sqlite
from tests.postgres import postgresql_server, postgresql_url  # noqa: F401 - fixtures
from tests.records import job as jobs
from tests.records.conftest import job, owner, plant  # noqa: F401 - fixtures

pytestmark = pytest.mark.django_db

ROOT = Path(__file__).parents[2]
MODELS = {model._meta.db_table: model for model in vars(rows).values() if hasattr(model, "_meta")}
DIFFERENT = {
    "BigAutoField": '"{}" + 1000', "ForeignKey": '"{}" + 1000', "PositiveIntegerField": '"{}" + 1000',
    "PositiveSmallIntegerField": '"{}" + 1', "BooleanField": 'NOT "{}"', "DecimalField": '"{}" + 1',
    "CharField": "'x'", "TextField": "'something else'", "JSONField": "'[\"something else\"]'",
    "DateTimeField": "'2020-02-02 02:02:02'",
}  # fmt: skip


def sql(statement):
    with connection.cursor() as cursor:
        cursor.execute(statement)
        return cursor.rowcount


def refused(statement, words):
    with pytest.raises(IntegrityError, match=words), transaction.atomic():
        sql(statement)


@pytest.fixture
def at_work(job):  # noqa: F811
    """An open permit with something of everything, ended and not."""
    jobs.isolated(job).sign_on("odo", "201").sign_on("wim", "202")
    job.check(defects={"wear": "Jaw worn", "cables": "Loose wire"})
    job.do(c.ResolveDefect, "odo", defect=0, how="Tightened")
    job.do(c.AcceptDefect, "maud", defect=1, why="A new jaw is on order")
    job.sign_off("odo").sign_off("wim")
    job.sanction().begin().free().clear().clear().ready().open_job()
    job.do(c.CloseJob, "odo", job=1)
    job.do(c.EndSanction, "odo", why="Enough seen")
    job.do(c.StopWork, "pia", why="Smoke")
    job.do(c.LiftHalt, "maud", how="A hot seal")
    return job.lock_up().verify()


@pytest.fixture
def over(job):  # noqa: F811
    return jobs.closed(job)


WORST = [
    ("UPDATE work_lock SET removed_at = NULL WHERE removed_at IS NOT NULL", triggers.HAS_ENDED),
    ("UPDATE work_lock SET padlock = '999' WHERE removed_at IS NULL AND n > 0", triggers.IS_FIXED),
    ("UPDATE work_lock SET owner = 'ZZZZZZZZ' WHERE removed_at IS NULL AND n > 0", triggers.IS_FIXED),
    ("UPDATE work_lock SET \"where\" = 'C1-QM1' WHERE removed_at IS NULL AND n > 0", triggers.IS_FIXED),
    ("UPDATE work_verification SET void_at = NULL WHERE void_at IS NOT NULL", triggers.HAS_ENDED),
    ("UPDATE work_verification SET readings = '[]' WHERE void_at IS NULL", triggers.IS_FIXED),
    ("UPDATE work_verification SET passed = NOT passed", "stays ended|never changed"),
    ("UPDATE work_storerelease SET counts_from = at WHERE undone_at IS NULL", triggers.IS_FIXED),
    ("UPDATE work_crewsignon SET off_at = NULL", triggers.HAS_ENDED),
    ("UPDATE work_sanction SET ended_at = NULL", triggers.HAS_ENDED),
    ("UPDATE work_sanction SET cycles = 99", triggers.HAS_ENDED),
    ("UPDATE work_jobseen SET closed_at = NULL", triggers.HAS_ENDED),
    ("UPDATE work_confirmation SET void_at = NULL WHERE void_at IS NOT NULL", triggers.HAS_ENDED),
    ("UPDATE work_defect SET state = 'open', ended_at = NULL WHERE state = 'resolved'", triggers.HAS_ENDED),
    ("UPDATE work_halt SET lifted_at = NULL, lifted_by = '' WHERE n = 0", triggers.HAS_ENDED),
    ("UPDATE work_signature SET person = 'ZZZZZZZZ'", triggers.IS_FIXED),
    ("UPDATE work_permit SET phase = 'requested'", triggers.ONLY_FORWARD),
    ("UPDATE work_permit SET phase = 'issued'", triggers.ONLY_FORWARD),
    ("UPDATE work_permit SET ever_signed_on = NOT ever_signed_on", triggers.ONLY_FORWARD),
    ("UPDATE work_permit SET last_entry = last_entry - 1", triggers.ONLY_FORWARD),
    ("DELETE FROM work_permit", triggers.NO_DELETE),
]


def test_sql_does_not_undo_what_ended_or_change_what_was_signed(at_work):
    for statement, words in WORST:
        refused(statement, words)
    assert replay(at_work.site).differences == []


def test_no_row_of_a_permit_is_deleted(at_work):
    for table in triggers.PARTS:
        assert MODELS[table].objects.exists(), f"nothing in {table} to try it on"
        refused(f"DELETE FROM {table}", triggers.NO_DELETE)


def test_every_column_is_fixed_but_those_by_which_a_thing_ends(at_work):
    tried = 0
    for table, part in triggers.PARTS.items():
        for field in MODELS[table]._meta.fields:
            if field.name in {part.ends, *part.may_change}:
                continue
            other = DIFFERENT[field.get_internal_type()].format(field.column)
            # The first row that has not ended, so that it is the column that is refused.
            last = "" if not part.ends else f" AND {part.ends} IS NULL"
            at_row = f"id = (SELECT MIN(id) FROM {table} WHERE 1 = 1{last})"
            what = triggers.IS_FIXED
            if not MODELS[table].objects.filter(**({part.ends: None} if part.ends else {})).exists():
                at_row, what = "1 = 1", triggers.HAS_ENDED
            refused(f'UPDATE {table} SET "{field.column}" = {other} WHERE {at_row}', what)
            tried += 1
    assert tried > 60


def test_what_was_asked_for_stays(at_work):
    for name in triggers.AS_ASKED:
        field = next(f for f in rows.Permit._meta.fields if f.column == name)
        other = DIFFERENT[field.get_internal_type()].format(name)
        refused(f'UPDATE work_permit SET "{name}" = {other}', triggers.ONLY_FORWARD)


def test_a_cycle_is_not_given_back(job):  # noqa: F811
    jobs.under_power(job)
    refused("UPDATE work_sanction SET cycle = cycle - 1", triggers.ONLY_FORWARD)


def test_a_permit_that_is_over_is_never_touched_again(over):
    reference = f"reference = '{over.permit}'"
    assert over.row.phase == Phase.CLOSED.value
    refused(f"UPDATE work_permit SET phase = 'isolated', ended_at = NULL WHERE {reference}", triggers.IS_OVER)
    refused(f"UPDATE work_permit SET holder = 'ZZZZZZZZ' WHERE {reference}", triggers.IS_OVER)
    refused(f"UPDATE work_permit SET out_of_use = NOT out_of_use WHERE {reference}", triggers.IS_OVER)
    for table, part in triggers.PARTS.items():
        if not MODELS[table].objects.exists():
            continue
        changed = part.ends or "n"
        what = triggers.IS_OVER if part.ends or connection.vendor == "sqlite" else triggers.IS_FIXED
        refused(f'UPDATE {table} SET "{changed}" = "{changed}"', what)
    names = [f.column for f in rows.Lock._meta.fields if f.column != "id"]
    copied = ", ".join("900 + n" if name == "n" else f'"{name}"' for name in names)
    listed = ", ".join(f'"{name}"' for name in names)
    refused(f"INSERT INTO work_lock ({listed}) SELECT {copied} FROM work_lock", triggers.IS_OVER)
    assert replay(over.site).differences == []


def test_a_lock_hangs_at_the_site_of_its_permit(at_work):
    """Else one padlock could hang in two places: it is one per site that the constraint counts."""
    from tests.factories_people import SiteFactory

    lock = at_work.row.locks.filter(removed_at=None).first()
    elsewhere = SiteFactory(code="FERNBROOK", name="Fernbrook Joinery", timezone="UTC")
    values = {f.attname: getattr(lock, f.attname) for f in lock._meta.fields if f.name != "id"}
    with pytest.raises(IntegrityError, match=triggers.ONE_SITE), transaction.atomic():
        rows.Lock.objects.create(**{**values, "n": 900, "where": "C1-QM9", "site_id": elsewhere.pk})


@on_sqlite
def test_replacing_a_row_is_deleting_it(at_work):
    names = ", ".join(f'"{f.column}"' for f in rows.Lock._meta.fields)
    refused(f"INSERT OR REPLACE INTO work_lock ({names}) SELECT {names} FROM work_lock", triggers.NO_DELETE)


# ── who owns the tables ─────────────────────────────────────────────────────────────────────────────────


@on_postgresql
def test_the_applications_role_can_work_and_cannot_take_the_triggers_away(at_work):
    sql("CREATE ROLE plant_application NOLOGIN")
    sql("GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA public TO plant_application")
    sql("GRANT USAGE ON ALL SEQUENCES IN SCHEMA public TO plant_application")
    sql("SET CONSTRAINTS ALL IMMEDIATE")
    sql("SET ROLE plant_application")
    at_work.sign_on("odo", "203").sign_off("odo")  # what it is for
    at_work.do(c.TellAffected, "odo", whom="line 3", how="in person")
    for statement, words in WORST:
        refused(statement, words)
    for statement in (
        "TRUNCATE work_lock",
        "DROP TRIGGER work_lock_update ON work_lock",
        "ALTER TABLE work_permit DISABLE TRIGGER work_permit_update",
        "ALTER TABLE work_permit DISABLE TRIGGER ALL",
        "SET session_replication_role = 'replica'",
        "CREATE OR REPLACE FUNCTION work_refuse_change() RETURNS trigger LANGUAGE plpgsql "
        "AS 'BEGIN RETURN OLD; END'",
    ):
        with pytest.raises(DatabaseError, match=r"permission denied|must be owner"), transaction.atomic():
            sql(statement)
    sql("RESET ROLE")
    assert replay(at_work.site).differences == []


@on_postgresql
def test_the_owner_does_not_empty_a_table_by_accident(at_work):
    sql("SET CONSTRAINTS ALL IMMEDIATE")  # else PostgreSQL refuses for a reason of its own
    refused("TRUNCATE work_lock", triggers.NO_DELETE)
    refused("TRUNCATE work_permit CASCADE", triggers.NO_DELETE)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("UPDATE work_permit SET phase = 'isolated', ended_at = NULL", "phase is <Phase.ISOLATED"),
        ("UPDATE work_lock SET padlock = '911' WHERE n = 0", r"locks\[0\] is"),
        ("UPDATE work_lock SET removed_at = NULL WHERE n = 0", r"locks\[0\] is"),
        ("UPDATE work_signature SET person = 'ZZZZZZZZ' WHERE n = 0", r"signatures\[0\] is"),
        ("DELETE FROM work_notice", "notices has 0 items"),
    ],
)
def test_what_an_owner_of_the_database_did_is_found_by_replaying(over, owner, change, words):  # noqa: F811
    assert sql(change)
    assert verify(Head.objects.get(pk=over.site.head_id)).ok  # the ledger is whole: it is the rows that lie
    with pytest.raises(CommandError):
        call_command("replay_ledger", stdout=(out := StringIO()))
    assert re.search(f"DIFFERENT: permit {over.permit}: {words}", out.getvalue())


# ── nobody forgets them ─────────────────────────────────────────────────────────────────────────────────


def test_every_trigger_is_there_after_all_migrations():
    assert triggers.missing_triggers(connection) == []
    assert check_triggers(None) == []
    assert {table for table, _ in triggers.statements(connection)} == {triggers.PERMIT, *triggers.PARTS}


def test_every_table_of_a_permit_is_protected():
    of_a_permit = {
        name for name, model in MODELS.items() if issubclass(model, rows.Part) and model is not rows.Part
    }
    assert of_a_permit == set(triggers.PARTS)


def test_every_later_migration_of_these_tables_lifts_them_first_and_installs_them_last():
    mine = {MODELS[table]._meta.model_name for table in (triggers.PERMIT, *triggers.PARTS)}
    later = sorted(
        (name, migration)
        for (app, name), migration in MigrationLoader(connection).disk_migrations.items()
        if app == "work" and name > INSTALLED_BY
    )
    for name, migration in later:
        touched = {
            getattr(one, "model_name_lower", "") or getattr(one, "name_lower", "")
            for one in migration.operations
        }
        if touched & mine:
            first, last = migration.operations[0], migration.operations[-1]
            assert isinstance(first, RunPython), f"{name} does not begin with RunPython(lift, install)"
            assert (first.code, first.reverse_code) == (triggers.lift, triggers.install), name
            assert isinstance(last, RunPython), f"{name} does not end with RunPython(install, lift)"
            assert (last.code, last.reverse_code) == (triggers.install, triggers.lift), name


def test_a_lost_trigger_is_an_error_at_the_start_and_is_put_back(job):  # noqa: F811
    on = " ON work_lock" if connection.vendor == "postgresql" else ""
    sql(f"DROP TRIGGER work_lock_update{on}")
    [error] = check_triggers(None)
    assert (error.id, "work_lock_update" in error.msg) == ("work.E001", True)
    assert "protect_permits" in error.hint


@on_sqlite
def test_a_trigger_that_is_older_than_a_column_is_an_error_too(db):
    sql("ALTER TABLE work_lock ADD COLUMN colour varchar(8) NULL")
    assert triggers.missing_triggers(connection) == ["work_lock_update"]


@on_postgresql
def test_a_trigger_whose_function_was_emptied_is_an_error_too(db):
    sql(
        "CREATE OR REPLACE FUNCTION work_permit_changes() RETURNS trigger LANGUAGE plpgsql "
        "AS 'BEGIN RETURN NEW; END'"
    )
    assert triggers.missing_triggers(connection) == ["work_permit_update"]


def process(environment, *command, status=0):
    ran = subprocess.run(
        [sys.executable, *command],
        cwd=ROOT, env=os.environ | environment, capture_output=True, text=True, timeout=180, check=False,
    )  # fmt: skip
    assert ran.returncode == status, ran.stdout + ran.stderr
    return ran.stdout + ran.stderr


@on_sqlite
def test_commands_stop_until_lost_triggers_are_put_back(tmp_path):
    here = {"PERMITS_DATA": str(tmp_path), "DATABASE_URL": ""}
    process(here, "manage.py", "migrate", "--verbosity", "0")
    drop = "from django.db import connection as c; c.cursor().execute('DROP TRIGGER work_lock_delete')"
    process(here, "manage.py", "shell", "--no-imports", "-c", drop)
    assert "lacks the triggers work_lock_delete" in process(here, "manage.py", "check", status=1)
    assert "Put back: work_lock_delete" in process(here, "manage.py", "protect_permits")
    assert "Nothing to do" in process(here, "manage.py", "protect_permits")
    assert "no issues" in process(here, "manage.py", "check", "--tag", "work")
    rebuild = (
        "from django.db import connection as c, models; from permits.work.models import Permit as P; "
        "from permits.work import triggers as t\n"
        "old = P._meta.get_field('reason'); new = models.TextField(null=True)\n"
        "new.set_attributes_from_name('reason'); new.model = P\n"
        "with c.schema_editor() as e:\n"
        " t.lift_triggers(e); e.alter_field(P, old, new); e.alter_field(P, new, old); t.install_triggers(e)\n"
        "print('missing:', t.missing_triggers(c))"
    )
    assert "missing: []" in process(here, "manage.py", "shell", "--no-imports", "-c", rebuild)
    process(here, "manage.py", "migrate", "work", "0005", "--skip-checks", "--verbosity", "0")
    assert "no issues" in process(
        here, "manage.py", "check", "--tag", "work"
    )  # not there yet, so not missing


@on_sqlite
@pytest.mark.postgresql
def test_the_same_holds_on_postgresql(tmp_path, postgresql_url):  # noqa: F811
    here = {"DATABASE_URL": postgresql_url, "PERMITS_DATA": str(tmp_path)}
    said = process(here, "-m", "pytest", __file__, "-p", "no:cacheprovider", "-p", "no:xdist")
    assert " passed" in said
