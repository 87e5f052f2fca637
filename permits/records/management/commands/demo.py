"""demo: prepare a database with the invented plant and serve it; one command from a fresh clone."""

from __future__ import annotations

import os
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.utils.timezone import now

from permits.records.demo import SignIn, prepare


class Command(BaseCommand):
    help = (
        "Migrate the database, load the invented plant Quillfen Panel Works with its people, and serve it. "
        "Prints the address and who can sign in. For trying the product, never for a real plant."
    )
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on (default 127.0.0.1)")
        parser.add_argument("--port", type=int, default=8000, help="port to listen on (default 8000)")
        parser.add_argument(
            "--fixtures",
            type=Path,
            default=settings.BASE / "fixtures",
            help="folder of the plant and people files",
        )
        parser.add_argument("--no-serve", action="store_true", help="prepare the database and stop")

    def handle(
        self, *args: Any, host: str, port: int, fixtures: Path, no_serve: bool, **options: Any
    ) -> None:
        call_command("migrate", verbosity=0)
        call_command("collectstatic", verbosity=0, interactive=False)
        people = prepare(fixtures, at=now())
        self.stdout.write(in_words(people, f"http://{host}:{port}/"))
        self.stdout.flush()
        if not no_serve:
            serve(host, port)


def in_words(people: list[SignIn], address: str) -> str:
    """What the console shows: where it runs and who can sign in."""
    lines = [
        "",
        f"Permits runs at {address}",
        "Quillfen Panel Works is an invented plant; its people, names and numbers are invented too.",
        "A record and a check, never an interlock.",
        "",
        f"{'sign in':<10} {'password':<28} {'PIN':<8} who",
    ]
    lines += [f"{p.sign_in:<10} {p.password:<28} {p.pin:<8} {p.name}: {p.note}" for p in people]
    return "\n".join([*lines, "", "Stop it with Ctrl-C.", ""])


def serve(host: str, port: int) -> None:
    """Hand this process over to the server: one worker, four threads, as the embedded database wants it."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "permits.config.settings")
    os.execv(
        sys.executable,
        [
            sys.executable, "-m", "granian", "--interface", "wsgi", "permits.config.wsgi:application",
            "--host", host, "--port", str(port), "--workers", "1", "--blocking-threads", "4",
            "--respawn-failed-workers", "--no-ws", "--log-level", "warning",
        ],
    )  # fmt: skip
