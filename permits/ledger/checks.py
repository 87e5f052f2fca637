"""System check: the ledger's triggers are in the database. Commands run it at their start."""

from collections.abc import Sequence
from typing import Any

from django.apps import AppConfig
from django.core.checks import CheckMessage, Error
from django.db import DatabaseError, NotSupportedError, connections

from permits.ledger.triggers import missing_triggers


def check_triggers(app_configs: Sequence[AppConfig] | None, **kwargs: Any) -> list[CheckMessage]:
    """One error: ledger.E001 names the missing triggers, ledger.E002 a database for which there are none.

    Silent before the first migration, and where the database can't be reached: the command itself says that.
    """
    try:
        missing = missing_triggers(connections["default"])
    except NotSupportedError as error:
        return [Error(str(error), hint="Set DATABASE_URL to PostgreSQL, or leave it out.", id="ledger.E002")]
    except DatabaseError:
        return []
    if not missing:
        return []
    return [
        Error(
            f"The database would let the ledger be rewritten: it lacks the triggers {', '.join(missing)}.",
            hint="Find out who removed them, run `python manage.py verify_ledger`, "
            "then `python manage.py protect_ledger`.",
            id="ledger.E001",
        )
    ]
