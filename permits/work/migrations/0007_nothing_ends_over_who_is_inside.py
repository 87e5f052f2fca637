"""The database refuses that a row of a permit is replaced, and that a permit or its last lock ends over people.

Nothing of the tables changes, only the triggers of triggers.py: taken away and put in place as they are now.
"""

from django.db import migrations

from permits.work.triggers import install, lift


class Migration(migrations.Migration):
    dependencies = [("work", "0006_what_is_over_stays_as_it_is")]
    operations = [migrations.RunPython(lift, install), migrations.RunPython(install, lift)]
