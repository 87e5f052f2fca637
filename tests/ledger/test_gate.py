"""The write gate: in the order of arrival, with patience that ends, and never left shut."""

import fcntl
import os
import subprocess
import sys
import threading
import time

import pytest
from django.db import connections

from permits.ledger import gate as gates
from permits.ledger.gate import GateShut, TicketLock, gate


class Database:
    """What the gate looks at: a vendor and where the database lies."""

    def __init__(self, name, vendor="sqlite"):
        self.vendor = vendor
        self.settings_dict = {"NAME": name}


@pytest.fixture
def database(tmp_path, monkeypatch):
    """A gate on a file of its own."""
    name = str(tmp_path / "plant.sqlite3")
    monkeypatch.setattr(gates, "connections", {"default": Database(name)})
    return name


def until(condition):
    end = time.monotonic() + 10
    while not condition():
        assert time.monotonic() < end, "nothing happened in 10 s"
        time.sleep(0.001)


def test_tickets_are_served_in_the_order_of_arrival():
    lock, served = TicketLock(), []

    def enter(ticket):
        lock.acquire(10)
        served.append(ticket)
        lock.release()

    lock.acquire(10)
    threads = [threading.Thread(target=enter, args=[ticket]) for ticket in range(20)]
    for place, thread in enumerate(threads):
        thread.start()
        until(lambda place=place: len(lock._waiting) == place + 1)
    lock.release()
    for thread in threads:
        thread.join(10)
    assert served == list(range(20))


def test_patience_ends_and_the_next_in_line_is_served():
    lock = TicketLock()
    lock.acquire(1)
    with pytest.raises(GateShut, match=r"within 0.01 s; nothing was written"):
        lock.acquire(0.01)
    assert not lock._waiting
    lock.release()
    lock.acquire(1)
    lock.release()


def test_a_turn_that_comes_at_the_last_moment_is_taken():
    lock = TicketLock()
    lock.acquire(1)
    turn = threading.Event()
    lock._waiting.append(turn)
    lock.release()  # hands over to the waiter that is about to give up
    assert not lock._withdraw(turn)
    lock.release()
    lock.acquire(0)


def test_the_gate_opens_after_an_error(database):
    for _ in range(3):
        with pytest.raises(ZeroDivisionError), gate():
            raise ZeroDivisionError
    with gate():
        pass


def test_a_turn_may_be_ended_early_and_twice(database):
    with gate() as turn:
        turn.end()
        turn.end()
        with gate() as other:
            assert other is not turn


def test_a_gate_file_that_can_not_be_opened_leaves_the_ticket_lock_free(tmp_path, monkeypatch):
    missing = str(tmp_path / "no such folder" / "plant.sqlite3")
    monkeypatch.setattr(gates, "connections", {"default": Database(missing)})
    for _ in range(2):
        with pytest.raises(FileNotFoundError), gate():
            pass


def test_another_process_waits_at_the_file_and_gets_in_when_its_holder_dies(database):
    holding = (
        "import fcntl, os, sys, time\n"
        "file = os.open(sys.argv[1], os.O_RDONLY | os.O_CREAT)\n"
        "fcntl.flock(file, fcntl.LOCK_EX)\n"
        "print('inside', flush=True)\n"
        "time.sleep(600)\n"
    )
    holder = subprocess.Popen([sys.executable, "-c", holding, f"{database}.gate"], stdout=subprocess.PIPE)
    entered = threading.Event()

    def enter():
        with gate():
            entered.set()

    try:
        assert holder.stdout.readline() == b"inside\n"
        thread = threading.Thread(target=enter, daemon=True)
        thread.start()
        assert not entered.wait(0.2)
    finally:
        holder.kill()
        holder.wait(10)
        holder.stdout.close()
    assert entered.wait(10)
    thread.join(10)


def test_a_process_that_hangs_inside_shuts_nobody_up_for_ever(database, monkeypatch):
    monkeypatch.setattr(gates, "PATIENCE_S", 0.2)
    hanging = os.open(f"{database}.gate", os.O_RDONLY | os.O_CREAT)
    try:
        fcntl.flock(hanging, fcntl.LOCK_EX)
        for _ in range(2):  # whoever gave up has left its ticket as well
            begun = time.monotonic()
            with pytest.raises(GateShut, match=r"no turn to write within 0.2 s; nothing was written"), gate():
                pass
            assert 0.2 <= time.monotonic() - begun < 5
    finally:
        os.close(hanging)
    with gate():
        pass


def test_the_ticket_and_the_file_are_waited_for_together(database, monkeypatch):
    """Most of the patience is over when the ticket comes; the file has what is left of it."""
    monkeypatch.setattr(gates, "PATIENCE_S", 2.0)
    hanging = os.open(f"{database}.gate", os.O_RDONLY | os.O_CREAT)
    ticket = gates._locks.setdefault(database, TicketLock())
    ticket.acquire(1)
    later = threading.Timer(1.5, ticket.release)
    try:
        fcntl.flock(hanging, fcntl.LOCK_EX)
        begun = time.monotonic()
        later.start()
        with pytest.raises(GateShut), gate():
            pass
        assert 2.0 <= time.monotonic() - begun < 3.0
    finally:
        later.join(10)
        os.close(hanging)


def test_a_forked_child_finds_the_gate_of_its_own_process_open(database):
    with gate():
        child = os.fork()
        if child == 0:
            os._exit(1 if gates._locks else 0)
        assert os.waitpid(child, 0)[1] == 0


def test_there_is_no_gate_on_postgresql(monkeypatch):
    monkeypatch.setattr(gates, "connections", {"default": Database("permits", vendor="postgresql")})
    with gate() as turn, gate():
        assert turn is None


@pytest.mark.parametrize("name", [":memory:", "file:memorydb_default?mode=memory&cache=shared"])
def test_a_database_in_memory_has_no_file(name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(gates, "connections", {"default": Database(name)})
    with gate():
        pass
    assert list(tmp_path.iterdir()) == []


def test_the_gate_looks_at_djangos_own_connections():
    assert gates.connections is connections
