"""One lock-by-tag command against the same SQL without Django, in the same run, on SQLite with full sync.

Prints the ratio; never asserts a time. The floor does what a command has to do whatever the language around
it: take the write lock, read the head, read the permit's rows, insert the entry, update the head, insert the
lock and update the permit, commit. The command does that and decides: it loads the site's open permits,
people and graph, asks the rules, and writes through the pen.

    python tests/benchmarks/bench_lock.py [--times 200]
"""

import argparse
import hashlib
import os
import sqlite3
import statistics
import sys
import tempfile
import time
import uuid
from datetime import timedelta
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT))


def command_times(times: int) -> list[float]:
    """Seconds of each `perform(ApplyLock)`, one permit after another on the demo plant."""
    from django.utils.timezone import now

    from permits.people.models import Person, Site
    from permits.work.actions import perform
    from permits.work.rules import commands as c
    from permits.work.rules.words import Position
    from permits.work.store import load

    site = Site.objects.get(code="QUILLFEN")
    ref = {name: Person.objects.get(sign_in=name) for name in ("odo", "szczesny")}
    odo, issuer = ref["odo"], ref["szczesny"]
    found: list[float] = []
    padlock = 1000
    while len(found) < times:
        at = now()
        asked = c.RequestPermit(
            by=odo.ref, at=at, zones=("C1-INFEED", "C1-CHAMBER", "C1-OUTFEED"), kind_of_work="Calibration",
            reason="benchmark", starts_at=at, ends_at=at + timedelta(hours=8),
        )  # fmt: skip
        permit = perform(site=site, command=asked, by=odo.author)[0].permit
        for command, by in (
            (c.IssuePermit(permit=permit, by=issuer.ref, at=at, holder=odo.ref, coordinator=odo.ref), issuer),
            (c.AcceptPermit(permit=permit, by=odo.ref, at=at, knows_energies=True, knows_hazards=True,
                            knows_control=True), odo),
            (c.TellAffected(permit=permit, by=odo.ref, at=at, whom="line 3", how="in person"), odo),
        ):  # fmt: skip
            perform(site=site, command=command, by=by.author)
        plan = load(site).permits[permit].plan_order
        points = [point for do, point in plan if do == "lock"]
        for point in points:
            padlock += 1
            ask = c.ApplyLock(
                permit=permit, by=odo.ref, at=now(), point=point, padlock=str(padlock), tag=str(padlock),
                position=Position.OFF,
            )  # fmt: skip
            start = time.perf_counter()
            perform(site=site, command=ask, by=odo.author, key=uuid.uuid4())
            found.append(time.perf_counter() - start)
        off = c.RemoveLocks(permit=permit, by=odo.ref, at=now(), points=tuple(points))
        perform(site=site, command=off, by=odo.author)
        end = c.CancelPermit(permit=permit, by=odo.ref, at=now(), why="done")
        perform(site=site, command=end, by=odo.author)
    return found[:times]


def floor_times(times: int, path: Path) -> list[float]:
    """Seconds of the same writes by hand, through the driver alone, on a database of its own."""
    database = sqlite3.connect(path, isolation_level=None)
    database.executescript(
        "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON;"
        "CREATE TABLE head (id INTEGER PRIMARY KEY, number INTEGER, digest TEXT);"
        "CREATE TABLE entry (id INTEGER PRIMARY KEY, head INTEGER, number INTEGER, kind TEXT, body TEXT,"
        " previous TEXT, digest TEXT, UNIQUE (head, number), UNIQUE (head, previous));"
        "CREATE TABLE permit (id INTEGER PRIMARY KEY, phase TEXT, last_entry INTEGER);"
        "CREATE TABLE lock (id INTEGER PRIMARY KEY, permit INTEGER, point TEXT, padlock TEXT, owner TEXT,"
        " removed TEXT);"
        "CREATE UNIQUE INDEX one_place ON lock (padlock) WHERE removed IS NULL;"
        "INSERT INTO head VALUES (1, 0, ''); INSERT INTO permit VALUES (1, 'isolating', 0);"
    )
    found: list[float] = []
    for n in range(times):
        start = time.perf_counter()
        database.execute("BEGIN IMMEDIATE")
        number, previous = database.execute("SELECT number, digest FROM head WHERE id = 1").fetchone()
        database.execute("SELECT phase FROM permit WHERE id = 1").fetchone()
        hanging = "SELECT point, owner FROM lock WHERE permit = 1 AND removed IS NULL LIMIT 8"
        database.execute(hanging).fetchall()
        body = f'{{"about":"permit:P-1","kind":"LOCK_APPLIED","number":{number + 1},"previous":"{previous}"}}'
        digest = hashlib.sha256(b"\0" + body.encode()).hexdigest()
        database.execute(
            "INSERT INTO entry (head, number, kind, body, previous, digest) "
            "VALUES (1, ?, 'LOCK_APPLIED', ?, ?, ?)",
            (number + 1, body, previous, digest),
        )
        database.execute("UPDATE head SET number = ?, digest = ? WHERE id = 1", (number + 1, digest))
        database.execute(
            "INSERT INTO lock (permit, point, padlock, owner) VALUES (1, 'Q1', ?, 'odo')", (str(n),)
        )
        database.execute("UPDATE permit SET last_entry = ? WHERE id = 1", (number + 1,))
        database.execute("COMMIT")
        found.append(time.perf_counter() - start)
    database.close()
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--times", type=int, default=200)
    times = parser.parse_args().times
    with tempfile.TemporaryDirectory() as folder:
        os.environ["PERMITS_DATA"] = folder
        os.environ.pop("DATABASE_URL", None)
        os.environ["DJANGO_SETTINGS_MODULE"] = "permits.config.settings"
        import django

        django.setup()
        from django.core.management import call_command
        from django.utils.timezone import now

        from permits.records.demo import prepare

        call_command("migrate", verbosity=0)
        prepare(ROOT / "fixtures", at=now())
        commands = command_times(times)
        floor = floor_times(times, Path(folder) / "floor.sqlite3")
    command, least = statistics.median(commands), statistics.median(floor)
    print(f"lock by tag, {times} times on SQLite (median)")
    print(f"  command   {command * 1000:8.3f} ms")
    print(f"  floor     {least * 1000:8.3f} ms   the same SQL without Django")
    print(f"  ratio     {command / least:8.1f}")


if __name__ == "__main__":
    main()
