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
from django.db.models import Q, UniqueConstraint

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


def value(statement):
    with connection.cursor() as cursor:
        cursor.execute(statement)
        return cursor.fetchone()[0]


def refused(statement, words):
    with pytest.raises(IntegrityError, match=words), transaction.atomic():
        sql(statement)


@jobs.remembered
def everything(job):  # noqa: F811
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
def at_work(job):  # noqa: F811
    """An open permit with something of everything, ended and not."""
    return everything(job)


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
OVER_PEOPLE = [
    ("UPDATE work_lock SET removed_at = '2030-01-01' WHERE removed_at IS NULL", triggers.LAST_LOCK),
    ("UPDATE work_permit SET phase = 'cancelled', ended_at = ends_at", triggers.ENDS_EMPTY),
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


def replacing(table, condition="1 = 1", **changes):
    """INSERT OR REPLACE the rows, each with some columns' values changed."""
    names = [f.column for f in MODELS[table]._meta.fields]
    listed = ", ".join(f'"{name}"' for name in names)
    values = ", ".join(changes.get(name, f'"{name}"') for name in names)
    return f"INSERT OR REPLACE INTO {table} ({listed}) SELECT {values} FROM {table} WHERE {condition}"


@pytest.fixture(params=["ON", "OFF"])
def recursive(request, db):
    """Without recursive triggers REPLACE deletes silently; other programs don't switch them on."""
    sql(f"PRAGMA recursive_triggers={request.param}")
    yield
    sql("PRAGMA recursive_triggers=ON")


@on_sqlite
def test_replacing_a_row_is_deleting_it(at_work, recursive):
    for table in (triggers.PERMIT, *triggers.PARTS):
        assert MODELS[table].objects.exists(), f"nothing in {table} to try it on"
        refused(replacing(table), triggers.NO_REPLACE)
    assert replay(at_work.site).differences == []


@on_sqlite
def test_a_permit_that_is_over_is_not_reopened_by_replacing_it(over, recursive):
    for changes in (
        {"phase": "'isolated'", "ended_at": "NULL"},
        {"phase": "'isolated'", "ended_at": "NULL", "id": "id + 1000"},
        {"phase": "'isolated'", "ended_at": "NULL", "id": "NULL", "reference": "'P-900'"},
        {"phase": "'isolated'", "ended_at": "NULL", "id": "NULL", "number": "900"},
    ):
        refused(replacing("work_permit", **changes), triggers.NO_REPLACE)
    assert replay(over.site).differences == []


@on_sqlite
def test_no_row_makes_room_for_another_with_its_key(at_work, recursive):
    """A padlock that hangs is not moved to another place, and so on for every unique key."""
    hangs = "id = (SELECT MIN(id) FROM work_lock WHERE removed_at IS NULL)"
    anew = {"id": "NULL", "n": "900"}
    refused(
        replacing("work_lock", hangs, **anew, where="'C1-QM9'", owner="'ZZZZZZZZ'"),
        "one_padlock_is_in_one_place",
    )
    refused(replacing("work_lock", hangs, **anew, padlock="'999'"), "one_live_lock_per_person_and_point")
    tried = 0
    for table, keys in triggers.UNIQUE.items():
        for key in keys.values():
            ends = "" if "n" in key or table == triggers.PERMIT else triggers.PARTS[table].ends
            still = f'"{ends}" IS NULL' if ends else "1 = 1"
            others = {"id": "NULL"} | ({} if "n" in key or table == triggers.PERMIT else {"n": "900"})
            found = value(f"SELECT MIN(id) FROM {table} WHERE {still}")
            if found is not None:
                refused(replacing(table, f"id = {found}", **others), triggers.NO_REPLACE)
                tried += 1
    assert tried > 15


@on_sqlite
def test_what_has_ended_makes_room_for_what_begins(at_work):
    """The triggers know when a key is free again, as the constraints do: a padlock hangs once more."""
    lock = at_work.row.locks.exclude(removed_at=None).exclude(where="box").first()
    values = {f.attname: getattr(lock, f.attname) for f in lock._meta.fields if f.name != "id"}
    values |= {"n": 900, "padlock": "999", "where": "C1-QM9", "removed_at": None}
    assert rows.Lock.objects.create(**values).pk


def test_every_unique_constraint_is_guarded_against_replacing():
    for table in (triggers.PERMIT, *triggers.PARTS):
        ends = triggers.PARTS[table].ends if table in triggers.PARTS else ""
        kept = {}
        for one in MODELS[table]._meta.constraints:
            if isinstance(one, UniqueConstraint):
                kept[one.name] = tuple(MODELS[table]._meta.get_field(name).column for name in one.fields)
                lives = "" if "n" in one.fields or not ends else ends
                assert one.condition == (Q(**{lives: None}) if lives else None), one.name
        assert kept == triggers.UNIQUE[table]
        assert not [f for f in MODELS[table]._meta.fields if f.unique and not f.primary_key]


# ── nobody is inside what ends ──────────────────────────────────────────────────────────────────────────


OFF = "UPDATE work_lock SET removed_at = '2030-01-01 00:00:00' WHERE removed_at IS NULL"
OVER = (Phase.CLOSED.value, Phase.CANCELLED.value)
SIGN_OFF = "UPDATE work_crewsignon SET off_at = '2030-01-01 00:00:00' WHERE off_at IS NULL"


@pytest.fixture
def inside(at_work):
    """Two people signed on, each point with one lock."""
    return at_work.sign_on("odo", "203").sign_on("wim", "204")


def test_the_last_lock_of_a_point_stays_while_someone_is_signed_on(inside):
    point = inside.row.locks.filter(removed_at=None).exclude(where="box").first()
    refused(OFF, triggers.LAST_LOCK)
    refused(f"{OFF} AND id = {point.pk}", triggers.LAST_LOCK)
    values = {f.attname: getattr(point, f.attname) for f in point._meta.fields if f.name != "id"}
    rows.Lock.objects.create(**values | {"n": 900, "padlock": "999", "owner": "ZZZZZZZZ"})
    refused(f"{OFF} AND \"where\" = '{point.where}'", triggers.LAST_LOCK)  # both at once
    assert sql(f"{OFF} AND id = {point.pk}") == 1  # the other is the last now
    refused(f"{OFF} AND n = 900", triggers.LAST_LOCK)
    assert sql(f"{SIGN_OFF} AND padlock = '203'") == 1
    refused(OFF, triggers.LAST_LOCK)  # one is still in
    assert sql(SIGN_OFF) == 1
    assert sql(OFF) > 1


def test_a_permit_does_not_end_over_a_lock_or_over_people(inside):
    closed, cancelled = (f"UPDATE work_permit SET phase = '{p}', ended_at = ends_at" for p in OVER)
    refused(closed, triggers.ENDS_EMPTY)
    refused(cancelled, triggers.ENDS_EMPTY)
    assert sql(SIGN_OFF) == 2
    assert sql(f"{OFF} AND \"where\" = 'box'") == 2
    refused(closed, triggers.ENDS_EMPTY)  # the points' locks hang
    refused(cancelled, triggers.ENDS_EMPTY)
    assert sql(OFF) > 1
    assert sql(closed) == 1


def test_a_permit_does_not_end_over_who_is_signed_on_without_any_lock(at_work):
    assert sql(OFF) > 1
    on = at_work.row.crew.first()
    rows.CrewSignOn.objects.create(permit=at_work.row, n=900, person=on.person, on_at=on.on_at)
    refused("UPDATE work_permit SET phase = 'cancelled', ended_at = ends_at", triggers.ENDS_EMPTY)


# ── who owns the tables ─────────────────────────────────────────────────────────────────────────────────


@on_postgresql
def test_the_applications_role_can_work_and_cannot_take_the_triggers_away(at_work):
    sql("CREATE ROLE plant_application NOLOGIN")
    sql("GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA public TO plant_application")
    sql("GRANT USAGE ON ALL SEQUENCES IN SCHEMA public TO plant_application")
    sql("SET CONSTRAINTS ALL IMMEDIATE")
    sql("SET ROLE plant_application")
    at_work.sign_on("odo", "203")  # what it is for
    for statement, words in OVER_PEOPLE:
        refused(statement, words)
    at_work.sign_off("odo")
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
        cwd=ROOT, env=os.environ | environment, capture_output=True, text=True, timeout=500, check=False,
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
