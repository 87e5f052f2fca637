"""A person's locks may come off under several permits in their absence: they are told of each."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("work", "0010_by_radio_somebody_is_named_who_sees")]

    operations = [
        migrations.RemoveConstraint("untold", "a_person_is_told_once"),
        migrations.AddConstraint(
            "untold",
            models.UniqueConstraint(
                fields=("site", "person", "permit"), name="a_person_is_told_of_a_permit_once"
            ),
        ),
    ]
