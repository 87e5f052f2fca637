"""Work on an axis says whether it owed its as-left check when it was opened, and whether it was proven as found."""

from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies = [("calibration", "0003_certificates_kept")]
    operations = [
        migrations.AddField(
            model_name="axiswork",
            name="owed_at_opening",
            field=models.CharField(blank=True, default="", max_length=16),
        ),
        migrations.AddField(
            model_name="axiswork", name="proven_as_found", field=models.BooleanField(default=False)
        ),
        migrations.AddConstraint(
            model_name="axiswork",
            constraint=models.CheckConstraint(
                condition=Q(proven_as_found=False)
                | (Q(state="closed", corrections=0) & ~Q(owed_at_opening="")),
                name="proven_as_found_is_owed_uncorrected_and_closed",
            ),
        ),
    ]
