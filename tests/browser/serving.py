"""The real server on a temporary database; the demo plant's waits are cut short, so that no test waits."""

import json
import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
SECONDS = 2  # what every store's wait becomes


def short_waits(folder: Path) -> Path:
    """A copy of the fixtures in which each store runs down in seconds."""
    copy = folder / "fixtures"
    copy.mkdir()
    shutil.copy(ROOT / "fixtures" / "quillfen-people.json", copy)
    plant = json.loads((ROOT / "fixtures" / "quillfen.json").read_text(encoding="utf-8"))
    for node in plant["nodes"]:
        if node.get("release", {}).get("wait_s"):
            node["release"]["wait_s"] = SECONDS
            node.pop("physics", None)  # its own wait would be the longer one
    (copy / "quillfen.json").write_text(json.dumps(plant), encoding="utf-8")
    return copy


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@contextmanager
def serving(folder: Path) -> Iterator[str]:
    """The server's address, while it runs as a process of its own."""
    port = free_port()
    env = {**os.environ, "PERMITS_DATA": str(folder / "var"), "PERMITS_URL": f"http://127.0.0.1:{port}"}
    env.pop("DATABASE_URL", None)
    python = [sys.executable]
    prepared = subprocess.run(
        [*python, "manage.py", "demo", "--no-serve", "--fixtures", str(short_waits(folder))],
        cwd=ROOT, env=env, capture_output=True, text=True, timeout=180,
    )  # fmt: skip
    assert prepared.returncode == 0, prepared.stderr
    log = (folder / "server.log").open("w")
    server = subprocess.Popen(
        [
            *python, "-m", "granian", "--interface", "wsgi", "permits.config.wsgi:application", "--host",
            "127.0.0.1", "--port", str(port), "--workers", "1", "--blocking-threads", "4", "--no-ws",
        ],
        cwd=ROOT, env=env, stdout=log, stderr=subprocess.STDOUT,
    )  # fmt: skip
    try:
        wait_for(f"http://127.0.0.1:{port}/sign-in/", server)
        yield f"http://127.0.0.1:{port}"
    finally:
        server.terminate()
        server.wait(timeout=20)
        log.close()


def wait_for(address: str, server: subprocess.Popen) -> None:
    for _ in range(300):
        assert server.poll() is None, "the server ended before it answered"
        try:
            urllib.request.urlopen(address, timeout=2)
            return
        except (urllib.error.URLError, OSError):
            time.sleep(0.1)
    raise AssertionError("the server did not answer within 30 s")
