"""Where published data files are found, and why a check is left out where they are not."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

VARIABLE = "CUEBOOK_REFERENCE_DATA"


def data_file(name: str) -> Path:
    """Return a data file of others, or skip the test that asks for it."""
    root = os.environ.get(VARIABLE)
    if not root:
        pytest.skip(f"{VARIABLE} does not say where the published data files are")
    path = Path(root) / "references" / "data" / name
    if not path.is_file():
        pytest.fail(f"{VARIABLE} is set, but {name} is not in its folder references/data")
    return path
