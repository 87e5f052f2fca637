"""`python manage.py protect_ledger`: puts the ledger's append-only triggers back, say after a restore."""

from typing import Any

from django.core.management.base import BaseCommand
from django.db import connection

from permits.ledger.triggers import install_triggers, missing_triggers


class Command(BaseCommand):
    help = "Puts the ledger's append-only triggers back where they are missing. Changes no entry."
    requires_system_checks = []  # the check that sends people here would stop them

    def handle(self, *args: Any, **options: Any) -> None:
        missing = missing_triggers(connection)
        if not missing:
            self.stdout.write("Nothing to do: every trigger of the ledger is in place.")
            return
        with connection.schema_editor() as editor:
            install_triggers(editor)
        self.stdout.write(f"Put back: {', '.join(missing)}. Run `python manage.py verify_ledger` now.")
