"""A command that reads one JSON input and prints one answer, as text or as JSON."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from permits.calibration.rules.members import FaultyInput

LARGEST = 16 * 1024 * 1024  # bytes
MOST_FAULTS = 50  # lines on standard error


class FileAnswerCommand(BaseCommand):
    """Exit status 0 with an answer; 2 with errors on standard error, each naming the field, what was wrong
    and what would be right, and nothing on standard output."""

    requires_system_checks: list[str] = []
    forms = ""  # the input and the answer, printed below the options by --help

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        kwargs |= {"formatter_class": argparse.RawDescriptionHelpFormatter, "epilog": self.forms}
        return super().create_parser(prog_name, subcommand, **kwargs)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", help="the input, JSON in UTF-8; - reads standard input")
        parser.add_argument(
            "--format", choices=("text", "json"), default="text", help="text for reading (default) or json"
        )

    def answer_to(self, text: bytes) -> tuple[dict[str, Any], Callable[[], str]]:
        """The answer as JSON values, and a function that gives it as text. Raises FaultyInput."""
        raise NotImplementedError

    def handle(self, *args: Any, **options: Any) -> None:
        name = options["file"]
        try:
            answer, as_text = self.answer_to(_read(name))
        except FaultyInput as error:
            source = "standard input" if name == "-" else name
            lines = [f"{source}: {fault}" for fault in error.faults[:MOST_FAULTS]]
            if len(error.faults) > MOST_FAULTS:
                lines.append(f"… and {len(error.faults) - MOST_FAULTS} more of the kind.")
            raise CommandError("\n".join(lines), returncode=2) from None
        if options["format"] == "json":
            self.stdout.write(json.dumps(answer, indent=2, allow_nan=False))
        else:
            self.stdout.write(as_text())


def _read(name: str) -> bytes:
    try:
        if name == "-":
            stream = getattr(sys.stdin, "buffer", sys.stdin)
            text = stream.read(LARGEST + 1)
        else:
            with Path(name).open("rb") as file:
                text = file.read(LARGEST + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise CommandError(
            f"FILE: {name} cannot be read ({why}). "
            "Right would be a readable JSON file, or - for standard input.",
            returncode=2,
        ) from None
    if len(text) > LARGEST:
        raise CommandError(f"FILE: {name} is too long. Right would be at most {LARGEST} bytes.", returncode=2)
    return text.encode() if isinstance(text, str) else text
