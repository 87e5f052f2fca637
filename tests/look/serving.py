"""Writes the sample page in both shells to a folder and serves it on a loopback port."""

import http.server
import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from tests.look import sample

ROOT = Path(__file__).resolve().parent.parent.parent
CHROMIUM = shutil.which("chromium")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync"]
FLAGS += ["--disable-background-networking", "--disable-component-update"]


class Quiet(http.server.SimpleHTTPRequestHandler):
    """Serves the folder and says nothing."""

    def log_message(self, format: str, *args: object) -> None:
        """No line for each file."""


@contextmanager
def serving(folder: Path) -> Iterator[str]:
    """The address under which `base.html`, `base_phone.html` and `band_<state>.html` are served."""
    folder.mkdir(parents=True, exist_ok=True)
    shutil.copytree(ROOT / "permits" / "static", folder / "static", dirs_exist_ok=True)
    for shell in ("base.html", "base_phone.html"):
        (folder / shell).write_text(sample.render(shell))
    for state, word in sample.STATES:
        page = sample.render("base_phone.html", band=state, band_word=word)
        (folder / f"band_{state}.html").write_text(page)
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), partial(Quiet, directory=folder))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        server.server_close()
