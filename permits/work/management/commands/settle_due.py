"""settle_due: write what fell due (expiry, lapses, sanctions that ran out), once or every so many seconds."""

from __future__ import annotations

import time
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.utils.timezone import now

from permits.people.models import Site
from permits.work.actions import settle_site


class Command(BaseCommand):
    help = (
        "Write what fell due into each site's ledger, with its due time. Every command does so before it "
        "is decided; this keeps the ledger up to date when nobody is at a page."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--every", type=int, metavar="SECONDS", help="go on, once every so many seconds")

    def handle(self, *args: Any, every: int | None, **options: Any) -> None:
        while True:
            for site in Site.objects.order_by("code"):
                if written := settle_site(site=site, at=now()):
                    entries = "entry" if written == 1 else "entries"
                    self.stdout.write(f"{site.code}: {written} {entries} fell due")
            if every is None:
                return
            time.sleep(every)
