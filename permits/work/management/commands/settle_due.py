"""settle_due: write what fell due (expiry, lapses, sanctions that ran out) and mail what has not left yet."""

from __future__ import annotations

import time
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.utils.timezone import now

from permits.people.models import Site
from permits.work import mail
from permits.work.actions import settle_site


class Command(BaseCommand):
    help = (
        "Write what fell due into each site's ledger, with its due time. Every command does so before it "
        "is decided; this keeps the ledger up to date when nobody is at a page. Mail that a server did not "
        "take is tried again, for twelve hours."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--every", type=int, metavar="SECONDS", help="go on, once every so many seconds")

    def handle(self, *args: Any, every: int | None, **options: Any) -> None:
        while True:
            for site in Site.objects.order_by("code"):
                if written := settle_site(site=site, at=now()):
                    entries = "entry" if written == 1 else "entries"
                    self.stdout.write(f"{site.code}: {written} {entries} fell due")
            if left := mail.send_waiting(now()):
                self.stdout.write(f"{left} {'message' if left == 1 else 'messages'} left by mail")
            if every is None:
                return
            time.sleep(every)
