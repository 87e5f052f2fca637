"""The demo plant behind the real server, as a process that tests start, kill and start again."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.browser.serving import free_port, wait_for
from tests.faults.phone import Phone

ROOT = Path(__file__).parents[2]
PATIENCE_S = 180


class Plant:
    """`folder`: the server's data; `url`: a DATABASE_URL, or "" for SQLite in the folder."""

    def __init__(self, folder: Path, url: str = "", *, logs: Path | None = None) -> None:
        self.log = (logs or folder) / "server.log"
        self.port = free_port()
        self.address = f"http://127.0.0.1:{self.port}"
        self.environment = os.environ | {
            "PERMITS_DATA": str(folder), "DATABASE_URL": url, "PERMITS_URL": self.address,
            "DJANGO_SETTINGS_MODULE": "permits.config.settings",
        }  # fmt: skip
        self.server: subprocess.Popen[bytes] | None = None
        self.manage("demo", "--no-serve")

    def manage(self, *command: str, status: int = 0) -> str:
        ran = subprocess.run(
            [sys.executable, "manage.py", *command],
            cwd=ROOT, env=self.environment, capture_output=True, text=True, timeout=PATIENCE_S, check=False,
        )  # fmt: skip
        assert ran.returncode == status, ran.stdout + ran.stderr
        return ran.stdout

    def start(self) -> Plant:
        with self.log.open("ab") as log:
            self.server = subprocess.Popen(
                [
                    sys.executable, "-m", "granian", "--interface", "wsgi", "permits.config.wsgi:application",
                    "--host", "127.0.0.1", "--port", str(self.port), "--workers", "1",
                    "--blocking-threads", "4", "--no-ws",
                ],
                cwd=ROOT, env=self.environment, stdout=log, stderr=log, start_new_session=True,
            )  # fmt: skip
        wait_for(f"{self.address}/sign-in/", self.server)
        return self

    def kill(self) -> None:
        """SIGKILL for the server and its workers at once: nobody gets to tidy up."""
        if self.server is not None:
            os.killpg(self.server.pid, signal.SIGKILL)
            self.server.wait(20)
            self.server = None

    def phone(self, name: str) -> Phone:
        return Phone(self.address, name).sign_in()

    def entries(self) -> int:
        """How many sound entries the ledger has; fails where it is not sound or the tables differ from it."""
        [verdict] = json.loads(self.manage("verify_ledger", "--format", "json"))["ledgers"]
        assert verdict["ok"], verdict
        assert "no difference" in self.manage("replay_ledger")
        return int(verdict["entries"])

    def said(self) -> list[str]:
        return self.log.read_text(errors="replace").splitlines()


@contextmanager
def running(folder: Path, url: str = "", *, logs: Path | None = None) -> Iterator[Plant]:
    plant = Plant(folder, url, logs=logs)
    try:
        yield plant.start()
    finally:
        plant.kill()
