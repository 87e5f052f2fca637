"""PostgreSQL goes away, in the middle of a request or altogether: a page says so, nothing is half done."""

import os
import signal
import subprocess
import threading
import time
from pathlib import Path
from uuid import uuid4

import psycopg
import pytest

from tests.faults.plant import running
from tests.postgres import (
    Missing,
    _as_ordinary_user,
    _wait,
    binaries,
    new_database,
    postgresql_server,
    postgresql_url,
    server,
)

__all__ = ["postgresql_server", "postgresql_url"]

pytestmark = pytest.mark.postgresql

HELD = {
    "before anything is written": "SELECT * FROM ledger_head FOR UPDATE",
    "after all but the receipt is written": "LOCK TABLE ledger_receipt IN EXCLUSIVE MODE",
}


@pytest.fixture
def own_server():
    """A server of this test's own, which it may stop."""
    try:
        with server() as url:
            yield url
    except Missing as missing:
        if os.environ.get("PERMITS_REQUIRE_ALL") == "1":
            pytest.fail(f"{missing}; PERMITS_REQUIRE_ALL=1 demands it")
        pytest.skip(f"{missing}: nothing was tried on PostgreSQL")


def in_time(found, what):
    """The first true answer of `found`, within 40 s."""
    until = time.monotonic() + 40
    while time.monotonic() < until:
        if answer := found():
            return answer
        time.sleep(0.05)
    raise AssertionError(f"not within 40 s: {what}")


def cut(url, hold, ask):
    """Hold what the request needs, wait until it waits for it, cut its connection; the request's answer."""
    answers = []
    with psycopg.connect(url) as holder, psycopg.connect(url, autocommit=True) as other:
        holder.execute(hold)
        asking = threading.Thread(target=lambda: answers.append(ask()))
        asking.start()
        waiting = "SELECT pid FROM pg_stat_activity WHERE wait_event_type = 'Lock' AND state = 'active'"
        [pid] = in_time(lambda: other.execute(waiting).fetchone(), "a request that waits for a lock")
        assert other.execute("SELECT pg_terminate_backend(%s)", [pid]).fetchone() == (True,)
        asking.join(60)
        holder.rollback()
    return answers[0]


def is_the_page(answer):
    assert answer.status == 503, answer.text
    assert "Not recorded. Count it as not done." in answer.text
    assert "the database does not answer" in answer.text
    assert answer.headers["Retry-After"] == "30"


def test_a_connection_that_is_cut_in_the_middle_leaves_nothing_half_done(postgresql_url, tmp_path):
    with running(tmp_path, postgresql_url) as plant:
        phone = plant.phone("eleni")
        before = plant.entries()
        for hold in HELD.values():
            key = str(uuid4())
            is_the_page(cut(postgresql_url, hold, lambda key=key: phone.tell("P-1", key)))
            [line] = [line for line in plant.said() if key in line]
            assert "the database does not answer: POST '/permits/P-1/tell/', site QUILLFEN, person " in line
            assert plant.entries() == before, "nothing half done"
            assert phone.tell("P-1", key).status == 302, "the next request works"
            before += 1
            assert plant.entries() == before


def started_again(url, folder, log):
    """The server again, on the same data and port."""
    other = _as_ordinary_user()
    process = subprocess.Popen(
        [
            *(other[0] if other else []), binaries() / "postgres", "-D", folder, "-p", url.rpartition(":")[2],
            "-k", folder.parent, "-c", "listen_addresses=127.0.0.1",
        ],
        cwd=folder.parent, stdin=subprocess.DEVNULL, stdout=log, stderr=log,
    )  # fmt: skip
    _wait(url, process, folder.parent / "log")
    return process


def test_a_server_that_is_gone_is_said_and_found_again_when_it_is_back(own_server, tmp_path, capsys):
    url = new_database(own_server)
    with psycopg.connect(url) as connection:
        folder = Path(connection.execute("SHOW data_directory").fetchone()[0])
    with running(tmp_path, url) as plant:
        phone, key, again = plant.phone("eleni"), str(uuid4()), None
        phone.open_page("P-1")
        before = plant.entries()
        pid = int((folder / "postmaster.pid").read_text().split()[0])
        os.kill(pid, signal.SIGQUIT)  # as if its machine had lost power
        in_time(lambda: not (folder / "postmaster.pid").exists() or not alive(pid), "the server is gone")
        begun = time.monotonic()
        is_the_page(phone.tell("P-1", key))
        said_after = time.monotonic() - begun
        shown = phone.get("/board/")
        assert (shown.status, "This page cannot be shown now." in shown.text) == (503, True)
        assert sum(key in line and "person" in line for line in plant.said()) == 1
        try:
            with (tmp_path / "postgresql.log").open("wb") as log:
                again = started_again(own_server, folder, log)
            begun = time.monotonic()
            in_time(lambda: phone.tell("P-1", key).status == 302, "it works again")
            with capsys.disabled():
                print(
                    f"\nserver gone: said so after {said_after:.1f} s; worked again "
                    f"{time.monotonic() - begun:.1f} s after it was back"
                )
            assert plant.entries() == before + 1
        finally:
            plant.kill()
            if again is not None:
                again.send_signal(signal.SIGQUIT)
                again.wait(20)


def alive(pid):
    """Is it still running? (A child that ended and was not waited for yet is not.)"""
    try:
        return "Z" not in Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except FileNotFoundError:
        return False
