"""Work on an axis keeps the tolerance and the certificate of when it was opened; until now it looked them up."""

from django.db import migrations


def keep(apps, schema_editor):
    works = apps.get_model("calibration", "AxisWork").objects
    for work in works.filter(tolerance="").select_related("axis", "instrument"):
        work.tolerance = work.axis.tolerance
        work.expanded_uncertainty = work.instrument.expanded_uncertainty
        work.coverage_factor = work.instrument.coverage_factor
        work.resolution = work.instrument.resolution
        work.save(update_fields=["tolerance", "expanded_uncertainty", "coverage_factor", "resolution"])


class Migration(migrations.Migration):
    dependencies = [("calibration", "0002_axes_described")]
    operations = [migrations.RunPython(keep, migrations.RunPython.noop)]
