"""A week of phone clips of the invented Sallow Lock Rowing Club, made of the rendered demo clips."""

from __future__ import annotations

import csv
import shutil
from collections.abc import Iterator
from itertools import zip_longest
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from cuebook.clip import read_clip
from cuebook.clip.write import write_video

MANIFEST = "week.csv"
TOGETHER_S = 12.0
"""Length of the clip with two people."""

_AS_SENT = (
    # name on the phone, demo clip, athlete, movement that was asked for, the athlete's words, new, last feedback
    ("IMG_0042.mp4", "squat", "Tamsin Broad", "squat", "Felt steady.", "", "2026-01-07"),
    ("VID_20260112_1815.mp4", "squat-shallow", "Idris Pell", "squat", "", "", "2025-12-22"),
    ("PXL_0007.mp4", "squat-dropped-fast", "Piet Aalder", "squat", "Last two were quick, left knee hurts a bit", "",
     "2026-01-08"),
    ("pushups monday.mp4", "push-up", "Greta Maarlund", "push-up", "Filmed it twice!", "", "2026-01-11"),
    ("IMG_7731.MOV", "squat-turned-file", "Maud Otterley", "squat", "", "", "2026-01-05"),
    ("IMG_0043.mp4", "split-squat-uneven-rate", "Tamsin Broad", "split-squat", "", "yes", "2026-01-07"),
    ("PXL_0008.mp4", "glute-bridge", "Piet Aalder", "lateral-lunge", "", "", "2026-01-08"),
    ("front room.mp4", "", "Fenn Otterley", "squat", "Maud did her knee raises beside me.", "", "2026-01-02"),
    ("clip.mp4", "knee-raise", "", "", "", "", ""),
)  # fmt: skip
_OWED = (("Idris Pell", "push-up", "2026-01-14"), ("Tamsin Broad", "glute-bridge", "2026-01-14"))
_COLUMNS = ("file", "athlete", "movement", "message", "new", "last_feedback", "due")


def make_week(folder: str | Path, demo: str | Path) -> Path:
    """Fill a folder as an inbox looks on a Wednesday, and write the coach's list beside it.

    Parameters
    ----------
    folder : str or Path
        The inbox to make; its thirteen files are copies of demo clips under the names that phones gave them: one sent
        twice, one sent again smaller, one stored sideways, one with an uneven rate, one of another movement than was
        asked for, one without a name, one with two people, one cut off and one that is no clip.
    demo : str or Path
        The folder ``clips_demo``.

    Returns
    -------
    Path
        The list of what was asked for: a manifest for `cuebook.sort_inbox`, beside the folder.

    Raises
    ------
    ClipError
        If a demo clip cannot be read.
    OutputError
        If the folder cannot be written.
    """
    inbox, clips = Path(folder), Path(demo)
    inbox.mkdir(parents=True, exist_ok=True)
    for name, clip, *_ in (sent for sent in _AS_SENT if sent[1]):
        shutil.copyfile(clips / f"{clip}.mp4", inbox / name)
    shutil.copyfile(clips / "squat.mp4", inbox / "IMG_0042 (1).mp4")
    _write_smaller(clips / "push-up.mp4", inbox / "pushups_again.mp4")
    _write_together(clips / "squat.mp4", clips / "knee-raise.mp4", inbox / "front room.mp4")
    whole = (clips / "lateral-lunge.mp4").read_bytes()
    (inbox / "IMG_0051.mp4").write_bytes(whole[: len(whole) // 3])
    (inbox / "sheet.mp4").write_text("Monday: squats, push-ups. Bring the mat.\n", encoding="utf-8")
    return _write_list(inbox.with_name(MANIFEST))


def _write_smaller(source: Path, target: Path) -> None:
    """Code a clip again at half its size, as a messenger does."""
    clip = read_clip(source)
    small = (picture for _, picture in clip.frames(long_side_px=max(clip.width_px, clip.height_px) // 2))
    write_video(target, small, clip.times_s, crf=32)


def _write_together(left: Path, right: Path, target: Path) -> None:
    """Put the beginnings of two clips side by side at half their size: two people who share a room."""
    first, second = read_clip(left), read_clip(right)
    half = max(first.width_px, first.height_px) // 2
    last_s = min(TOGETHER_S, first.duration_s)
    count = int(np.searchsorted(first.times_s, last_s))

    def pictures() -> Iterator[NDArray[np.uint8]]:
        last = None
        for one, other in zip_longest(first.frames(half, 0, count), second.frames(half, 0, count)):
            if one is None:
                return
            last = other[1] if other is not None else last
            rows = min(one[1].shape[0], last.shape[0])
            yield np.concatenate([one[1][:rows], last[:rows]], axis=1)

    write_video(target, pictures(), first.times_s[:count], crf=28)


def _write_list(path: Path) -> Path:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, _COLUMNS, restval="")
        writer.writeheader()
        for name, _, athlete, movement, message, new, feedback in _AS_SENT:
            if athlete:
                writer.writerow({"file": name, "athlete": athlete, "movement": movement, "message": message, "new": new,
                                 "last_feedback": feedback})  # fmt: skip
        for athlete, movement, due in _OWED:
            writer.writerow({"athlete": athlete, "movement": movement, "due": due})
    return path
