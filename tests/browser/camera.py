"""A browser whose camera is made up: a test picture in which nobody is, allowed without asking."""

from __future__ import annotations

import os

from tests.browser.lab import FLAGS, browser_path

FAKE = ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"]


def with_camera(browser):
    """Start another browser like this one, with a camera."""
    as_root = hasattr(os, "geteuid") and os.geteuid() == 0
    flags = [*FLAGS, *FAKE, *(["--no-sandbox"] if as_root else [])]
    return browser.browser_type.launch(executable_path=browser_path(), headless=True, args=flags)
