"""`python manage.py replay_ledger [--site CODE]`: do the tables say what the ledger says?"""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from permits.calibration.rules.facts import Fact
from permits.people.models import Site
from permits.records.allowed import FOLDED, compared_who_may
from permits.records.difference import Difference
from permits.records.replay import Replayed, replay


class Command(BaseCommand):
    help = (
        "Fold each site's ledger into permits again, with the same rules, and into roles, authorisations, "
        "hosts and the site's numbers, and compare them with the tables. Facts of calibration and of the "
        "plant, passwords and PINs are skipped and counted. Exit status 0: no difference; 1: the first "
        "difference is named; 2: no such site. Run verify_ledger first: this one trusts entries."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--site", metavar="CODE", help="only the site with this code")

    def handle(self, *args: Any, site: str | None, **options: Any) -> None:
        differing = 0
        sites = sites_named(site)
        for one in sites:
            done = replay(one)
            done.differences += compared_who_may(one)
            self.stdout.write(in_words(one, done))
            differing += bool(done.differences)
        if not sites:
            self.stdout.write("There is no site yet, so there is nothing to replay.")
        if differing:
            raise CommandError(f"{differing} of {len(sites)} sites differ from their ledger.", returncode=1)


def sites_named(code: str | None) -> list[Site]:
    sites = list(Site.objects.order_by("code"))
    if code is None:
        return sites
    named = [site for site in sites if site.code == code]
    if not named:
        known = ", ".join(site.code for site in sites) or "none"
        raise CommandError(f"There is no site {code!r}; there are: {known}.", returncode=2)
    return named


def in_words(site: Site, done: Replayed) -> str:
    calibration = sum(count for kind, count in done.skipped.items() if kind in set(Fact))
    who_may = sum(done.skipped[kind] for kind in FOLDED)
    others = sum(done.skipped.values()) - calibration - who_may
    skipped = (
        f"skipped: {calibration} facts of calibration, {others} of the plant, passwords and PINs; "
        f"who may do what: from {who_may} entries"
    )
    if not done.differences:
        return f"{site.code}: no difference, {done.permits} permits from {done.entries} entries ({skipped})"
    first = said(done.differences[0])
    more = f", and {len(done.differences) - 1} more" if len(done.differences) > 1 else ""
    return f"{site.code}: DIFFERENT: {first}{more} ({skipped})"


def said(one: Difference) -> str:
    where = f"entry {one.entry}: " if one.entry is not None else ""
    what = f"permit {one.permit}" if one.permit else "whole site"
    return f"{where}{what}: {one.what}"
