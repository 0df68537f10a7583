"""Clips that the browser hands over, filmed there or chosen there, piece by piece."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from cuebook.errors import OutputError

_UNSAFE = re.compile(r"[^\w. -]+")
_LONGEST_NAME = 80


class Incoming:
    """Puts the pieces of a clip together in a folder; nothing there is ever replaced.

    Parameters
    ----------
    folder : Path
        Where clips are kept; made when the first one comes.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._take, self._next = "", 0

    def piece(self, message: Mapping[str, Any], data: bytes) -> Path | None:
        """Take one piece and return the clip where that was the last one.

        Parameters
        ----------
        message : mapping
            ``take`` (a name of this transfer), ``name`` of the file, ``part`` from 0 and ``parts``.
        data : bytes
            The piece.

        Returns
        -------
        Path or None
            The clip once it is whole.

        Raises
        ------
        OutputError
            If a piece is missing, or the folder cannot be written.
        """
        take, part = str(message["take"]), int(message["part"])
        if part == 0:
            self._take, self._next = take, 0
        if (take, part) != (self._take, self._next):
            raise OutputError(f"A piece of {message['name']} did not arrive: hand the clip over once more.")
        passing = self._folder / f".{_UNSAFE.sub('', take)[:_LONGEST_NAME]}.partial"
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            with passing.open("ab" if part else "wb") as file:
                file.write(data)
            self._next += 1
            if self._next < int(message["parts"]):
                return None
            clip = free_name(self._folder, str(message["name"]))
            os.replace(passing, clip)
        except OSError as cause:
            raise OutputError(f"{self._folder} cannot be written ({cause.strerror}): name another folder.") from cause
        return clip


def free_name(folder: Path, name: str) -> Path:
    """Return a path for a file of that name that is safe and not taken.

    Parameters
    ----------
    folder : Path
        Where it will lie.
    name : str
        As the browser gives it; folders and odd characters are left out.
    """
    plain = _UNSAFE.sub("", name.replace("\\", "/").rsplit("/", 1)[-1]).strip(" .") or "clip"
    stem, suffix = Path(plain).stem[:_LONGEST_NAME], Path(plain).suffix[:10]
    number, path = 1, folder / f"{stem}{suffix}"
    while os.path.lexists(path):
        number += 1
        path = folder / f"{stem}-{number}{suffix}"
    return path
