"""A clear confirmation by radio says who sees the area; those from before named nobody."""

from django.db import migrations, models

from permits.work.triggers import install, lift


class Migration(migrations.Migration):
    dependencies = [("work", "0009_what_is_out_of_use_as_entries_tell_it")]

    operations = [
        migrations.RunPython(lift, install),
        migrations.AddField(
            "confirmation", "seen_by", models.CharField(blank=True, default="", max_length=8), preserve_default=False
        ),
        migrations.RunPython(install, lift),
    ]
