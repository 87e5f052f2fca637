"""One process that writes to a ledger with the project's settings; tests of concurrent writers start several.

writer.py open NAME                     opens a ledger, prints its id
writer.py append ID THREADS TIMES SEED  appends from threads, every second time with a key that others
                                        use too; prints JSON: written, repeats, worst_wait_s
writer.py hold ID                       writes, says so, and stays inside the block until it is killed
writer.py contract ID                   prints what nesting and hooks after the commit do
writer.py rebuild ID                    rebuilds tables as migrations do, with and without the triggers' steps
"""

import json
import sys
import threading
import time
import uuid

import django
from django.db import connection, connections, models, transaction
from django.utils.timezone import now


def opened(name: str) -> None:
    from permits.ledger.pen import open_ledger

    print(open_ledger(name).pk)


def append(head_id: int, threads: int, times: int, seed: int) -> None:
    from permits.ledger.pen import AlreadyDone, writing
    from tests.ledger.conftest import ODO

    written = [0] * threads
    repeats = [0] * threads
    waits = [0.0] * threads
    failures: list[BaseException] = []

    def work(thread: int) -> None:
        try:
            for turn in range(times):
                key = uuid.uuid5(uuid.NAMESPACE_OID, f"{thread} {turn}") if turn % 2 else None
                begun = time.monotonic()
                try:
                    with writing(head_id, by=ODO, at=now(), key=key) as pen:
                        waits[thread] = max(waits[thread], time.monotonic() - begun)
                        for _ in range(turn % 3 + 1):
                            pen.write("noted", f"permit:P-{thread}", {"seed": seed, "turn": turn})
                            written[thread] += 1
                except AlreadyDone:
                    repeats[thread] += 1
        except BaseException as failure:
            failures.append(failure)
        finally:
            connections.close_all()

    workers = [threading.Thread(target=work, args=[thread]) for thread in range(threads)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    if failures:
        raise failures[0]
    print(json.dumps({"written": sum(written), "repeats": sum(repeats), "worst_wait_s": max(waits)}))


def hold(head_id: int) -> None:
    from permits.ledger.pen import writing
    from tests.ledger.conftest import ODO

    with writing(head_id, by=ODO, at=now()) as pen:
        pen.write("noted", "permit:P-1", {"half": "done"})
        print("inside", flush=True)
        time.sleep(600)


def contract(head_id: int) -> None:
    from permits.ledger.pen import writing
    from tests.ledger.conftest import ODO

    said: dict[str, object] = {}
    try:
        with transaction.atomic(), writing(head_id, by=ODO, at=now()):
            pass
    except RuntimeError as error:
        said["nested"] = str(error)

    def write_again() -> None:
        with writing(head_id, by=ODO, at=now()) as again:
            said["written_after_commit"] = again.write("noted", "permit:P-1", {}).number

    with writing(head_id, by=ODO, at=now()) as pen:
        said["written"] = pen.write("noted", "permit:P-1", {}).number
        transaction.on_commit(write_again)
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            for pragma in ("journal_mode", "synchronous", "foreign_keys", "recursive_triggers"):
                cursor.execute(f"PRAGMA {pragma}")
                said[pragma] = cursor.fetchone()[0]
    print(json.dumps(said))


def rebuild(head_id: int) -> None:
    from permits.ledger.models import Entry, Head, Receipt
    from permits.ledger.triggers import install_triggers, lift_triggers, missing_triggers

    said: dict[str, object] = {}
    for model, field in ((Head, "name"), (Entry, "about"), (Receipt, "at")):
        old = model._meta.get_field(field)
        new = models.TextField(null=True)
        new.set_attributes_from_name(field)
        new.model = model
        with connection.schema_editor() as editor:
            lift_triggers(editor)
            editor.alter_field(model, old, new)
            editor.alter_field(model, new, old)
            install_triggers(editor)
        said[f"{model.__name__}, with both steps"] = missing_triggers(connection)
        if connection.vendor == "sqlite" and model is Receipt:
            with connection.schema_editor() as editor:
                editor.alter_field(model, old, new)
            said["without them"] = missing_triggers(connection)
            with connection.schema_editor() as editor:
                lift_triggers(editor)
                editor.alter_field(model, new, old)
                install_triggers(editor)
    said["at the end"] = missing_triggers(connection)
    print(json.dumps(said))


if __name__ == "__main__":
    django.setup()
    command, *arguments = sys.argv[1:]
    if command == "open":
        opened(arguments[0])
    else:
        commands = {"append": append, "hold": hold, "contract": contract, "rebuild": rebuild}
        commands[command](*map(int, arguments))
