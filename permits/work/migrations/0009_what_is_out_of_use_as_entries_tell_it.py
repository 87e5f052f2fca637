"""Machines out of use by now, as the ledger's entries tell it."""

import json

from django.db import migrations

CLOSED, PROVEN = "CLOSED_OUT_OF_USE", "AXIS_PROVEN"


def fill(apps, schema_editor):
    """Entries so far name no axis, so an as-left check of any lifts it: as `rules/out_of_use.py` reads them."""
    get = apps.get_model
    entries, jobs = get("ledger", "Entry").objects, get("work", "JobSeen").objects
    for site in get("people", "Site").objects.all():
        since = {}
        for entry in entries.filter(head_id=site.head_id, kind__in=(CLOSED, PROVEN)).order_by("number"):
            data, permit = json.loads(entry.body)["data"], entry.about.removeprefix("permit:")
            if entry.kind == CLOSED:
                since |= dict.fromkeys(data["machines"], permit)
            else:
                job = jobs.get(permit__site=site, permit__reference=permit, number=data["job"])
                since.pop(job.machine, None)
        get("work", "OutOfUse").objects.bulk_create(
            get("work", "OutOfUse")(
                site=site, machine=machine, permit=permit, axes=[], defects=[], any_axis=True
            )
            for machine, permit in since.items()
        )


class Migration(migrations.Migration):
    dependencies = [
        ("ledger", "0002_append_only"),
        ("work", "0008_machines_out_of_use_say_what_was_left"),
    ]
    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
