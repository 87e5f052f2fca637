"""`python manage.py verify_ledger [--site NAME] [--format text|json]`: names a ledger's first bad entry."""

import json
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


class Command(BaseCommand):
    help = (
        "Recomputes each site's ledger from its raw entries. Exit status 0: every entry is sound; "
        "1: the first bad entry is named; 2: there is no such ledger, or no tables; 3: every entry is sound, "
        "but a last one lies in the future: the clock is wrong, or was when it was written."
    )
    requires_system_checks = []  # a ledger has to be verifiable above all when something is wrong

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--site", metavar="NAME", help="only the ledger of this name")
        parser.add_argument("--format", choices=["text", "json"], default="text")

    def handle(self, *args: Any, **options: Any) -> None:
        as_json = options["format"] == "json"
        verdicts: dict[str, Verdict] = {}
        ahead: dict[str, int] = {}
        for head in _heads(options["site"]):
            verdicts[head.name] = verdict = verify(head)
            ahead[head.name] = _ahead(head, now()) if verdict.ok else 0
            if not as_json:
                self.stdout.write(_line(head.name, verdict, ahead[head.name]))
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
        known = ", ".join(head.name for head in heads) or "none"
        raise CommandError(f"There is no ledger named {name!r}; there are: {known}.", returncode=2)
    return named


def _ahead(head: Head, at: datetime) -> int:
    """By how many seconds the last entry lies in the future; 0 where it does not, or by next to nothing."""
    last = Head.objects.values_list("last_at", flat=True).get(pk=head.pk)
    return int((last - at).total_seconds()) if last is not None and last - at > FUTURE else 0


def _line(name: str, verdict: Verdict, ahead: int) -> str:
    if verdict.ok:
        future = f", but the last one lies {ahead // 60} min in the future" if ahead else ""
        return f"{name}: sound, {verdict.entries} entries{future}"
    where = "" if verdict.first_bad is None else f" at entry {verdict.first_bad}"
    return f"{name}: BAD{where}: {verdict.what} ({verdict.entries} sound entries before that)"
