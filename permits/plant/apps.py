"""Registers the plant room with Django."""

from django.apps import AppConfig


class PlantConfig(AppConfig):
    name = "permits.plant"
    label = "plant"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from permits.people import machines  # models are loaded only now
        from permits.plant.queries import machine_codes

        machines.known_machines = machine_codes
