"""Registers calibration with Django, and its conditions on the page of rules."""

from django.apps import AppConfig


class CalibrationConfig(AppConfig):
    name = "permits.calibration"
    label = "calibration"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from permits.calibration.queries.rules import chapter
        from permits.work import rulebook

        rulebook.also(chapter)
