"""export_plant: a site's machines and energy graph as a file that import_plant takes back."""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any, NoReturn

from django.core.management.base import BaseCommand

from permits.people.models import Site
from permits.plant.forms.files import as_text
from permits.plant.sheets import as_csv_files, as_workbook
from permits.plant.store import to_plant_file

_FORMATS = {
    "json": lambda plant: as_text(plant).encode(),
    "xlsx": as_workbook,
    "csv": as_csv_files,
}
_ENDINGS = {".json": "json", ".xlsx": "xlsx", ".zip": "csv"}


class Command(BaseCommand):
    help = (
        "Write a site's plant to a file: JSON, a workbook (XLSX), or CSV files in a zip. Importing the file "
        "again changes nothing. Exit status 2 where there is no such site, or the file can't be written."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("site", metavar="CODE", help="the site")
        parser.add_argument("file", metavar="FILE", help="the file to write, or - for standard output")
        parser.add_argument(
            "--format", choices=sorted(_FORMATS), help="default: by the file's ending, .json, .xlsx or .zip"
        )

    def handle(self, *args: Any, site: str, file: str, **options: Any) -> None:
        format = options["format"] or _ENDINGS.get(Path(file).suffix.lower())
        if format is None:
            right = "a name that ends with .json, .xlsx or .zip, or --format"
            self._refuse(f"What to write to {file} is not said. Right would be {right}.")
        found = Site.objects.filter(code=site).first()
        if found is None:
            known = ", ".join(Site.objects.order_by("code").values_list("code", flat=True)[:20])
            right = f"one of {known}" if known else "to import a plant first"
            self._refuse(f"There is no site {site}. Right would be {right}.")
        content = _FORMATS[format](to_plant_file(found))
        try:
            _write(file, content)
        except OSError as error:
            wrong = error.strerror or error
            self._refuse(f"{file} can't be written: {wrong}. Right would be a file that can.")

    def _refuse(self, line: str) -> NoReturn:
        self.stderr.write(line)
        sys.exit(2)


def _write(file: str, content: bytes) -> None:
    """Whole or not at all: someone may be reading the file that is there."""
    if file == "-":
        sys.stdout.buffer.write(content)
        return
    path = Path(file)
    beside = path.with_name(path.name + ".part")
    beside.write_bytes(content)
    beside.replace(path)
