"""Many writers at once, in threads and processes, on real databases; and one killed in the middle."""

import json
import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.postgres import new_database

ROOT = Path(__file__).parents[2]
PATIENCE_S = 120
THREADS, TIMES = 4, 24


class Plant:
    """A database of its own with one ledger in it, and processes that use it; `head`: one that is there."""

    def __init__(self, folder, url="", *, head=""):
        self.environment = os.environ | {
            "PERMITS_DATA": str(folder), "DATABASE_URL": url, "PYTHONPATH": str(ROOT),
            "DJANGO_SETTINGS_MODULE": os.environ.get("DJANGO_SETTINGS_MODULE", "permits.config.settings"),
        }  # fmt: skip
        if not head:
            self.run("-m", "django", "migrate", "ledger", "--skip-checks", "--verbosity", "0")
        self.head = head or self.writer("open", "QP").strip()

    def start(self, *command):
        return subprocess.Popen(
            [sys.executable, *command],
            cwd=ROOT, env=self.environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )  # fmt: skip

    def finish(self, process, status=0):
        try:
            out, err = process.communicate(timeout=PATIENCE_S)
        finally:
            process.kill()
        assert process.returncode == status, err
        return out

    def run(self, *command, status=0):
        return self.finish(self.start(*command), status)

    def writer(self, *arguments):
        return self.run("tests/ledger/writer.py", *map(str, arguments))

    def verdict(self):
        return json.loads(self.run("-m", "django", "verify_ledger", "--format", "json"))["ledgers"][0]


@pytest.fixture(scope="module")
def first_sqlite_plant(tmp_path_factory):
    """Where migrating takes longer than a test: the others are copies."""
    folder = tmp_path_factory.mktemp("first")
    return folder, Plant(folder).head


@pytest.fixture(scope="module")
def first_postgresql_plant(tmp_path_factory, postgresql_server):
    url = new_database(postgresql_server)
    return url, Plant(tmp_path_factory.mktemp("first"), url).head


@pytest.fixture
def sqlite_plant(tmp_path, first_sqlite_plant):
    first, head = first_sqlite_plant
    shutil.copytree(first, tmp_path, dirs_exist_ok=True)
    return Plant(tmp_path, head=head)


@pytest.fixture
def postgresql_plant(tmp_path, postgresql_server, first_postgresql_plant):
    first, head = first_postgresql_plant
    return Plant(tmp_path, new_database(postgresql_server, like=first), head=head)


@pytest.fixture(params=["sqlite_plant", pytest.param("postgresql_plant", marks=pytest.mark.postgresql)])
def plant(request):
    return request.getfixturevalue(request.param)


def test_two_processes_of_threads_write_one_chain_and_each_key_once(plant):
    arguments = ["tests/ledger/writer.py", "append", plant.head, str(THREADS), str(TIMES)]
    processes = [plant.start(*arguments, str(seed)) for seed in (1, 2)]
    answers = [json.loads(plant.finish(process)) for process in processes]
    verdict = plant.verdict()
    assert verdict["ok"], verdict
    assert verdict["entries"] == sum(answer["written"] for answer in answers)
    # Half of the requests carry a key that both processes use: each counts once.
    assert sum(answer["repeats"] for answer in answers) == THREADS * TIMES // 2
    # Generous: what it must not do is starve. SQLite alone kept a writer waiting for seconds.
    assert max(answer["worst_wait_s"] for answer in answers) < 10


def test_a_writer_killed_in_the_middle_leaves_nothing_and_shuts_nobody_out(plant):
    plant.writer("append", plant.head, 1, 2, 1)
    before = plant.verdict()["entries"]
    held = plant.start("tests/ledger/writer.py", "hold", plant.head)
    assert held.stdout.readline() == "inside\n"
    held.send_signal(signal.SIGKILL)
    held.wait(10)
    assert plant.verdict() == {
        "ledger": "QP", "ok": True, "entries": before, "first_bad": None, "what": "every entry is sound",
        "ahead_s": 0,
    }  # fmt: skip
    assert json.loads(plant.writer("append", plant.head, 1, 1, 2))["worst_wait_s"] < 10
    assert plant.verdict()["entries"] == before + 1


def test_a_block_is_the_outermost_transaction_and_opens_the_gate_before_what_waits_for_the_commit(plant):
    said = json.loads(plant.writer("contract", plant.head))
    assert "durable atomic block cannot be nested" in said["nested"]
    assert (said["written"], said["written_after_commit"]) == (1, 2)
    assert plant.verdict()["entries"] == 2


def test_the_embedded_database_is_set_up_to_keep_what_it_acknowledged(sqlite_plant):
    said = json.loads(sqlite_plant.writer("contract", sqlite_plant.head))
    # 2 is FULL: the commit waits for the disk (SQLite's documentation of PRAGMA synchronous).
    assert (said["journal_mode"], said["synchronous"]) == ("wal", 2)
    assert (said["foreign_keys"], said["recursive_triggers"]) == (1, 1)


def test_a_migration_that_rebuilds_tables_keeps_the_triggers(plant):
    plant.writer("append", plant.head, 1, 3, 1)
    said = json.loads(plant.writer("rebuild", plant.head))
    lost = said.pop("without them", None)
    assert said == {
        "Head, with both steps": [],
        "Entry, with both steps": [],
        "Receipt, with both steps": [],
        "at the end": [],
    }
    # SQLite: why the steps are there.
    assert lost in (None, ["ledger_receipt_delete", "ledger_receipt_insert", "ledger_receipt_update"])
    assert plant.verdict()["ok"]


def test_missing_triggers_stop_commands_until_they_are_put_back(sqlite_plant):
    sqlite_plant.run(
        "-c",
        "import django; django.setup(); from django.db import connection as c; "
        "c.cursor().execute('DROP TRIGGER ledger_entry_delete')",
    )
    check = sqlite_plant.start("-m", "django", "check", "--tag", "ledger")
    assert "lacks the triggers ledger_entry_delete" in check.communicate(timeout=PATIENCE_S)[1]
    assert check.returncode == 1
    assert "QP: sound" in sqlite_plant.run("-m", "django", "verify_ledger")
    assert "Put back: ledger_entry_delete" in sqlite_plant.run("-m", "django", "protect_ledger")
    assert "Nothing to do" in sqlite_plant.run("-m", "django", "protect_ledger")
    assert "no issues" in sqlite_plant.run("-m", "django", "check", "--tag", "ledger")


@pytest.mark.postgresql
def test_the_rooms_other_tests_hold_on_postgresql(tmp_path, postgresql_url):
    environment = os.environ | {"DATABASE_URL": postgresql_url, "PERMITS_DATA": str(tmp_path)}
    tests = [
        f"tests/ledger/test_{topic}.py" for topic in ("pen", "append_only", "verify_ledger", "verify_command")
    ]
    process = subprocess.run(
        [sys.executable, "-m", "pytest", *tests, "-p", "no:cacheprovider", "-p", "no:xdist"],
        cwd=ROOT, env=environment, capture_output=True, text=True, timeout=PATIENCE_S, check=False,
    )  # fmt: skip
    assert process.returncode == 0, process.stdout
    assert " passed" in process.stdout
