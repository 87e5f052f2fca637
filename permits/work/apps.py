"""Registers the work room with Django, and has the plant ask it when the graph changes."""

from django.apps import AppConfig
from django.core.checks import register


class WorkConfig(AppConfig):
    name = "permits.work"
    label = "work"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from permits.plant import reproving, standing
        from permits.work import actions
        from permits.work.checks import check_triggers
        from permits.work.standing import standing as of_permits

        reproving.on_change(actions.plant_has_changed)
        reproving.on_removal(actions.carries_locks)
        standing.who_knows(of_permits)
        register(check_triggers, "work")
