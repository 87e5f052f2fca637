"""The server is killed at any moment under load: what it acknowledged is kept, and nothing is half done."""

import random
import threading
import time
from uuid import uuid4

import pytest

from tests.faults.plant import running
from tests.postgres import postgresql_server, postgresql_url

__all__ = ["postgresql_server", "postgresql_url"]

KILLS = 4
NAMES = ("eleni", "eleni", "eleni", "odo", "ruben")


def keys_kept(plant):
    """The keys of every request that the ledger says was carried out."""
    asked = "from permits.ledger.models import Receipt; print(*Receipt.objects.values_list('key', flat=True))"
    return set(plant.manage("shell", "--no-imports", "-c", asked).split())


def keep_asking(phone, answers, over):
    """Request after request until the server is gone; `answers`: key → status, None where none came."""
    while not over.is_set():
        key = str(uuid4())
        answers[key] = None
        try:
            large = phone.name in ("odo", "ruben")
            answer = phone.ask_for_permit(key) if large else phone.tell("P-1", key)
        except OSError:
            return
        answers[key] = answer.status


@pytest.mark.parametrize("kind", ["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)])
def test_what_was_acknowledged_is_kept_and_nothing_is_half_done(kind, tmp_path, request, capsys):
    url = request.getfixturevalue("postgresql_url") if kind == "postgresql" else ""
    draw, answers, restarted = random.Random(11), {}, []
    with running(tmp_path, url) as plant:
        phones = [plant.phone(name) for name in NAMES]
        for _ in range(KILLS):
            over = threading.Event()
            asking = [threading.Thread(target=keep_asking, args=[phone, answers, over]) for phone in phones]
            for one in asking:
                one.start()
            time.sleep(draw.uniform(0.5, 2.5))
            plant.kill()
            over.set()
            for one in asking:
                one.join(60)
            begun = time.monotonic()
            plant.start()
            restarted.append(time.monotonic() - begun)
        entries, kept = plant.entries(), keys_kept(plant)
        assert phones[0].tell("P-1").status == 302, "and it goes on"
    done = {key for key, status in answers.items() if status == 302}
    cut_off = {key for key, status in answers.items() if status is None}
    with capsys.disabled():
        print(
            f"\nkilled {KILLS} times on {kind}: {len(done)} acknowledged, {len(cut_off)} cut off, of which "
            f"{len(cut_off & kept)} were carried out; {entries} entries; "
            f"up again within {max(restarted):.1f} s"
        )
    assert set(answers.values()) <= {302, 409, None}
    assert len(done) > KILLS
    assert done <= kept, "acknowledged and lost"
    assert cut_off, "the server was killed while it worked"
    assert not {key for key, status in answers.items() if status == 409} & kept
