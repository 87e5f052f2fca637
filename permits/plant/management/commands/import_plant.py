"""import_plant: make a site's machines and energy graph what a plant file says. All or nothing."""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any, NoReturn

from django.core.management.base import BaseCommand
from django.utils import timezone

from permits.ledger.author import Author
from permits.ledger.body import GENESIS
from permits.people.actions import Declined, add_site
from permits.people.models import Person, Site
from permits.plant.actions import ImportReport, PlantRefused, compare_plant, import_plant
from permits.plant.rules.plantfile import PlantFile, PlantFileErrors, parse
from permits.plant.sheets import SheetErrors, is_spreadsheet, plant_file_of, read
from permits.plant.store import to_plant_file

CONSOLE = Author("system:console", GENESIS)
"""Who imports when nobody is named: someone with access to the server, so there is no name to digest."""


class Command(BaseCommand):
    help = (
        "Make a site's machines and energy graph what a plant file says: what is new is added, what differs "
        "is changed, what is not in the file is taken out. The same file twice changes nothing. Anything "
        "wrong is said on standard error, with exit status 2, and nothing is changed. The file is JSON or a "
        "spreadsheet: XLSX, CSV files in a zip, or the CSV file of one list (the others stay as they are)."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", metavar="FILE", help="the plant file, or - for standard input")
        parser.add_argument("--site", metavar="CODE", help="the site, where the file has no code")
        parser.add_argument("--by", metavar="SIGN_IN", help="sign-in name of who imports it")
        parser.add_argument("--timezone", default="UTC", help="time zone of a site that is new (default UTC)")
        parser.add_argument("--dry-run", action="store_true", help="say what would change; change nothing")

    def handle(self, *args: Any, file: str, dry_run: bool, **options: Any) -> None:
        try:
            plant_file = _plant_file(file, options["site"])
        except OSError as error:
            self._refuse(file, [f"{error.strerror or error}. Right would be a file that can be read."])
        except (PlantFileErrors, SheetErrors) as errors:
            self._refuse(file, [str(error) for error in errors.errors])
        code = self._code(file, plant_file, options["site"])
        by = self._author(file, options["by"])
        site = Site.objects.filter(code=code).first()
        try:
            if dry_run:
                report = compare_plant(site=site, plant_file=plant_file)
            else:
                now = timezone.now()
                site = site or add_site(
                    code=code, name=plant_file.plant, timezone=options["timezone"], by=by, at=now
                )
                report = import_plant(site=site, plant_file=plant_file, by=by, at=now)
        except PlantRefused as refused:
            self._refuse(file, list(refused.reasons))
        except Declined as declined:
            self._refuse(file, [declined.message])
        self.stdout.write(_in_words(plant_file, code, report, dry_run=dry_run))

    def _code(self, file: str, plant_file: PlantFile, named: str | None) -> str:
        code = named or plant_file.code
        if not code:
            self._refuse(file, ["the file: code: is missing. Right would be a code in it, or --site CODE."])
        if plant_file.code and code != plant_file.code:
            self._refuse(
                file,
                [f"the file: code: is '{plant_file.code}', --site is '{code}'. Right would be one of them."],
            )
        return code

    def _author(self, file: str, sign_in: str | None) -> Author:
        if sign_in is None:
            return CONSOLE
        try:
            return Person.objects.get_by_natural_key(sign_in).author
        except Person.DoesNotExist:
            self._refuse(file, [f"--by: nobody signs in as '{sign_in}'. Right would be a sign-in name."])

    def _refuse(self, file: str, lines: list[str]) -> NoReturn:
        name = "Standard input" if file == "-" else file
        self.stderr.write(f"{name} was not imported, nothing was changed:")
        for line in lines:
            self.stderr.write(f"  {line}")
        sys.exit(2)


def _plant_file(file: str, named: str | None) -> PlantFile:
    """The file's plant. What a spreadsheet leaves out is taken from the plant that the site has now."""
    data = _read(file)
    if not is_spreadsheet(data, file):
        return parse(data)
    sheets = read(data, file)
    site = Site.objects.filter(code=named or sheets.code).first()
    return plant_file_of(sheets, to_plant_file(site) if site else None)


def _read(file: str) -> bytes:
    return sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()


def _in_words(plant_file: PlantFile, code: str, report: ImportReport, *, dry_run: bool) -> str:
    lines = [f"{plant_file.plant} ({code}), version {report.version}" + (", if imported" if dry_run else "")]
    for name, counts in report.lists.items():
        parts = ", ".join(f"{count} {what}" for what, count in counts.items())
        lines.append(f"  {name}: {parts}")
    return "\n".join(lines)
