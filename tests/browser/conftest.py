"""Chromium, the running server, and one phone or desk per person."""

import os
import shutil
from pathlib import Path

import pytest

from tests.browser.phone import Browsers
from tests.browser.serving import serving

FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip


@pytest.fixture(scope="module")
def chromium():
    """The system's browser; where there is none the test says so, or fails where it may not be skipped."""
    path = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if path is None:
        if os.environ.get("PERMITS_REQUIRE_ALL") == "1":
            pytest.fail("Chromium is not installed and PERMITS_REQUIRE_ALL=1 forbids to skip.")
        pytest.skip("Chromium is not installed: the browser tests were NOT run.")
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as running:
        browser = running.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def plant(tmp_path_factory):
    """The address of a server with the demo plant, and its data folder."""
    folder: Path = tmp_path_factory.mktemp("plant")
    with serving(folder) as address:
        yield address, folder / "var"


@pytest.fixture(scope="module")
def people(chromium, plant):
    """Everyone's own browser, opened when first asked for."""
    browsers = Browsers(chromium, plant[0])
    yield browsers
    browsers.close()
