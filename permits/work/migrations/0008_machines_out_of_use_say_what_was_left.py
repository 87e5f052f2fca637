"""What is out of use gets a table of its own, which says what was left open."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("people", "0002_contractors_have_a_host"),
        ("work", "0007_nothing_ends_over_who_is_inside"),
    ]

    operations = [
        migrations.CreateModel(
            name="OutOfUse",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("machine", models.CharField(max_length=64)),
                ("permit", models.CharField(max_length=16)),
                ("axes", models.JSONField()),
                ("defects", models.JSONField()),
                ("any_axis", models.BooleanField()),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="people.site"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("site", "machine"), name="a_machine_is_out_of_use_once")
                ],
            },
        ),
    ]
