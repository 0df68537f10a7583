"""What a batch has done so far, kept in the folder of its results: one small file per clip, so that it can go on."""

from __future__ import annotations

import hashlib
import json
import os
import uuid
from dataclasses import dataclass
from pathlib import Path

import cuebook
from cuebook.errors import OutputError
from cuebook.pose.backends import find_backend
from cuebook.whole import write_whole

from .job import ClipResult, Mark, State
from .plan import PlannedClip

FOLDER = ".results"
"""Folder inside the results that makes them known as those of a batch."""

FORMAT = 1
"""Raised whenever an entry could no longer be understood."""

_RUN = "run"


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """How a clip ended in an earlier run, and the folder of its review."""

    state: State
    reason: str
    took_s: float
    folder: str
    trace: str = ""


def result_key(clip: PlannedClip, *, sha256: str, video: bool) -> str:
    """Return the name under which a result is kept: hash of the clip's bytes and of everything that was asked.

    Parameters
    ----------
    clip : PlannedClip
        What was asked.
    sha256 : str
        Hash of its bytes.
    video : bool
        Whether an annotated clip was wanted.
    """
    backend = find_backend(clip.settings.backend)
    asked: list[object] = [clip.movement, clip.prescription, clip.settings, clip.margins, clip.capture_rate_hz, video]
    asked += [] if clip.person is None else [clip.person]
    parts = [FORMAT, cuebook.__version__, backend.name, backend.version, sha256, *map(repr, asked)]
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()[:32]


class Ledger:
    """The results of a batch on disk.

    Parameters
    ----------
    out : Path
        Folder of the results; made if missing.

    Raises
    ------
    OutputError
        If the folder holds something else or cannot be written.
    """

    def __init__(self, out: Path) -> None:
        self.out = Path(os.path.abspath(out))
        self._folder = self.out / FOLDER
        check_out(self.out)
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
        except OSError as cause:
            raise OutputError(f"{self.out} cannot be written ({cause.strerror}): choose another folder.") from cause

    def begin(self) -> Mark:
        """Start a run and return its mark; a run that is still going on there ends at once."""
        mark = Mark(path=self._folder / _RUN, run=uuid.uuid4().hex)
        write_whole(mark.path, mark.run + "\n")
        return mark

    def end(self, mark: Mark) -> None:
        """End a run, wherever its jobs are; another run that has begun since goes on."""
        if not mark.stopped():
            mark.path.unlink(missing_ok=True)

    def find(self, key: str, *, sha256: str) -> Entry | None:
        """Return the entry of a clip; None if there is none, it cannot be read, or its review is gone.

        Parameters
        ----------
        key : str
            From `result_key`.
        sha256 : str
            Hash of the clip's bytes: a review of another clip in its place does not count.
        """
        try:
            kept = json.loads((self._folder / f"{key}.json").read_text(encoding="utf-8"))
            entry = Entry(**{name: kept[name] for name in ("state", "reason", "took_s", "folder", "trace")})
        except (OSError, ValueError, KeyError, TypeError):
            return None
        return entry if entry.state != "scored" or self._reviewed(entry.folder) == sha256 else None

    def _reviewed(self, folder: str) -> str | None:
        """Return the hash of the clip that a review speaks of, None if there is no review."""
        try:
            review = json.loads((self.out / folder / "review.json").read_text(encoding="utf-8"))
            return str(review["clip"]["sha256"])
        except (OSError, ValueError, KeyError, TypeError):
            return None

    def keep(self, key: str, result: ClipResult, *, name: str, folder: str) -> None:
        """Keep how a clip ended."""
        entry = {
            "format": FORMAT,
            "clip": name,
            "state": result.state,
            "reason": result.reason,
            "took_s": round(result.took_s, 3),
            "folder": folder,
            "trace": result.trace,
        }
        write_whole(self._folder / f"{key}.json", json.dumps(entry, ensure_ascii=False, indent=1) + "\n")


def check_out(out: Path) -> None:
    """Refuse a place that holds something other than the results of a batch.

    Raises
    ------
    OutputError
        If it is a file, or a folder with something else in it.
    """
    if out.is_dir():
        if any(out.iterdir()) and not (out / FOLDER).is_dir():
            raise OutputError(f"{out} holds files that are no results of a batch: choose another folder.")
    elif os.path.lexists(out):
        raise OutputError(f"{out} is a file, and the results need a folder: choose another place.")
