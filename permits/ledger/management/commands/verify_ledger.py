"""`python manage.py verify_ledger [--site NAME] [--kept NUMBER:DIGEST]`: names a ledger's first bad entry."""

import json
import re
from collections.abc import Mapping
from dataclasses import asdict
from datetime import datetime, timedelta
from typing import Any, Final

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError
from django.utils.timezone import now

from permits.ledger.models import Head
from permits.ledger.verify import Verdict, verify

FUTURE: Final = timedelta(minutes=1)
"""How far ahead of now the last entry may lie: two servers' clocks differ by less."""
FEWEST: Final = 16
"""The fewest digits that say enough: as many as a printed record has beside each of its entries."""


class Command(BaseCommand):
    help = (
        "Recomputes each site's ledger from its raw entries. Exit status 0: every entry is sound; "
        "1: the first bad entry is named; 2: there is no such ledger, or no tables; 3: every entry is sound, "
        "but a last one lies in the future: the clock is wrong, or was when it was written. Who owns the "
        "database can write a whole ledger anew, and every entry is sound again; a digest that was kept "
        "elsewhere, as the printed records show them, finds that: --kept."
    )
    requires_system_checks = []  # a ledger has to be verifiable above all when something is wrong

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--site", metavar="NAME", help="only the ledger of this name")
        parser.add_argument(
            "--kept",
            metavar="NUMBER:DIGEST",
            action="append",
            default=[],
            help=f"an entry's digest, or its first digits ({FEWEST} at least), that was kept elsewhere; "
            "can be given again. With more than one ledger, name the one with --site",
        )
        parser.add_argument("--format", choices=["text", "json"], default="text")

    def handle(self, *args: Any, **options: Any) -> None:
        as_json = options["format"] == "json"
        verdicts: dict[str, Verdict] = {}
        ahead: dict[str, int] = {}
        heads, kept = _heads(options["site"]), _kept(options["kept"])
        if kept and len(heads) != 1:
            raise CommandError(f"Of which ledger is it? Name one with --site: {_names(heads)}.", returncode=2)
        for head in heads:
            verdicts[head.name] = verdict = verify(head, kept)
            ahead[head.name] = _ahead(head, now()) if verdict.ok else 0
            if not as_json:
                self.stdout.write(_line(head.name, verdict, kept, ahead[head.name]))
        bad = sum(not verdict.ok for verdict in verdicts.values())
        if as_json:
            ledgers = [
                {"ledger": name, **asdict(verdict), "ahead_s": ahead[name]}
                for name, verdict in verdicts.items()
            ]
            self.stdout.write(json.dumps({"ok": not bad, "ledgers": ledgers}, ensure_ascii=False, indent=2))
        elif not verdicts:
            self.stdout.write("There is no ledger yet, so there is nothing to verify.")
        if bad:
            raise CommandError(f"{bad} of {len(verdicts)} ledgers can't be trusted.", returncode=1)
        if future := sum(map(bool, ahead.values())):
            ends = f"{future} of {len(verdicts)} ledgers end in the future"
            raise CommandError(f"{ends}: the clock is wrong, or was.", returncode=3)


def _heads(name: str | None) -> list[Head]:
    try:
        heads = list(Head.objects.only("name").order_by("name"))
    except DatabaseError as error:
        raise CommandError(
            f"The ledger's tables can't be read ({error}). Has `python manage.py migrate` been run?",
            returncode=2,
        ) from error
    if name is None:
        return heads
    named = [head for head in heads if head.name == name]
    if not named:
        raise CommandError(f"There is no ledger named {name!r}; there are: {_names(heads)}.", returncode=2)
    return named


def _ahead(head: Head, at: datetime) -> int:
    """By how many seconds the last entry lies in the future; 0 where it does not, or by next to nothing."""
    last = Head.objects.values_list("last_at", flat=True).get(pk=head.pk)
    return int((last - at).total_seconds()) if last is not None and last - at > FUTURE else 0


def _names(heads: list[Head]) -> str:
    return ", ".join(head.name for head in heads) or "none"


def _kept(arguments: list[str]) -> Mapping[int, str]:
    """Entry number → its digest or the start of it, in lower case."""
    kept: dict[int, str] = {}
    for argument in arguments:
        parts = re.fullmatch(rf"0*([1-9]\d{{0,17}}):([0-9a-f]{{{FEWEST},64}})", argument.strip().lower())
        if parts is None:
            raise CommandError(
                f"{argument!r} is no kept digest; 17:3f9c… would be right: the entry's number, a colon, and "
                f"the {FEWEST} to 64 digits from 0 to f that were kept.",
                returncode=2,
            )
        number, digest = int(parts[1]), parts[2]
        if number in kept:
            raise CommandError(f"Entry {number} is given twice; give each once.", returncode=2)
        kept[number] = digest
    return kept


def _line(name: str, verdict: Verdict, kept: Mapping[int, str], ahead: int) -> str:
    if verdict.ok:
        also = ", with the digest that was kept of " + ", ".join(map(str, sorted(kept))) if kept else ""
        future = f", but the last one lies {ahead // 60} min in the future" if ahead else ""
        return f"{name}: sound, {verdict.entries} entries{also}{future}"
    where = "" if verdict.first_bad is None else f" at entry {verdict.first_bad}"
    return f"{name}: BAD{where}: {verdict.what} ({verdict.entries} sound entries before that)"
