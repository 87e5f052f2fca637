"""Registers the calibration room with Django."""

from django.apps import AppConfig


class CalibrationConfig(AppConfig):
    name = "permits.calibration"
    label = "calibration"
    default_auto_field = "django.db.models.BigAutoField"
