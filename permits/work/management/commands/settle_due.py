"""settle_due: write what fell due (expiry, lapses, sanctions that ran out) and mail what has not left yet."""

from __future__ import annotations

import logging
import time
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import Error, close_old_connections
from django.utils.timezone import now

from permits.people.models import Site
from permits.work import mail
from permits.work.actions import settle_site

logger = logging.getLogger("permits.settle_due")

FAULTS = (Error, OSError)
"""What a database that is away, its full disk or its shut gate raise."""


class Command(BaseCommand):
    help = (
        "Write what fell due into each site's ledger, with its due time. Every command does so before it "
        "is decided; this keeps the ledger up to date when nobody is at a page. Mail that a server did not "
        "take is tried again, for twelve hours. Where the database fails, the other sites go on: with "
        "--every the rest is tried again in the next round, without it the exit status is 1."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--every", type=int, metavar="SECONDS", help="go on, once every so many seconds")

    def handle(self, *args: Any, every: int | None, **options: Any) -> None:
        while True:
            failed = self.round()
            if every is None:
                break
            time.sleep(every)
        if failed:
            raise CommandError(f"The database failed for {', '.join(failed)}; the log says how.")

    def round(self) -> list[str]:
        """Every site once, then the mail; what the database failed for, each told in one line of the log."""
        close_old_connections()  # one that broke in the last round would break this one as well
        try:
            sites = list(Site.objects.order_by("code"))
        except FAULTS as error:
            return [told("the list of sites", error)]
        failed = []
        for site in sites:
            try:
                self.settle(site)
            except FAULTS as error:
                failed.append(told(site.code, error))
        try:
            self.send_mail()
        except FAULTS as error:
            failed.append(told("mail", error))
        return failed

    def settle(self, site: Site) -> None:
        if written := settle_site(site=site, at=now()):
            entries = "entry" if written == 1 else "entries"
            self.stdout.write(f"{site.code}: {written} {entries} fell due")

    def send_mail(self) -> None:
        if left := mail.send_waiting(now()):
            self.stdout.write(f"{left} {'message' if left == 1 else 'messages'} left by mail")


def told(what: str, error: BaseException) -> str:
    """`what` the database failed for, once the log has its line and a broken connection is closed."""
    logger.error("settle_due: %s: %s: %s", what, type(error).__name__, " ".join(str(error).split()))
    close_old_connections()
    return what
