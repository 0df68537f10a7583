"""Finding every file in the folder, and leaving out what nobody sent."""

from __future__ import annotations

import os
from pathlib import Path

from cuebook.errors import ClipError

_LITTER = {".ds_store", "thumbs.db", "ehthumbs.db", "desktop.ini", ".nomedia", ".gitkeep"}
"""Files that operating systems leave in folders."""

_OWN_FOLDERS = (".review", ".desk", ".stills")
_OWN_FILES = (".desk.sqlite", ".desk.sqlite-wal", ".desk.sqlite-shm")
"""What a review or the desk leaves beside a clip, named after it."""


def gather(folder: Path, *, leave_out: tuple[Path, ...] = ()) -> tuple[list[Path], list[Path]]:
    """List the files below a folder in order of their path.

    Parameters
    ----------
    folder : Path
        The inbox.
    leave_out : tuple of Path
        Files and folders that are ours: what an earlier run wrote, the manifest.

    Returns
    -------
    files : list of Path
        What was received; links to folders are not followed.
    ignored : list of Path
        What a system left behind, and what reviews and desks of ours left beside clips.

    Raises
    ------
    ClipError
        If the folder is missing, is a file, or cannot be listed.
    """
    if not folder.exists():
        raise ClipError(f"There is no folder {folder}: check the name.")
    if not folder.is_dir():
        raise ClipError(f"{folder.name} is a file, not a folder: name the folder the clips were saved in.")
    ours = {path.resolve() for path in leave_out}
    files: list[Path] = []
    ignored: list[Path] = []
    for place, inner, names in os.walk(folder, onerror=_refuse):
        here = Path(place)
        stems = {Path(name).stem for name in names}
        made = {n for n in inner if Path(n).suffix in _OWN_FOLDERS and Path(n).stem in stems}
        ignored += [here / n for n in sorted(made)]
        inner[:] = sorted(n for n in inner if n not in made and (here / n).resolve() not in ours)
        for name in sorted(names):
            path = here / name
            if path.resolve() in ours:
                continue
            (ignored if is_litter(path) or _is_own(name, stems) else files).append(path)
    return files, ignored


def is_litter(path: Path) -> bool:
    """Tell whether a file was left by a system: ``.DS_Store``, ``Thumbs.db``, or a ``._`` twin of a real file."""
    name = path.name.lower()
    return name in _LITTER or (name.startswith("._") and path.with_name(path.name[2:]).exists())


def _is_own(name: str, stems: set[str]) -> bool:
    """Tell whether a file was left by the desk of a clip beside it."""
    return any(name.endswith(end) and name.removesuffix(end) in stems for end in _OWN_FILES)


def _refuse(error: OSError) -> None:
    raise ClipError(f"The folder {error.filename} cannot be listed ({error.strerror}): check who may read it.")
