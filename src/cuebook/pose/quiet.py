"""Keeping a native library from writing on the user's terminal."""

from __future__ import annotations

import logging
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager

log = logging.getLogger(__name__)

_STDERR = 2


@contextmanager
def quiet_stderr() -> Iterator[None]:
    """Send what native code writes on standard error to the debug log.

    Python's own exceptions are not touched. Where there is no standard error (a windowed program), nothing is done.
    """
    try:
        kept = os.dup(_STDERR)
    except OSError:
        yield
        return
    with tempfile.TemporaryFile() as sink:
        os.dup2(sink.fileno(), _STDERR)
        try:
            yield
        finally:
            os.dup2(kept, _STDERR)
            os.close(kept)
            sink.seek(0)
            for line in sink.read().decode("utf-8", "replace").splitlines():
                log.debug("native: %s", line)
