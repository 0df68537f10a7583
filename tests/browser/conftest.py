"""A real browser: the one named by CHROMIUM, else one that is found."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "microsoft-edge")
FLAGS = ["--disable-gpu", "--disable-dev-shm-usage", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync", "--mute-audio", "--force-color-profile=srgb"]  # fmt: skip


@pytest.fixture(scope="session")
def browser() -> Iterator:
    """A started browser; without one the test is skipped, or fails where CUEBOOK_BROWSER_TESTS is set."""
    path = os.environ.get("CHROMIUM") or next(filter(None, map(shutil.which, NAMES)), None)
    if not path:
        if os.environ.get("CUEBOOK_BROWSER_TESTS"):
            pytest.fail("no Chromium, Chrome or Edge was found: name one in CHROMIUM")
        pytest.skip("no Chromium, Chrome or Edge was found: name one in CHROMIUM")
    sync_api = pytest.importorskip("playwright.sync_api", reason="the extra 'test' brings playwright")
    as_root = hasattr(os, "geteuid") and os.geteuid() == 0
    with sync_api.sync_playwright() as driver:
        started = driver.chromium.launch(
            executable_path=path, headless=True, args=[*FLAGS, *(["--no-sandbox"] if as_root else [])]
        )
        yield started
        started.close()
