"""Finding the clips of a folder and the movement their folders are named after."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from .manifest import Row
from .shelf import Shelf

CLIP_ENDINGS = frozenset(
    ".3g2 .3gp .avi .flv .m2ts .m4v .mkv .mov .mp4 .mpeg .mpg .mts .mxf .ogv .ts .webm .wmv".split()
)
"""Endings by which a clip is known in a folder; a manifest may name any file."""

_OWN_ENDINGS = (".review", ".batch")
_NAMED = 3


def rows_of_folder(folder: Path, shelf: Shelf, *, leave_out: Path | None) -> tuple[list[Row], tuple[str, ...]]:
    """Return the clips of a folder in order of their names, and a sentence about what is no clip.

    Hidden files, reviews and results of batches are passed over. The nearest folder that has the name of a movement
    tells the movement.

    Parameters
    ----------
    folder : Path
        Looked through with all folders in it.
    shelf : Shelf
        Knows the movements.
    leave_out : Path or None
        One more folder to pass over.
    """
    rows, others = [], []
    for file in _files(folder, None if leave_out is None else leave_out.resolve()):
        name = file.relative_to(folder).as_posix()
        if file.suffix.lower() in CLIP_ENDINGS:
            rows.append(Row(where=name, clip=file, name=name, values=_told_by_folders(folder, file, shelf)))
        else:
            others.append(name)
    if not others:
        return rows, ()
    some = ", ".join(others[:_NAMED]) + (" and others" if len(others) > _NAMED else "")
    return rows, (f"Left out, as they are no clips by their ending: {some}.",)


def _files(folder: Path, leave_out: Path | None) -> Iterator[Path]:
    for here, folders, files in os.walk(folder):
        folders[:] = sorted(name for name in folders if not _passed_over(Path(here) / name, leave_out))
        yield from (Path(here) / name for name in sorted(files) if not name.startswith("."))


def _passed_over(folder: Path, leave_out: Path | None) -> bool:
    return folder.name.startswith(".") or folder.name.endswith(_OWN_ENDINGS) or folder.resolve() == leave_out


def _told_by_folders(folder: Path, file: Path, shelf: Shelf) -> dict[str, str]:
    known = shelf.names(shelf.workspace(file.parent))
    parts = [folder.resolve().name, *file.relative_to(folder).parent.parts]
    name = next((part for part in reversed(parts) if part in known), None)
    return {} if name is None else {"movement": name}
