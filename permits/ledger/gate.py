"""The write gate: writers enter one by one, in the order in which they came, on databases that wait unfairly.

SQLite's own wait lets a writer starve for seconds. So on SQLite a writer first takes a ticket among the
threads of this process, then a lock on a file beside the database among processes; only then does it open its
transaction. The kernel drops the file lock when a process dies, so a killed one cannot leave the gate shut.
One that hangs can: whoever waits gives up when its patience ends. Local disks only. On PostgreSQL there is no
gate: the lock on the head row does it.
"""

import fcntl
import os
import threading
import time
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from django.db import OperationalError, connections

PATIENCE_S: Final = 20.0
"""How long a thread waits for its turn before it gives up, ticket and file together; SQLite is as patient."""
ASKS_AGAIN_S: Final = 0.005
"""How long a process leaves a file that another one holds, before it asks for it again."""


class GateShut(OperationalError):
    """No turn came in time: another writer has held the gate too long. Nothing was written."""


def no_turn(patience_s: float) -> GateShut:
    return GateShut(f"no turn to write within {patience_s:g} s; nothing was written, so try again")


class TicketLock:
    """A lock that its waiters get in the order in which they asked for it."""

    def __init__(self) -> None:
        self._mutex = threading.Lock()
        self._held = False
        self._waiting: deque[threading.Event] = deque()

    def acquire(self, patience_s: float) -> None:
        """Wait for the turn, at most `patience_s` seconds; raises GateShut then."""
        with self._mutex:
            if not self._held:
                self._held = True
                return
            turn = threading.Event()
            self._waiting.append(turn)
        try:
            came = turn.wait(patience_s)
        except BaseException:
            self._leave(turn)
            raise
        if not came and self._withdraw(turn):
            raise no_turn(patience_s)

    def release(self) -> None:
        """Hand the lock to the first waiter, or leave it free."""
        with self._mutex:
            if self._waiting:
                self._waiting.popleft().set()
            else:
                self._held = False

    def _withdraw(self, turn: threading.Event) -> bool:
        """Whether the ticket was taken back; False where the turn came at the last moment."""
        with self._mutex:
            if turn.is_set():
                return False
            self._waiting.remove(turn)
            return True

    def _leave(self, turn: threading.Event) -> None:
        if not self._withdraw(turn):
            self.release()


class Turn:
    """One writer's way through the gate. It ends once: at the commit, or when the block is left."""

    def __init__(self, lock: TicketLock, path: str | None) -> None:
        self._lock: TicketLock | None = lock
        self._file: int | None = None
        end = time.monotonic() + PATIENCE_S
        lock.acquire(PATIENCE_S)
        if path is None:
            return
        try:
            # Opened anew each time: forked processes would share a descriptor kept open, its lock included.
            self._file = os.open(path, os.O_RDONLY | os.O_CREAT | os.O_CLOEXEC, 0o640)
            lock_by(end, self._file)
        except BaseException:
            self.end()
            raise

    def end(self) -> None:
        """Open the gate to the next writer. Does nothing the second time."""
        lock, file = self._lock, self._file
        self._lock = self._file = None
        if file is not None:
            try:
                fcntl.flock(file, fcntl.LOCK_UN)
            finally:
                os.close(file)
        if lock is not None:
            lock.release()


def lock_by(end: float, file: int) -> None:
    """Lock the file against other processes before `end` on the monotonic clock; raises GateShut then.

    The kernel's own wait has no end, and a thread cannot be called away from it.
    """
    while True:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            return
        except BlockingIOError:
            if time.monotonic() >= end:
                raise no_turn(PATIENCE_S) from None
        time.sleep(ASKS_AGAIN_S)


_locks: dict[str, TicketLock] = {}
_locks_mutex = threading.Lock()


def _forget_locks() -> None:
    """A forked child starts with open gates: the threads that held them stayed behind."""
    global _locks_mutex
    _locks_mutex = threading.Lock()
    _locks.clear()


os.register_at_fork(after_in_child=_forget_locks)


@contextmanager
def gate(using: str = "default") -> Iterator[Turn | None]:
    """Wait for the turn to write to database `using`; None where the database needs no gate.

    The turn may be ended inside the block (right after the commit); leaving the block ends it in any case.
    Raises GateShut after PATIENCE_S seconds.
    """
    connection = connections[using]
    if connection.vendor != "sqlite":
        yield None
        return
    name = str(connection.settings_dict["NAME"])
    with _locks_mutex:
        lock = _locks.setdefault(name, TicketLock())
    in_memory = name == ":memory:" or "mode=memory" in name
    turn = Turn(lock, None if in_memory else f"{name}.gate")
    try:
        yield turn
    finally:
        turn.end()
