"""The playback copy of a clip: small, quick to step through, with the time stamps of the original.

It is made by another process, so that a notebook goes on answering: ``python -m cuebook.widgets.playback``.
"""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path

from cuebook.clip import read_clip
from cuebook.errors import ClipError, CuebookError, OutputError
from cuebook.model import Clip

LONG_SIDE_PX = 960
KEY_EVERY = 15
"""A key frame every half second: a step back decodes at most so many pictures."""

LONG_CLIP_S = 75.0
LONG_CLIP_SIDE_PX = 720
"""Clips above `LONG_CLIP_S` are kept smaller, so that they reach the browser as quickly."""

FORMAT = 1
"""Raised whenever the copy itself changes, so that old ones are made again."""


def copy_size(clip: Clip) -> tuple[int, int]:
    """Return width and height of the playback copy in pixels, even numbers, never larger than the clip."""
    longest = max(clip.width_px, clip.height_px)
    factor = min(1.0, (LONG_CLIP_SIDE_PX if clip.duration_s > LONG_CLIP_S else LONG_SIDE_PX) / longest)
    return max(2, round(clip.width_px * factor / 2) * 2), max(2, round(clip.height_px * factor / 2) * 2)


def copy_path(clip: Clip, folder: str | Path) -> Path:
    """Return where the playback copy of a clip is kept: the name begins with the hash of the clip.

    Parameters
    ----------
    clip : Clip
        The clip.
    folder : str or Path
        The cache of the workspace, or the folder that stands in for it.
    """
    rate = "" if clip.capture_rate_hz is None else f"-{clip.capture_rate_hz:g}hz"
    return Path(folder) / f"{clip.sha256[:32]}{rate}-play{FORMAT}.mp4"


def make_copy(clip: Clip, path: str | Path) -> Path:
    """Write the playback copy and return its path; the file appears there only when it is complete.

    Parameters
    ----------
    clip : Clip
        The clip, upright and with its own time stamps.
    path : str or Path
        From `copy_path`.

    Raises
    ------
    ClipError
        If no picture can be decoded.
    OutputError
        If the copy cannot be written.
    """
    from cuebook.clip.write import VideoWriter

    path = Path(path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as cause:
        raise OutputError(f"{path.parent} cannot be made ({cause.strerror}): choose another folder.") from cause
    width, height = copy_size(clip)
    with VideoWriter(path, width_px=width, height_px=height, rate_hz=clip.nominal_rate_hz, preset="veryfast",
                     key_every=KEY_EVERY) as writer:  # fmt: skip
        for time_s, picture in clip.frames(long_side_px=max(width, height)):
            writer.write(time_s, picture)
    return path


class CopyJob:
    """Makes a playback copy in another process, at most once; ready at once where there is one.

    Parameters
    ----------
    clip : Clip
        The clip.
    folder : str or Path
        Where copies are kept.

    Attributes
    ----------
    path : Path
        Where the copy is, or will be.
    failure : str
        Empty, or one sentence that says why there is no copy.
    """

    def __init__(self, clip: Clip, folder: str | Path) -> None:
        self.path = copy_path(clip, folder)
        self.failure = ""
        self._done = threading.Event()
        self._child: subprocess.Popen | None = None
        if self.path.is_file():
            self._done.set()
            return
        rate = [] if clip.capture_rate_hz is None else [repr(clip.capture_rate_hz)]
        command = [sys.executable, "-m", "cuebook.widgets.playback", str(clip.path), str(self.path), *rate]
        self._child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
        threading.Thread(target=self._wait, daemon=True).start()

    def _wait(self) -> None:
        if self._child is None:
            return
        _, said = self._child.communicate()
        if not self.path.is_file():
            last = said.strip().splitlines()[-1:] or ["the copy for playing could not be made."]
            self.failure = last[0]
        self._done.set()

    @property
    def done(self) -> bool:
        """Whether there is a copy, or there will be none."""
        return self._done.is_set()

    def wait(self, timeout_s: float | None = None) -> bool:
        """Wait for the copy and return whether it is there."""
        self._done.wait(timeout_s)
        return self.path.is_file()

    def when_done(self, call: Callable[[], None]) -> None:
        """Call something once, as soon as there is a copy or a failure; at once if that is so already."""
        if self.done:
            call()
            return
        threading.Thread(target=lambda: (self._done.wait(), call()), daemon=True).start()


def main(arguments: list[str]) -> int:
    """Make one copy: clip, target and, for slow motion, the rate it was captured at."""
    clip, target, *rate = arguments
    if hasattr(os, "nice"):
        os.nice(5)
    try:
        make_copy(read_clip(clip, capture_rate_hz=float(rate[0]) if rate else None), target)
    except (ClipError, OutputError, CuebookError) as error:
        sys.stderr.write(f"{error}\n")
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
