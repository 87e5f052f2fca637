"""Registers the records room with Django."""

from django.apps import AppConfig


class RecordsConfig(AppConfig):
    name = "permits.records"
    label = "records"
    default_auto_field = "django.db.models.BigAutoField"
