"""Registers the work room with Django; the rooms below ask it about the plant's graph and who is inside."""

from django.apps import AppConfig
from django.core.checks import register


class WorkConfig(AppConfig):
    name = "permits.work"
    label = "work"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from permits.people import inside
        from permits.plant import reproving, standing
        from permits.work import actions
        from permits.work.checks import check_triggers
        from permits.work.standing import signed_on
        from permits.work.standing import standing as of_permits

        reproving.on_change(actions.plant_has_changed)
        reproving.on_removal(actions.carries_locks)
        standing.who_knows(of_permits)
        inside.who_knows(signed_on)
        register(check_triggers, "work")
