"""Files that are written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

from cuebook.errors import OutputError


def write_whole(content: bytes, path: Path) -> Path:
    """Write a file under a temporary name, then rename it.

    Raises
    ------
    OutputError
        If the folder cannot be written, or the path is a folder.
    """
    if path.is_dir():
        raise OutputError(f"{path} is a folder: name the file itself, such as {path / 'tempo.html'}.")
    passing = path.with_name(f".{path.name}.new")
    try:
        passing.write_bytes(content)
        os.replace(passing, path)
    except OSError as problem:
        passing.unlink(missing_ok=True)
        raise OutputError(f"{path} cannot be written ({problem.strerror}): name another place.") from problem
    return path
