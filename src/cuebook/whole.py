"""Files that appear under their name whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from cuebook.errors import OutputError


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """Give a passing name beside a file, which gets its own name when the block ends without an error.

    Parameters
    ----------
    path : Path
        The file; one that is there already is replaced in one step.

    Yields
    ------
    Path
        Where to write; it begins with a dot, so that it is passed over while it is not whole.

    Raises
    ------
    OutputError
        If it cannot be written, or the path is a folder.
    """
    if path.is_dir():
        raise OutputError(f"{path} is a folder: name the file itself.")
    passing = path.with_name(f".{path.name}.{os.getpid()}.partial")
    try:
        yield passing
        os.replace(passing, path)
    except OSError as cause:
        raise OutputError(f"{path} cannot be written ({cause.strerror}): make room or choose another place.") from cause
    finally:
        with suppress(OSError):
            passing.unlink(missing_ok=True)


def write_whole(path: Path, content: str | bytes) -> Path:
    """Write a file and return its path.

    Parameters
    ----------
    path : Path
        The file.
    content : str or bytes
        Text is written as UTF-8, its line ends as they are.

    Raises
    ------
    OutputError
        If it cannot be written, or the path is a folder.
    """
    with whole_file(path) as passing:
        passing.write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
    return path
