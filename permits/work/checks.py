"""System check: the permit's triggers are in the database. Commands run it at their start."""

from collections.abc import Sequence
from typing import Any

from django.apps import AppConfig
from django.core.checks import CheckMessage, Error
from django.db import DatabaseError, NotSupportedError, connections
from django.db.migrations.recorder import MigrationRecorder

from permits.work.triggers import missing_triggers

INSTALLED_BY = "0007_nothing_ends_over_who_is_inside"
"""The last migration that changed what the triggers say: before it, those of an older version are right."""


def check_triggers(app_configs: Sequence[AppConfig] | None, **kwargs: Any) -> list[CheckMessage]:
    """One error, work.E001, names the triggers that are gone or out of date.

    Silent before the migration that installs them, and where the database can't be reached or is none of
    ours: the command itself, and the ledger's own check, say that.
    """
    connection = connections["default"]
    try:
        if ("work", INSTALLED_BY) not in MigrationRecorder(connection).applied_migrations():
            return []
        missing = missing_triggers(connection)
    except (NotSupportedError, DatabaseError):
        return []
    if not missing:
        return []
    return [
        Error(
            f"The database would let permits be rewritten: it lacks the triggers {', '.join(missing)}.",
            hint="Find out who removed them, or which migration left them out; "
            "run `python manage.py replay_ledger`, then `python manage.py protect_permits`.",
            id="work.E001",
        )
    ]
