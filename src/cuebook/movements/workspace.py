"""A coach's folder: known by its ``cuebook.toml``, with own movements and cached tracks in it."""

from __future__ import annotations

from pathlib import Path

MARK = "cuebook.toml"
"""The file that makes a folder a workspace."""


def find_workspace(start: Path) -> Path | None:
    """Return the nearest folder from `start` upwards that holds a ``cuebook.toml``, or None.

    Parameters
    ----------
    start : Path
        A folder, or a file in it.
    """
    here = start.resolve()
    return next((folder for folder in (here, *here.parents) if (folder / MARK).is_file()), None)
