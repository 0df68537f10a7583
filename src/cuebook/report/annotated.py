"""The annotated clip: decoded, drawn and encoded in one pass, frame by frame."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator
from itertools import cycle
from pathlib import Path
from queue import Queue
from threading import Thread
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from cuebook.clip import VideoWriter, even_size
from cuebook.model import ReviewData

from .overlay import Overlay

LONG_SIDE_PX = 960
"""Longest side of the picture part: sharp on a phone, quick to encode."""

HIGHEST_RATE_HZ = 35.0
"""Clips with more frames a second are thinned: an annotated clip is for looking."""

T = TypeVar("T")
Progress = Callable[[float], None]
_AHEAD = 8


def kept_frames(times_s: NDArray[np.float64]) -> NDArray[np.intp]:
    """Return the frames that are drawn: all of them, or every n-th where there are too many a second."""
    if len(times_s) < 2:
        return np.arange(len(times_s))
    rate = 1.0 / max(1e-3, float(np.median(np.diff(times_s))))
    return np.arange(0, len(times_s), max(1, int(np.ceil(rate / HIGHEST_RATE_HZ - 1e-6))))


def annotated_size(data: ReviewData) -> tuple[int, int]:
    """Return width and height of the picture part of the annotated clip, even numbers of pixels."""
    width, height = even_size(data.clip.width_px, data.clip.height_px, long_side_px=LONG_SIDE_PX)
    return width // 2 * 2, height // 2 * 2


def write_annotated(
    data: ReviewData,
    path: Path,
    *,
    threads: int = 0,
    progress: Progress | None = None,
    seen: Callable[[int, NDArray[np.uint8]], None] | None = None,
) -> Path:
    """Write the annotated clip and return its path.

    Parameters
    ----------
    data : ReviewData
        The judged clip.
    path : Path
        File to write, ending in ``.mp4``.
    threads : int
        1 keeps to one processor, 0 lets the libraries choose and decodes and draws ahead, in a thread each.
    progress : callable or None
        Called with the share of the clip that is done, 0 to 1.
    seen : callable or None
        Called with the number of each drawn frame and its picture (H, W, 3) before anything is drawn on it.

    Raises
    ------
    ClipError
        If the clip can no longer be read.
    OutputError
        If the file cannot be written.
    """
    times = data.clip.times_s
    kept = kept_frames(times)
    width, height = annotated_size(data)
    overlay = Overlay(data, times[kept], width=width, height=height)
    rate = 30.0 if len(kept) < 2 else 1.0 / max(1e-3, float(np.median(np.diff(times[kept]))))

    alone = threads == 1

    def drawn() -> Generator[tuple[float, NDArray[np.uint8]], None, None]:
        """Yield time and drawn picture; a canvas comes round again when its picture was written long ago."""
        size = overlay.height, overlay.width, 3
        canvases = cycle([np.empty(size, np.uint8) for _ in range(1 if alone else _AHEAD + 3)])
        pictures = _pictures(data, kept)
        for place, picture in pictures if alone else _ahead(pictures):
            if seen is not None:
                seen(int(kept[place]), picture)
            yield float(times[kept[place]]), overlay.draw(picture[:height, :width], place, into=next(canvases))

    with VideoWriter(
        path, width_px=overlay.width, height_px=overlay.height, rate_hz=rate, key_every=30, threads=threads
    ) as writer:
        for place, (time_s, picture) in enumerate(drawn() if alone else _ahead(drawn())):
            writer.write(time_s, picture)
            if progress is not None and place % 30 == 0:
                progress((place + 1) / len(kept))
    return path


def _pictures(data: ReviewData, kept: NDArray[np.intp]) -> Generator[tuple[int, NDArray[np.uint8]], None, None]:
    """Yield the place among the kept frames and the picture."""
    place = 0
    for frame, (_, picture) in enumerate(data.clip.frames(long_side_px=LONG_SIDE_PX)):
        if place < len(kept) and frame == kept[place]:
            yield place, picture
            place += 1


def _ahead(items: Generator[T, None, None]) -> Iterator[T]:
    """Yield the same items, made a few ahead in a thread of its own; its error is raised here."""
    queue: Queue[T | BaseException | None] = Queue(maxsize=_AHEAD)
    stopped: list[bool] = []

    def fill() -> None:
        try:
            for item in items:
                if stopped:
                    return
                queue.put(item)
            queue.put(None)
        except BaseException as cause:  # handed over to the thread that asked
            queue.put(cause)
        finally:
            items.close()

    thread = Thread(target=fill, name="ahead", daemon=True)
    thread.start()
    try:
        while (item := queue.get()) is not None:
            if isinstance(item, BaseException):
                raise item
            yield item
    finally:
        stopped.append(True)
        while thread.is_alive():
            while not queue.empty():
                queue.get_nowait()
            thread.join(0.01)
