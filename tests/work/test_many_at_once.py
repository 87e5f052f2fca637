"""Many people at once on permits that share points, on real databases; then what must hold is looked at."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.postgres import postgresql_server, postgresql_url

__all__ = ["postgresql_server", "postgresql_url"]

ROOT = Path(__file__).parents[2]
THREADS, SECONDS, SEED = 12, 18, 7
PATIENCE_S = 150


def run(environment, *command):
    ran = subprocess.run(
        [sys.executable, *command],
        cwd=ROOT, env=environment, capture_output=True, text=True, timeout=PATIENCE_S, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stdout + ran.stderr
    return ran.stdout


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)])
def database(request, tmp_path):
    """The environment of processes that use an empty database of this test's own."""
    url = request.getfixturevalue("postgresql_url") if request.param == "postgresql" else ""
    here = {"PERMITS_DATA": str(tmp_path), "DATABASE_URL": url, "PYTHONPATH": str(ROOT)}
    here["DJANGO_SETTINGS_MODULE"] = "permits.config.settings"
    environment = os.environ | here
    run(environment, "manage.py", "migrate", "--verbosity", "0")
    return environment


def test_whatever_they_do_nobody_is_reached_and_every_request_counts_once(database, capsys, request):
    said = json.loads(run(database, "tests/work/crowd.py", str(THREADS), str(SECONDS), str(SEED)))
    figures = said["figures"]
    with capsys.disabled():
        print(f"\n{request.node.callspec.id}: {figures}")
    assert said["wrong"] == []
    assert figures["worst wait s"] < 10, "nobody starves"
    # And it was a real crowd: people went in, dangers were asked for, requests came twice.
    for what in ("prefixes with someone inside", "dangerous", "sent twice", "repeat", "refused"):
        assert figures[what] > 0, what
    assert ": sound" in run(database, "manage.py", "verify_ledger")
    # Its permits were replayed by the crowd; its people were put there without entries, so no replay_ledger.
