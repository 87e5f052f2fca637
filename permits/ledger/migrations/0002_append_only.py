"""The database refuses whatever is not appending.

Uses triggers.py on purpose: every later migration of this room calls `lift_triggers` first and `install_triggers`
last, so the triggers of now are always the ones in place.
"""

from django.db import migrations

from permits.ledger.triggers import install_triggers, lift_triggers


def install(apps, schema_editor):
    install_triggers(schema_editor)


def lift(apps, schema_editor):
    lift_triggers(schema_editor)


class Migration(migrations.Migration):
    dependencies = [("ledger", "0001_initial")]
    operations = [migrations.RunPython(install, lift)]
