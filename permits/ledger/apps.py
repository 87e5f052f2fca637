"""Registers the ledger room with Django."""

from django.apps import AppConfig
from django.core.checks import register


class LedgerConfig(AppConfig):
    name = "permits.ledger"
    label = "ledger"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from permits.ledger.checks import check_triggers  # models are loaded only now

        register(check_triggers, "ledger")
