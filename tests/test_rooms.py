"""The rooms' import contracts hold, so that pytest alone catches a door in the wrong wall."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent


def test_imports_go_down_only():
    command = [str(Path(sys.executable).parent / "lint-imports"), "--no-cache"]
    ran = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=120)
    assert ran.returncode == 0, ran.stdout[-4000:]


def test_no_migration_is_missing(db):
    from django.core.management import call_command

    call_command("makemigrations", check=True, dry_run=True, verbosity=0)
