"""What the database itself refuses about permits: what is over changed, what ended undone, anything deleted.

The permit's rows are what the ledger says, so they change only as an event changes them: a lock comes off
once, a signature never changes, a permit that is over is never touched again. Two of the rules are said here
once more, row by row in the order in which store.py writes them: a permit does not end while a lock of it
hangs or someone is signed on, and the last lock of a point stays while someone is.

A migration of this room that alters these tables lifts the triggers first and installs them last (`lift` and
`install`, as RunPython): SQLite drops a table's triggers when Django rebuilds it. Which columns a table has
is asked of the database, so that a new one is fixed unless it is named here.

An owner of the tables can drop the triggers; `replay_ledger` finds what was changed after that, as long as
the entries are as they were (see permits/ledger/verify.py).
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.db import NotSupportedError
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

from permits.work.rules.words import BOX


@dataclass(frozen=True, slots=True)
class Part:
    """What may still change in a row of a permit's child table: `may_change`, until `ends` is no longer null.

    `ends` "" stands for a row that never changes. `grows`: a number that may only grow.
    """

    ends: str = ""
    may_change: tuple[str, ...] = ()
    grows: str = ""


PERMIT: Final = "work_permit"
LOCK: Final = "work_lock"
CREW: Final = "work_crewsignon"
PARTS: Final[Mapping[str, Part]] = {
    LOCK: Part("removed_at"),
    "work_storerelease": Part("undone_at"),
    "work_verification": Part("void_at"),
    CREW: Part("off_at"),
    "work_notice": Part(),
    "work_machinecheck": Part(),
    "work_defect": Part("ended_at", ("state", "ended_by", "how")),
    "work_confirmation": Part("void_at"),
    "work_sanction": Part("ended_at", ("cycle", "ready_at", "why_ended"), grows="cycle"),
    "work_jobseen": Part("closed_at", ("unproven", "proven")),
    "work_signature": Part(),
    "work_halt": Part("lifted_at", ("lifted_by", "how_lifted")),
    "work_acknowledgement": Part(),
}
UNIQUE: Final[Mapping[str, Mapping[str, tuple[str, ...]]]] = {
    PERMIT: {
        "one_permit_per_site_and_number": ("site_id", "number"),
        "one_permit_per_site_and_reference": ("site_id", "reference"),
    },
    LOCK: {
        "lock_has_its_place": ("permit_id", "n"),
        "one_padlock_is_in_one_place": ("site_id", "padlock"),
        "one_live_lock_per_person_and_point": ("permit_id", "where", "owner"),
    },
    "work_storerelease": {
        "release_has_its_place": ("permit_id", "n"),
        "one_live_release_per_permit_and_store": ("permit_id", "point"),
    },
    "work_verification": {"verification_has_its_place": ("permit_id", "n")},
    CREW: {
        "sign_on_has_its_place": ("permit_id", "n"),
        "one_is_signed_on_once_under_a_permit": ("permit_id", "person"),
    },
    "work_notice": {"notice_has_its_place": ("permit_id", "n")},
    "work_machinecheck": {"check_has_its_place": ("permit_id", "n")},
    "work_defect": {"defect_has_its_place": ("permit_id", "n")},
    "work_confirmation": {
        "confirmation_has_its_place": ("permit_id", "n"),
        "one_standing_confirmation_per_permit_and_area": ("permit_id", "area"),
    },
    "work_sanction": {
        "sanction_has_its_place": ("permit_id", "n"),
        "one_sanction_in_force_per_permit": ("permit_id",),
    },
    "work_jobseen": {
        "job_has_its_place": ("permit_id", "n"),
        "one_open_job_per_permit": ("permit_id",),
    },
    "work_signature": {"signature_has_its_place": ("permit_id", "n")},
    "work_halt": {"halt_has_its_place": ("permit_id", "n")},
    "work_acknowledgement": {
        "acknowledgement_has_its_place": ("permit_id", "n"),
        "one_acknowledges_a_notice_once": ("permit_id", "notice", "person"),
    },
}
"""Each table's unique constraints, by their columns: what INSERT OR REPLACE would make room for.

Those of a row that ends hold until it has, save that of its place.
"""
AS_ASKED: Final = (
    "id", "site_id", "reference", "number", "zones", "keep_live", "kind_of_work", "reason", "requested_by",
    "requested_at", "starts_at",
)  # fmt: skip

NO_DELETE: Final = "what a permit holds is ended, never deleted"
IS_OVER: Final = "a permit that is over stays as it is"
HAS_ENDED: Final = "what has ended under a permit stays ended"
IS_FIXED: Final = "what was signed or hung under a permit is never changed"
ONLY_FORWARD: Final = "a permit goes forward, and stays what was asked for"
ONE_SITE: Final = "a lock hangs at the site of its permit"
NO_REPLACE: Final = "what a permit holds is never replaced"
LAST_LOCK: Final = "the last lock of a point stays while someone is signed on under its permit"
ENDS_EMPTY: Final = "a permit does not end while a lock of it hangs or someone is signed on under it"

_OVER: Final = "phase IN ('closed', 'cancelled')"
_BACK: Final = """
    NEW.phase = 'requested' AND OLD.phase <> 'requested'
    OR NEW.phase = 'issued' AND OLD.phase NOT IN ('requested', 'issued')
    OR NEW.last_entry < OLD.last_entry OR OLD.ever_signed_on AND NOT NEW.ever_signed_on
"""

_SIGNED_ON: Final = f"EXISTS (SELECT 1 FROM {CREW} WHERE permit_id = {{}} AND off_at IS NULL)"
_ENDS_AT_WORK: Final = f"""
    NEW.{_OVER}
    AND (EXISTS (SELECT 1 FROM {LOCK} WHERE permit_id = NEW.id AND removed_at IS NULL)
         OR {_SIGNED_ON.format("NEW.id")})
"""
_LAST_COMES_OFF: Final = f"""
    OLD.removed_at IS NULL AND NEW.removed_at IS NOT NULL AND OLD."where" <> '{BOX}'
    AND NOT EXISTS (SELECT 1 FROM {LOCK} WHERE permit_id = OLD.permit_id AND "where" = OLD."where"
                    AND removed_at IS NULL AND id <> OLD.id)
    AND {_SIGNED_ON.format("OLD.permit_id")}
"""

Columns = Mapping[str, Sequence[str]]
"""Each table's columns as they are in the database."""


def _over(row: str) -> str:
    return f"EXISTS (SELECT 1 FROM {PERMIT} WHERE id = {row}.permit_id AND {_OVER})"


def _there_already(table: str, columns: Sequence[str]) -> Iterator[tuple[str, str]]:
    """The rows that a new one would replace, each with the constraint that it would break."""
    ends = PARTS[table].ends if table in PARTS else ""
    yield f"EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id)", NO_REPLACE
    for name, key in UNIQUE[table].items():
        if not set(key) <= set(columns):
            continue  # its column comes with a later migration
        same = " AND ".join(f'"{column}" = NEW."{column}"' for column in key)
        lives = "" if "n" in key or not ends else f' AND "{ends}" IS NULL AND NEW."{ends}" IS NULL'
        yield f"EXISTS (SELECT 1 FROM {table} WHERE {same}{lives})", f"{NO_REPLACE}: {name}"


def _sqlite(columns: Columns) -> Mapping[tuple[str, str], str]:
    """(table, trigger) → its CREATE statement for SQLite, for the tables that there are.

    Those BEFORE INSERT also stop INSERT OR REPLACE, which passes by DELETE triggers unless a connection asks
    for recursive ones: any program but ours.
    """

    def trigger(event: str, table: str, *refusals: tuple[str, str]) -> tuple[tuple[str, str], str]:
        name = f"{table}_{event.lower()}"
        cases = " ".join(f"WHEN {when} THEN RAISE(ABORT, '{message}')" for when, message in refusals)
        return (
            (table, name),
            f"CREATE TRIGGER {name} BEFORE {event} ON {table} BEGIN SELECT CASE {cases} END; END",
        )

    def differs(names: Sequence[str]) -> str:
        return " OR ".join(f'NEW."{name}" IS NOT OLD."{name}"' for name in names)

    made = []
    for table, part in PARTS.items():
        if table not in columns:
            continue
        fixed = [name for name in columns[table] if name not in {part.ends, *part.may_change}]
        ended = (f'OLD."{part.ends}" IS NOT NULL', HAS_ENDED) if part.ends else ("1", IS_FIXED)
        elsewhere = f"NEW.site_id <> (SELECT site_id FROM {PERMIT} WHERE id = NEW.permit_id)"
        made += [
            trigger(
                "INSERT",
                table,
                (_over("NEW"), IS_OVER),
                *([(elsewhere, ONE_SITE)] if table == LOCK else []),
                *_there_already(table, columns[table]),
            ),
            trigger(
                "UPDATE",
                table,
                (_over("OLD"), IS_OVER),
                ended,
                (differs(fixed), IS_FIXED),
                *([(f"NEW.{part.grows} < OLD.{part.grows}", ONLY_FORWARD)] if part.grows else []),
                *([(_LAST_COMES_OFF, LAST_LOCK)] if table == LOCK and CREW in columns else []),
            ),
            trigger("DELETE", table, ("1", NO_DELETE)),
        ]
    if PERMIT in columns:
        changed = f"{differs(AS_ASKED)} OR {_BACK}"
        empty = [(_ENDS_AT_WORK, ENDS_EMPTY)] if {LOCK, CREW} <= columns.keys() else []
        made += [
            trigger("INSERT", PERMIT, *_there_already(PERMIT, columns[PERMIT])),
            trigger("UPDATE", PERMIT, (f"OLD.{_OVER}", IS_OVER), (changed, ONLY_FORWARD), *empty),
            trigger("DELETE", PERMIT, ("1", NO_DELETE)),
        ]
    return dict(made)


def _raising(condition: str, message: str) -> str:
    return f"IF {condition} THEN RAISE EXCEPTION USING ERRCODE = '23000', MESSAGE = '{message}'; END IF;"


_AS_ASKED_CHANGED: Final = " OR ".join(f"NEW.{name} IS DISTINCT FROM OLD.{name}" for name in AS_ASKED)
_POSTGRESQL_FUNCTIONS: Final = {
    "work_refuse_change": "RAISE EXCEPTION USING ERRCODE = '23000', MESSAGE = TG_ARGV[0]; RETURN NULL;",
    # Waits for a transaction that is ending the permit, so that what it says of the permit is true at commit.
    "work_part_begins": f"""
        PERFORM 1 FROM {PERMIT} WHERE id = NEW.permit_id FOR KEY SHARE;
        {_raising(_over("NEW"), IS_OVER)}
        IF TG_TABLE_NAME = '{LOCK}' THEN
            {_raising(
                f"(to_jsonb(NEW) ->> 'site_id')::bigint <> "
                f"(SELECT site_id FROM {PERMIT} WHERE id = NEW.permit_id)", ONE_SITE
            )}
        END IF;
        RETURN NEW;""",
    # Its arguments: the column that ends the row, the number that grows or "", then what else may change.
    # Locks come off one transaction after the other, so that two last ones are not each other's excuse.
    "work_part_changes": f"""
        {_raising(_over("OLD"), IS_OVER)}
        {_raising("to_jsonb(OLD) ->> TG_ARGV[0] IS NOT NULL", HAS_ENDED)}
        {_raising("to_jsonb(NEW) - TG_ARGV IS DISTINCT FROM to_jsonb(OLD) - TG_ARGV", IS_FIXED)}
        IF TG_ARGV[1] <> '' THEN
            {_raising(
                "(to_jsonb(NEW) ->> TG_ARGV[1])::bigint < (to_jsonb(OLD) ->> TG_ARGV[1])::bigint",
                ONLY_FORWARD,
            )}
        END IF;
        IF TG_TABLE_NAME = '{LOCK}' THEN
            PERFORM 1 FROM {PERMIT} WHERE id = OLD.permit_id FOR UPDATE;
            {_raising(_LAST_COMES_OFF, LAST_LOCK)}
        END IF;
        RETURN NEW;""",
    "work_permit_changes": f"""
        {_raising(f"OLD.{_OVER}", IS_OVER)}
        {_raising(f"{_AS_ASKED_CHANGED} OR {_BACK}", ONLY_FORWARD)}
        IF NEW.{_OVER} THEN
            PERFORM 1 FROM {PERMIT} WHERE id = NEW.id FOR UPDATE;
            {_raising(_ENDS_AT_WORK, ENDS_EMPTY)}
        END IF;
        RETURN NEW;""",
}  # fmt: skip


def _postgresql(columns: Columns) -> Mapping[tuple[str, str], str]:
    """(table, trigger) → its CREATE statement for PostgreSQL. TRUNCATE fires none but its own triggers."""

    def trigger(event: str, table: str, function: str, *arguments: str) -> tuple[tuple[str, str], str]:
        name = f"{table}_{event.lower()}"
        rows = "STATEMENT" if event == "TRUNCATE" else "ROW"
        quoted = ", ".join(f"'{one}'" for one in arguments)
        call = f"{function}({quoted})"
        return (
            (table, name),
            f"CREATE TRIGGER {name} BEFORE {event} ON {table} FOR EACH {rows} EXECUTE FUNCTION {call}",
        )

    made = []
    for table, part in PARTS.items():
        if table not in columns:
            continue
        changes = trigger("UPDATE", table, "work_refuse_change", IS_FIXED)
        if part.ends:
            changes = trigger("UPDATE", table, "work_part_changes", part.ends, part.grows, *part.may_change)
        made += [trigger("INSERT", table, "work_part_begins"), changes]
    if PERMIT in columns:
        made.append(trigger("UPDATE", PERMIT, "work_permit_changes"))
    for table in (PERMIT, *PARTS):
        if table in columns:
            made += [
                trigger(event, table, "work_refuse_change", NO_DELETE) for event in ("DELETE", "TRUNCATE")
            ]
    return dict(made)


def statements(connection: BaseDatabaseWrapper) -> Mapping[tuple[str, str], str]:
    """(table, trigger) → its CREATE statement, for the tables and columns that this database has.

    Raises NotSupportedError for a database with none of ours.
    """
    makers = {"sqlite": _sqlite, "postgresql": _postgresql}
    if connection.vendor not in makers:
        raise NotSupportedError(f"there are no triggers of permits for database {connection.vendor!r}")
    with connection.cursor() as cursor:
        there = set(connection.introspection.table_names(cursor))
        columns = {
            table: [c.name for c in connection.introspection.get_table_description(cursor, table)]
            for table in (PERMIT, *PARTS)
            if table in there
        }
    return makers[connection.vendor](columns)


def lift_triggers(schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Take the triggers away, as a migration's first step; NotSupportedError for other databases."""
    connection = schema_editor.connection
    for table, name in statements(connection):
        where = f" ON {table}" if connection.vendor == "postgresql" else ""
        schema_editor.execute(f"DROP TRIGGER IF EXISTS {name}{where}", params=None)


def install_triggers(schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Put every trigger in place anew; the last step of each migration that alters these tables."""
    lift_triggers(schema_editor)
    if schema_editor.connection.vendor == "postgresql":
        for name, code in _POSTGRESQL_FUNCTIONS.items():
            schema_editor.execute(
                f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql "
                f"AS $$BEGIN {code} END$$",
                params=None,
            )
    for statement in statements(schema_editor.connection).values():
        schema_editor.execute(statement, params=None)


def lift(apps: Any, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """`lift_triggers`, for RunPython."""
    lift_triggers(schema_editor)


def install(apps: Any, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """`install_triggers`, for RunPython."""
    install_triggers(schema_editor)


def missing_triggers(connection: BaseDatabaseWrapper) -> list[str]:
    """Names of triggers that are not in this database as they should be, sorted: gone, switched off, or older
    than a column of their table. Empty where the tables don't exist yet.
    """
    wanted = statements(connection)
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT tbl_name, name, sql FROM sqlite_master WHERE type = 'trigger'")
            there = {(str(table), str(name)): str(sql) for table, name, sql in cursor.fetchall()}
            return sorted(name for (table, name), sql in wanted.items() if there.get((table, name)) != sql)
        cursor.execute(
            "SELECT tgrelid::regclass::text, tgname, pg_proc.proname, pg_proc.prosrc FROM pg_trigger "
            "JOIN pg_proc ON pg_proc.oid = tgfoid WHERE NOT tgisinternal AND tgenabled IN ('O', 'A')"
        )
        sound = {
            (str(table), str(name))
            for table, name, function, code in cursor.fetchall()
            if code == f"BEGIN {_POSTGRESQL_FUNCTIONS.get(function, '')} END"
        }
    return sorted(name for table, name in wanted if (table, name) not in sound)
