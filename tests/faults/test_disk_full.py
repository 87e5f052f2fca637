"""The server's disk is really full: a page that says so, nothing half done, and it works again afterwards."""

import os
import shutil
import subprocess
import time
from uuid import uuid4

import pytest

from tests.faults.phone import Phone
from tests.faults.plant import Plant

SIZE = "48m"


@pytest.fixture
def small_disk(tmp_path):
    """A disk of its own for the server's data. Only root can mount one."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={SIZE}", "tmpfs", disk],
        capture_output=True,
        text=True,
        check=False,
    )
    if mounted.returncode:
        why = f"a small disk could not be mounted ({mounted.stderr.strip()})"
        if os.environ.get("PERMITS_REQUIRE_ALL") == "1":
            pytest.fail(f"{why}; PERMITS_REQUIRE_ALL=1 demands it")
        pytest.skip(f"{why}: a full disk was NOT tried")
    yield disk
    for _ in range(100):  # until the killed server has let go of its files
        if subprocess.run(["umount", disk], capture_output=True, check=False).returncode == 0:
            return
        time.sleep(0.1)
    raise AssertionError(f"{disk} is still in use; unmount it by hand")


def fill(disk):
    """Take every byte that is left; the file that has to go to make room again."""
    filler = disk / "filler"
    with filler.open("wb", buffering=0) as file:
        while room := shutil.disk_usage(disk).free:
            file.write(b"\0" * min(room, 1 << 20))
    return filler


def test_a_full_disk_is_said_and_nothing_is_half_done(small_disk, tmp_path, capsys):
    plant = Plant(small_disk, logs=tmp_path)
    try:
        plant.start()
        phone = plant.phone("eleni")
        assert phone.tell("P-1").status == 302
        filler, told = fill(small_disk), 0
        # What the database has reserved already may take a few more; each is acknowledged and kept.
        for _ in range(200):
            key = str(uuid4())
            answer = phone.tell("P-1", key)
            if answer.status != 302:
                break
            told += 1
        assert answer.status == 503, answer.text
        assert answer.headers["Retry-After"] == "30"
        for words in ("Not recorded. Count it as not done.", "its disk is full", "it counts once",
                      "safety officer", "printed forms", "never an interlock"):  # fmt: skip
            assert words in answer.text
        [line] = [line for line in plant.said() if key in line]
        assert "its disk is full: POST '/permits/P-1/tell/', site QUILLFEN, person " in line
        assert "OperationalError: database or disk is full" in line
        assert not any("Traceback" in line for line in plant.said())
        assert phone.get("/board/").status == 200, "what is recorded can still be read"
        assert phone.ask_for_permit(str(uuid4())).status == 503
        # Who signs in now is told the same, though Django calls a session that cannot be kept a bad request.
        stranger = Phone(plant.address, "wim")
        assert stranger.try_to_sign_in().status == 503
        full = plant.entries()
        filler.unlink()
        assert phone.tell("P-1", key).status == 302
        assert phone.tell("P-1", key).status == 302, "sent again, it counts once"
        assert plant.entries() == full + 1
        assert stranger.sign_in()
        with capsys.disabled():
            print(f"\nfull disk: {told} more were acknowledged and kept, then 503; {full + 1} entries")
    finally:
        plant.kill()
