"""Registers the work room with Django, and has the plant ask it when the graph changes."""

from django.apps import AppConfig


class WorkConfig(AppConfig):
    name = "permits.work"
    label = "work"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from permits.plant import reproving
        from permits.work import actions

        reproving.on_change(actions.plant_has_changed)
        reproving.on_removal(actions.carries_locks)
