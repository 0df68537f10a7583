"""The course of a movement from the pictures themselves, where no joint angle tells it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Clip, Motion, Signal

from .way import main_parts, way_from_rest

Array = NDArray[np.float64]

LONG_SIDE_PX, CELL_PX = 160, 5
"""Size at which pictures are compared, and the squares whose mean brightness is a feature: a hand's breadth."""
PARTS = 8
"""Principal components kept; what is left over is noise of the picture."""
NOISE, SHARED = 0.04, 0.12
"""Standard uncertainty of a stage, in usual ways out, per frame and common to the clip (house choice)."""


def with_picture_motion(motion: Motion, clip: Clip) -> Motion:
    """Add the signal ``picture_motion``: how far the picture has gone along the movement's own way from rest.

    It has no unit that could be judged and knows no side; it still tells repetitions apart where the pose model fails.

    Parameters
    ----------
    motion : Motion
        Signals of the clip.
    clip : Clip
        Its frames are read once more, small.

    Returns
    -------
    Motion
        The same where the pictures do not come back to any one.
    """
    times, cells = _cells(clip, float(motion.times_s[-1]))
    if len(times) < 15:
        return motion
    way = way_from_rest(_features(cells))
    if way is None:
        return motion
    count = len(motion.times_s)
    signal = Signal(name="picture_motion", times_s=motion.times_s, values=np.interp(motion.times_s, times, way),
                    noise=np.full(count, NOISE), shared=np.full(count, SHARED), unit="ratio",
                    method="change of the picture")  # fmt: skip
    return replace(motion, signals={**motion.signals, signal.name: signal})


def _cells(clip: Clip, last_s: float) -> tuple[Array, Array]:
    """Return time stamps (N,) and mean brightness of the squares (N, H, W) of a clip's frames up to an instant."""
    rate = 1.0 / float(np.median(np.diff(clip.times_s))) if len(clip.times_s) > 2 else 30.0
    step = max(1, int(rate / 30.0 + 0.2))
    times, cells = [], []
    thinned = {"step": step} if step > 1 else {}
    for time_s, picture in clip.frames(LONG_SIDE_PX, **thinned):
        if time_s > last_s + 1e-6:
            break
        height, width = (n // CELL_PX * CELL_PX for n in picture.shape[:2])
        grey = picture[:height, :width].mean(axis=2)
        times.append(time_s)
        cells.append(grey.reshape(height // CELL_PX, CELL_PX, width // CELL_PX, CELL_PX).mean(axis=(1, 3)))
    return np.array(times), np.array(cells)


def _features(cells: Array) -> Array:
    """Return the main parts of the pictures' change, brightness and contrast of the whole picture taken out."""
    flat = cells.reshape(len(cells), -1)
    flat = flat - flat.mean(axis=1, keepdims=True)
    flat = flat / np.maximum(flat.std(axis=1, keepdims=True), 1e-6)
    return main_parts(flat, PARTS)
