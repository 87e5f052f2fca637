"""A receipt keeps a digest of what was sent. Requests of before have none: sent again, they are shown, not repeated."""

from django.db import migrations, models

from permits.ledger.triggers import install_triggers, lift_triggers


def install(apps, schema_editor):
    install_triggers(schema_editor)


def lift(apps, schema_editor):
    lift_triggers(schema_editor)


class Migration(migrations.Migration):
    dependencies = [("ledger", "0002_append_only")]
    operations = [
        migrations.RunPython(lift, install),
        migrations.AddField("receipt", "content", models.CharField(default="", max_length=64)),
        migrations.RunPython(install, lift),
    ]
