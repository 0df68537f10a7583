"""A few pictures spread over a clip, and what they alone tell: light, a moving camera, a shaking one, a fingerprint."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Clip

INSTANTS = 12
"""Looks, spread evenly over the clip."""

SIDE_PX = 240
"""Longest side at which the pictures are looked at."""

BURST = 4
"""Neighbouring frames per look, from which shaking is told."""

GRID = 16
"""Rows and columns to which a picture is averaged for its fingerprint."""

LEAST_FEATURES, LEAST_AGREEING = 12, 0.35
"""Corners needed to tell how the camera moved, and the share of them that must move as one (house choice)."""

_STILL_GREY = 1.0
"""Mean change over time, in grey levels, below which nothing moves and two takes cannot be told apart."""

Picture = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Looks:
    """What a few pictures tell.

    Attributes
    ----------
    light : float
        Mean brightness, 0 to 1.
    bright_share : float
        Share of the picture that is as good as white: a window behind the athlete.
    moved_share : float or None
        How far the camera went from where it began, as a share of the longest side; None where it cannot be told.
    shake_share : float or None
        How far the picture jumps from one frame to the next, the same way.
    grid : ndarray, shape (12, 16, 16), uint8
        The looks in grey, reduced: the fingerprint.
    """

    light: float
    bright_share: float
    moved_share: float | None
    shake_share: float | None
    grid: NDArray[np.uint8]

    def packed(self) -> dict[str, object]:
        """Return the same as plain values that can be written as JSON."""
        return {
            "light": round(self.light, 4),
            "bright_share": round(self.bright_share, 4),
            "moved_share": None if self.moved_share is None else round(self.moved_share, 5),
            "shake_share": None if self.shake_share is None else round(self.shake_share, 5),
            "grid": base64.b64encode(self.grid.tobytes()).decode(),
        }

    @classmethod
    def unpacked(cls, values: dict) -> Looks:
        """Return looks from what `packed` gave.

        Raises
        ------
        KeyError, ValueError, TypeError
            If they are not such values.
        """
        grid = np.frombuffer(base64.b64decode(values["grid"]), np.uint8).reshape(INSTANTS, GRID, GRID)
        plain = {name: values[name] for name in ("light", "bright_share", "moved_share", "shake_share")}
        return cls(**plain, grid=grid)


def look_at(clip: Clip) -> Looks | None:
    """Look at a few short bursts of frames; None if not a single picture can be decoded.

    Parameters
    ----------
    clip : Clip
        From `read_clip`.
    """
    bursts = _bursts(clip)
    if not bursts:
        return None
    first = [burst[0] for burst in bursts]
    greys = [_grey(picture) for picture in first]
    motions = [_shift(greys[0], later) for later in greys[1:]]
    shakes = [_shift(_grey(a), _grey(b)) for burst in bursts for a, b in pairwise(burst)]
    longest = max(first[0].shape[:2])
    grid = np.stack([_reduced(grey) for grey in greys])
    spread = np.linspace(0, len(grid) - 1, INSTANTS).round().astype(int)
    return Looks(
        light=float(np.mean([p.mean() for p in first]) / 255),
        bright_share=float(np.mean([(grey > 240).mean() for grey in greys])),
        moved_share=_largest(motions, longest),
        shake_share=_typical(shakes, longest),
        grid=grid[spread],
    )


def same_pictures(a: Looks, b: Looks) -> tuple[float, float, float]:
    """Compare two clips of about the same length.

    Parameters
    ----------
    a, b : Looks
        Of the two clips.

    Returns
    -------
    scene, motion, mirrored : float
        Correlation of the mean pictures; of what changes about them; of what changes with one of them mirrored.
        NaN where a picture is blank or nothing moves.

    Notes
    -----
    Two takes in one room share the scene and the body but not the course of the movement, so it is the change about
    the mean picture that tells a copy from another take. A copy keeps it through scaling and compression because
    each value is the mean of a sixteenth by a sixteenth of the picture.
    """
    first, second = a.grid.astype(np.float64), b.grid.astype(np.float64)
    scene = _correlation(first.mean(axis=0), second.mean(axis=0))
    change_a, change_b = first - first.mean(axis=0), second - second.mean(axis=0)
    if min(np.abs(change_a).mean(), np.abs(change_b).mean()) < _STILL_GREY:
        return scene, float("nan"), float("nan")
    return scene, _correlation(change_a, change_b), _correlation(change_a, change_b[:, :, ::-1])


def _bursts(clip: Clip) -> list[list[Picture]]:
    """Decode the bursts; those in a part that cannot be decoded are left out."""
    count = len(clip.times_s)
    at = (np.arange(INSTANTS) + 0.5) / INSTANTS * clip.duration_s
    starts = np.minimum(np.searchsorted(clip.times_s, clip.times_s[0] + at), max(0, count - BURST))
    out = []
    for start in starts:
        pictures = [picture for _, picture in clip.frames(SIDE_PX, int(start), int(start) + BURST, threads=1)]
        if pictures:
            out.append(pictures)
    return out


def _grey(picture: Picture) -> Picture:
    import cv2

    return cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)


def _reduced(grey: Picture) -> Picture:
    import cv2

    return cv2.resize(grey, (GRID, GRID), interpolation=cv2.INTER_AREA)


def _shift(a: Picture, b: Picture) -> float | None:
    """Return how far the background moved between two pictures, in pixels; None where too little agrees.

    Corners are followed by optical flow, and the largest group that moves as one rigid picture is the background: the
    athlete covers less of the picture, or bends while moving.
    """
    import cv2

    corners = cv2.goodFeaturesToTrack(a, maxCorners=150, qualityLevel=0.01, minDistance=5)
    if corners is None or len(corners) < LEAST_FEATURES:
        return None
    there, found, _ = cv2.calcOpticalFlowPyrLK(a, b, corners, None, winSize=(15, 15), maxLevel=3)
    good = found.ravel() == 1
    if good.sum() < LEAST_FEATURES:
        return None
    matrix, agreeing = cv2.estimateAffinePartial2D(corners[good], there[good], ransacReprojThreshold=1.0)
    if matrix is None or agreeing.sum() < LEAST_AGREEING * len(corners):
        return None
    height, width = a.shape
    points = np.array([[0, 0], [width, 0], [0, height], [width, height]], dtype=np.float64)
    moved = points @ matrix[:, :2].T + matrix[:, 2] - points
    return float(np.median(np.linalg.norm(moved, axis=1)))


def _largest(shifts: list[float | None], longest_px: int) -> float | None:
    """Return the second largest of the shifts: one wrong match does not make a moving camera."""
    known = sorted(s for s in shifts if s is not None)
    if len(known) < 3:
        return None
    return known[-2] / longest_px


def _typical(shifts: list[float | None], longest_px: int) -> float | None:
    known = [s for s in shifts if s is not None]
    return float(np.percentile(known, 75)) / longest_px if len(known) >= INSTANTS else None


def _correlation(a: NDArray[np.float64], b: NDArray[np.float64]) -> float:
    x, y = a.ravel() - a.mean(), b.ravel() - b.mean()
    scale = float(np.sqrt((x @ x) * (y @ y)))
    return float(x @ y) / scale if scale > 0 else float("nan")
