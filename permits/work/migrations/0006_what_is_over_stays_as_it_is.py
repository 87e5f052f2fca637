"""The database refuses that anything of a permit is deleted, or what is over or has ended is changed.

Uses triggers.py on purpose: every later migration that alters these tables lifts the triggers first and installs
them last, so the triggers of now are always the ones in place.
"""

from django.db import migrations

from permits.work.triggers import install, lift


class Migration(migrations.Migration):
    dependencies = [("work", "0005_a_store_is_read_again_within_a_day")]
    operations = [migrations.RunPython(install, lift)]
