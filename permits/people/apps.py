"""Registers the people room with Django."""

from django.apps import AppConfig


class PeopleConfig(AppConfig):
    name = "permits.people"
    label = "people"
    default_auto_field = "django.db.models.BigAutoField"
