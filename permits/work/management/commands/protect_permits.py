"""`python manage.py protect_permits`: puts the triggers of the permit's tables back, say after a restore."""

from typing import Any

from django.core.management.base import BaseCommand
from django.db import connection

from permits.work.triggers import install_triggers, missing_triggers


class Command(BaseCommand):
    help = "Puts the triggers of the permit's tables back where they are missing. Changes no row."
    requires_system_checks = []  # the check that sends people here would stop them

    def handle(self, *args: Any, **options: Any) -> None:
        missing = missing_triggers(connection)
        if not missing:
            self.stdout.write("Nothing to do: every trigger of the permits is in place.")
            return
        with connection.schema_editor() as editor:
            install_triggers(editor)
        self.stdout.write(f"Put back: {', '.join(missing)}. Run `python manage.py replay_ledger` now.")
