"""Writing a folder: all of it or nothing, and never over somebody else's files."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

from cuebook.errors import OutputError


def write_folder(target: str | Path, fill: Callable[[Path], None], *, mark: str, kind: str) -> Path:
    """Build a folder beside its place, rename it in, and return it.

    Parameters
    ----------
    target : str or Path
        The folder. An existing one is replaced only if it holds `mark`; it comes back if the last step fails.
    fill : callable
        Writes the files into the folder it is given.
    mark : str
        The file that such a folder always holds.
    kind : str
        What such a folder is, in words: ``review``.

    Raises
    ------
    OutputError
        If the place holds something else, or cannot be written.
    """
    target = Path(os.path.abspath(target))
    check_folder(target, mark=mark, kind=kind)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        building = Path(tempfile.mkdtemp(prefix=f".{target.name}.", suffix=".new", dir=target.parent))
    except OSError as cause:
        raise OutputError(f"{target} cannot be written ({cause.strerror}): choose another folder.") from cause
    try:
        building.chmod(0o755)
        fill(building)
        _swap(building, target)
    except OSError as cause:
        raise OutputError(f"{target} cannot be written ({cause.strerror}): make room or choose another.") from cause
    finally:
        shutil.rmtree(building, ignore_errors=True)
    return target


def check_folder(target: str | Path, *, mark: str, kind: str) -> None:
    """Refuse a place that holds something else than a folder of that kind, or where nothing can be written.

    The nearest folder that is there already is tried with a folder that is removed at once, so that a bad place is
    noticed before any work.

    Raises
    ------
    OutputError
        If it is a file, a folder that is not empty and has no `mark`, or cannot be written.
    """
    target = Path(os.path.abspath(target))
    if target.is_dir():
        if any(target.iterdir()) and not (target / mark).is_file():
            raise OutputError(f"{target} holds files that are no {kind} and stays as it is: choose another folder.")
    elif os.path.lexists(target):
        raise OutputError(f"{target} is a file, and a {kind} needs a folder: choose another place.")
    above = next(p for p in target.parents if os.path.lexists(p))
    if not above.is_dir():
        raise OutputError(f"{target} cannot be made, because {above} is a file: choose another place.")
    try:
        os.rmdir(tempfile.mkdtemp(prefix=".cuebook.", dir=above))
    except OSError as cause:
        raise OutputError(f"{target} cannot be written ({cause.strerror}): choose another folder.") from cause


def _swap(building: Path, target: Path) -> None:
    """Put the new folder in the old one's place; the old one comes back if the new one cannot be moved in."""
    if not target.exists():
        building.rename(target)
        return
    aside = Path(tempfile.mkdtemp(prefix=f".{target.name}.", suffix=".old", dir=target.parent))
    kept = aside / "old"
    try:
        target.rename(kept)
        try:
            building.rename(target)
        except OSError:
            kept.rename(target)
            raise
    finally:
        if target.exists():
            shutil.rmtree(aside, ignore_errors=True)
