"""What the database itself refuses: entries or receipts changed or deleted, gaps, forks, a head going back.

A migration of this room lifts the triggers first and installs them last: SQLite drops a table's triggers when
Django rebuilds the table, and refuses to rename one that another table's trigger mentions.

They also refuse the flush at the end of a test marked `django_db(transaction=True)`: such tests need a
database of their own. An owner of the database can drop them; verify.py finds what was done after that.
"""

from collections.abc import Mapping
from typing import Final

from django.db import NotSupportedError
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

ENTRY, RECEIPT, HEAD = "ledger_entry", "ledger_receipt", "ledger_head"

_FOLLOWS: Final = """
    (NEW.number = 1 AND NEW.previous = '{genesis}'
     OR EXISTS (SELECT 1 FROM ledger_entry
                WHERE head_id = NEW.head_id AND number = NEW.number - 1 AND digest = NEW.previous))
    AND NOT EXISTS (SELECT 1 FROM ledger_entry WHERE head_id = NEW.head_id AND number >= NEW.number)
    AND NOT EXISTS (SELECT 1 FROM ledger_entry WHERE head_id = NEW.head_id AND previous = NEW.previous)
    AND NOT EXISTS (SELECT 1 FROM ledger_entry WHERE head_id = NEW.head_id AND digest = NEW.digest)
""".format(genesis="0" * 64)

_FORWARD: Final = """
    NEW.id = OLD.id AND NEW.name = OLD.name
    AND (NEW.number = OLD.number AND NEW.digest = OLD.digest
         AND (NEW.last_at = OLD.last_at OR NEW.last_at IS NULL AND OLD.last_at IS NULL)
         OR NEW.number > OLD.number
         AND EXISTS (SELECT 1 FROM ledger_entry
                     WHERE head_id = OLD.id AND number = NEW.number AND digest = NEW.digest))
"""

_NO_CHANGE: Final = "the ledger is append-only: {} are never changed, deleted or replaced"
_NOT_NEXT: Final = "an entry has to follow the last one of its ledger"
_ONLY_FORWARD: Final = "a ledger''s head moves only forward, to an entry that exists, and keeps its name"
_WORDS: Final = {ENTRY: "entries", RECEIPT: "receipts", HEAD: "heads"}


def _sqlite() -> Mapping[tuple[str, str], str]:
    """(table, trigger) → its CREATE statement for SQLite.

    Those BEFORE INSERT also stop INSERT OR REPLACE, which passes by DELETE triggers unless a connection asks
    for recursive ones.
    """

    def trigger(name: str, event: str, table: str, message: str, unless: str = "0") -> str:
        return (
            f"CREATE TRIGGER {name} BEFORE {event} ON {table} WHEN NOT ({unless}) "
            f"BEGIN SELECT RAISE(ABORT, '{message}'); END"
        )

    def new(table: str, other: str) -> str:
        return f"NOT EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id OR {other})"

    unless = {
        (ENTRY, "INSERT"): f"{_FOLLOWS} AND NOT EXISTS (SELECT 1 FROM {ENTRY} WHERE id = NEW.id)",
        (RECEIPT, "INSERT"): new(RECEIPT, "head_id = NEW.head_id AND key = NEW.key"),
        (HEAD, "INSERT"): new(HEAD, "name = NEW.name"),
        (HEAD, "UPDATE"): _FORWARD,
    }
    message = {(ENTRY, "INSERT"): _NOT_NEXT, (HEAD, "UPDATE"): _ONLY_FORWARD}
    return {
        (table, f"{table}_{event.lower()}"): trigger(
            f"{table}_{event.lower()}",
            event,
            table,
            message.get((table, event), _NO_CHANGE.format(_WORDS[table])),
            unless.get((table, event), "0"),
        )
        for table in (ENTRY, RECEIPT, HEAD)
        for event in ("INSERT", "UPDATE", "DELETE")
    }


_POSTGRESQL_FUNCTIONS: Final = {
    "ledger_refuse_change": "RAISE EXCEPTION USING ERRCODE = '23000', MESSAGE = TG_ARGV[0]; RETURN NULL;",
    "ledger_entry_is_next": f"""
        IF NOT ({_FOLLOWS}) THEN
            RAISE EXCEPTION USING ERRCODE = '23000', MESSAGE = '{_NOT_NEXT}';
        END IF;
        RETURN NEW;""",
    "ledger_head_is_forward": f"""
        IF NOT ({_FORWARD}) THEN
            RAISE EXCEPTION USING ERRCODE = '23000', MESSAGE = '{_ONLY_FORWARD}';
        END IF;
        RETURN NEW;""",
}


def _postgresql() -> Mapping[tuple[str, str], str]:
    """(table, trigger) → its CREATE statement for PostgreSQL. TRUNCATE fires none but its own triggers."""

    def trigger(table: str, event: str) -> str:
        rows = "STATEMENT" if event == "TRUNCATE" else "ROW"
        call = f"ledger_refuse_change('{_NO_CHANGE.format(_WORDS[table])}')"
        if (table, event) == (ENTRY, "INSERT"):
            call = "ledger_entry_is_next()"
        elif (table, event) == (HEAD, "UPDATE"):
            call = "ledger_head_is_forward()"
        name = f"{table}_{event.lower()}"
        return f"CREATE TRIGGER {name} BEFORE {event} ON {table} FOR EACH {rows} EXECUTE FUNCTION {call}"

    return {
        (table, f"{table}_{event.lower()}"): trigger(table, event)
        for table in (ENTRY, RECEIPT, HEAD)
        for event in ("INSERT", "UPDATE", "DELETE", "TRUNCATE")
        if (table, event) not in {(RECEIPT, "INSERT"), (HEAD, "INSERT")}
    }


def statements(vendor: str) -> Mapping[tuple[str, str], str]:
    """(table, trigger) → its CREATE statement. Raises NotSupportedError for a database with none of ours."""
    match vendor:
        case "sqlite":
            return _sqlite()
        case "postgresql":
            return _postgresql()
        case _:
            raise NotSupportedError(
                f"the ledger has no append-only triggers for database {vendor!r}; use SQLite or PostgreSQL"
            )


def lift_triggers(schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Take the triggers away, as a migration's first step; NotSupportedError for other databases."""
    vendor = schema_editor.connection.vendor
    for table, name in statements(vendor):
        where = f" ON {table}" if vendor == "postgresql" else ""
        schema_editor.execute(f"DROP TRIGGER IF EXISTS {name}{where}", params=None)


def install_triggers(schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Put every trigger in place anew; the last step of each migration of this room.

    Raises NotSupportedError for a database without triggers of ours.
    """
    lift_triggers(schema_editor)
    vendor = schema_editor.connection.vendor
    if vendor == "postgresql":
        for name, code in _POSTGRESQL_FUNCTIONS.items():
            schema_editor.execute(
                f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql "
                f"AS $$BEGIN {code} END$$",
                params=None,
            )
    for statement in statements(vendor).values():
        schema_editor.execute(statement, params=None)


def missing_triggers(connection: BaseDatabaseWrapper) -> list[str]:
    """Names of triggers that should be in this database and are not (or are switched off), sorted.

    Empty where the ledger's tables don't exist yet. Raises NotSupportedError for an unknown database.
    """
    wanted = statements(connection.vendor)
    with connection.cursor() as cursor:
        tables = set(connection.introspection.table_names(cursor))
        if connection.vendor == "sqlite":
            cursor.execute("SELECT tbl_name, name FROM sqlite_master WHERE type = 'trigger'")
        else:
            cursor.execute(
                "SELECT tgrelid::regclass::text, tgname FROM pg_trigger "
                "WHERE NOT tgisinternal AND tgenabled IN ('O', 'A')"
            )
        there = {(str(table), str(name)) for table, name in cursor.fetchall()}
    return sorted(name for table, name in wanted if table in tables and (table, name) not in there)
