"""A real browser, the one named by CHROMIUM or one that is found, and a JupyterLab on this machine alone."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.browser.lab import Lab, NotebookPage, browser_path, launch

_FAILED = pytest.StashKey[set]()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Iterator:
    report = yield
    if report.failed:
        item.config.stash.setdefault(_FAILED, set()).add(item.nodeid)
    return report


@pytest.fixture(scope="session")
def browser() -> Iterator:
    """A started browser; without one the test is skipped, or fails where CUEBOOK_BROWSER_TESTS is set."""
    path = browser_path()
    if not path:
        if os.environ.get("CUEBOOK_BROWSER_TESTS"):
            pytest.fail("no Chromium, Chrome or Edge was found: name one in CHROMIUM")
        pytest.skip("no Chromium, Chrome or Edge was found: name one in CHROMIUM")
    from playwright import sync_api

    with sync_api.sync_playwright() as driver:
        started = launch(driver, path)
        yield started
        started.close()


@pytest.fixture(scope="session")
def lab(browser, tmp_path_factory) -> Iterator[Lab]:
    """A running JupyterLab for all tests."""
    started = Lab(tmp_path_factory.mktemp("lab"))
    yield started
    started.close()


@pytest.fixture
def nb(lab: Lab, browser, request: pytest.FixtureRequest) -> Iterator[NotebookPage]:
    """A fresh browser tab for one notebook; a picture of the page is kept where the test fails."""
    context = browser.new_context(viewport={"width": 1280, "height": 1200}, reduced_motion="reduce")
    context.set_default_timeout(30_000)
    opened = NotebookPage(context.new_page(), lab)
    yield opened
    folder = os.environ.get("CUEBOOK_BROWSER_PICTURES")
    if folder and request.node.nodeid in request.config.stash.get(_FAILED, set()):
        opened.page.screenshot(path=Path(folder) / f"{request.node.name}-failed.png")
    try:
        opened.shutdown()
    finally:
        context.close()
