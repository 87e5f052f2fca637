"""Of which permits people are to be told, by now, as the ledger's entries tell it.

So far the latest permit stood there alone. Going back keeps the latest, as it was.
"""

import json

from django.db import migrations

TAKEN_OFF, TOLD = ("ABSENT_LOCK_REMOVED", "ABSENT_SIGNED_OFF"), "RETURNED_TOLD"


def fill(apps, schema_editor):
    entries, untold = apps.get_model("ledger", "Entry").objects, apps.get_model("work", "Untold").objects
    for site in apps.get_model("people", "Site").objects.all():
        found = {}
        told_of = entries.filter(head_id=site.head_id, kind__in=(*TAKEN_OFF, TOLD))
        for entry in told_of.order_by("number"):
            data = json.loads(entry.body)["data"]
            if entry.kind == TOLD:
                found.pop(data["person"], None)
            else:
                found.setdefault(data["owner"], {})[entry.about.removeprefix("permit:")] = None
        untold.filter(site=site).delete()
        for person, permits in found.items():
            for permit in permits:
                untold.create(site=site, person=person, permit=permit)


def keep_the_latest(apps, schema_editor):
    untold = apps.get_model("work", "Untold").objects
    latest = {(row.site_id, row.person): row.pk for row in untold.order_by("pk")}
    untold.exclude(pk__in=latest.values()).delete()


class Migration(migrations.Migration):
    dependencies = [
        ("ledger", "0002_append_only"),
        ("work", "0011_whoever_was_absent_is_told_of_each_permit"),
    ]
    operations = [migrations.RunPython(fill, keep_the_latest)]
