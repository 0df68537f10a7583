"""Writing a review into its folder: all of it or nothing, and never over somebody else's files."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from cuebook.model import ReviewData

from .folder import check_folder, write_folder
from .stills import make_stills, still_frames
from .tables import angles_csv, json_text, repetitions_csv

Progress = Callable[[float], None]

MARK = "review.json"
"""The file that every review has."""

TRACK_FOLDER = "track"
"""Where a review keeps its landmarks when there is no workspace; carried over when the review is replaced."""


def write_review(data: ReviewData, out_dir: str | Path, *, video: bool = True, track_dir: str | Path | None = None,
                 threads: int = 0, progress: Progress | None = None) -> Path:  # fmt: skip
    """Write every file of a review and return its folder.

    The folder is built beside its final place and renamed in at the end. An existing folder is replaced only if it
    holds a ``review.json``; it comes back if the last step fails.

    Parameters
    ----------
    data : ReviewData
        The judged clip.
    out_dir : str or Path
        The folder.
    video : bool
        Whether to draw the annotated clip.
    track_dir : str, Path or None
        Folder of stored landmarks to keep inside the review, where there is no workspace to keep them.
    threads : int
        1 keeps the annotated clip to one processor, 0 lets the libraries choose.
    progress : callable or None
        Called with the share of the work that is done, 0 to 1.

    Raises
    ------
    OutputError
        If the folder holds something else, or cannot be written.
    ClipError
        If the clip can no longer be read.
    """

    def fill(folder: Path) -> None:
        _write_files(data, folder, video=video, threads=threads, progress=progress)
        if track_dir is not None and Path(track_dir).is_dir():
            shutil.copytree(track_dir, folder / TRACK_FOLDER)
        _carry_over(Path(out_dir), folder, sha256=data.clip.sha256)

    target = write_folder(out_dir, fill, mark=MARK, kind="review")
    if progress is not None:
        progress(1.0)
    return target


def check_target(target: str | Path) -> None:
    """Refuse a place that holds something other than a review, or where nothing can be written.

    The nearest folder that is there already is tried with a folder that is removed at once, so that a bad place is
    noticed before any work.

    Raises
    ------
    OutputError
        If it is a file, a folder that is not empty and has no ``review.json``, or cannot be written.
    """
    check_folder(target, mark=MARK, kind="review")


def _write_files(data: ReviewData, folder: Path, *, video: bool, threads: int, progress: Progress | None) -> None:
    from .page import feedback_page

    pictures = _annotated(data, folder, threads=threads, progress=progress) if video else {}
    stills = make_stills(data, pictures=pictures)
    (folder / "stills").mkdir()
    for still in stills:
        (folder / "stills" / still.name).write_bytes(still.jpeg)
    (folder / "angles.csv").write_text(angles_csv(data), encoding="utf-8")
    (folder / "repetitions.csv").write_text(repetitions_csv(data), encoding="utf-8")
    (folder / "feedback.html").write_text(feedback_page(data, stills), encoding="utf-8")
    (folder / "review.json").write_text(json_text(data), encoding="utf-8")


def _annotated(
    data: ReviewData, folder: Path, *, threads: int, progress: Progress | None
) -> dict[int, NDArray[np.uint8]]:
    """Write the annotated clip and return the frames that the stills need, met on the way."""
    from .annotated import write_annotated

    wanted, pictures = still_frames(data), {}

    def keep(frame: int, picture: NDArray[np.uint8]) -> None:
        if frame in wanted:
            pictures[frame] = picture.copy()

    write_annotated(data, folder / "annotated.mp4", threads=threads, progress=progress, seen=keep)
    return pictures


def _carry_over(old: Path, new: Path, *, sha256: str) -> None:
    """Copy the landmarks of the old review of the same clip into the new one."""
    source = old / TRACK_FOLDER
    if not source.is_dir() or (new / TRACK_FOLDER).exists():
        return
    try:
        same = json.loads((old / "review.json").read_text(encoding="utf-8"))["clip"]["sha256"] == sha256
    except (OSError, ValueError, KeyError, TypeError):
        same = False
    if same:
        shutil.copytree(source, new / TRACK_FOLDER)
