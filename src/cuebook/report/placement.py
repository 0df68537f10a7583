"""Where a number goes beside a joint: on the side where it covers least of the athlete and stays in the picture."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .skeleton import body_points

Direction = tuple[int, int]

DIRECTIONS: tuple[Direction, ...] = ((1, 0), (-1, 0), (0, -1), (0, 1))
"""Right, left, above, below; right and left are tried first because eyes look for a number beside a joint."""

_OFF_PICTURE, _INSIDE_OF_BEND, _VERTICAL, _STRANGER = 2.0, 0.1, 0.15, 1.5
_JOINTS = (11, 12, 13, 14, 23, 24, 25, 26, 27, 28)
"""Shoulders, elbows, hips, knees and ankles in the canonical order."""


def plate_corner(corner: NDArray[np.float64], toward: Direction, *, gap_px: NDArray[np.float64] | float,
                 plate_px: tuple[float, float]) -> NDArray[np.float64]:  # fmt: skip
    """Return the top left corner of a number's plate, shape (..., 2), for joints of shape (..., 2).

    Parameters
    ----------
    corner : ndarray, shape (..., 2)
        The joint, pixels.
    toward : tuple of int
        One of `DIRECTIONS`.
    gap_px : float or ndarray, shape (...)
        Room between joint and plate.
    plate_px : tuple of float
        Width and height of the plate.
    """
    width, height = plate_px
    reach = np.asarray(gap_px)[..., None] * np.array(toward, float)
    return corner + reach + np.array([(toward[0] - 1) * width / 2, (toward[1] - 1) * height / 2])


def free_direction(rays: NDArray[np.float64], marks: NDArray[np.float64], *, gap_px: NDArray[np.float64],
                   plate_px: tuple[float, float], frame_px: tuple[int, int]) -> Direction:  # fmt: skip
    """Return the direction in which a number covers least of the athlete over a whole clip.

    Parameters
    ----------
    rays : ndarray, shape (F, 3, 2)
        Zero ray end, joint, limb ray end per picture, pixels.
    marks : ndarray, shape (F, 33, 2)
        Landmarks.
    gap_px : ndarray, shape (F,)
        Room between joint and number.
    plate_px, frame_px : tuple of float
        Width and height of the number's plate and of the picture.
    """
    seen = np.isfinite(rays[:, 1, 0])
    if not seen.any():
        return DIRECTIONS[0]
    rays, body, gap = rays[seen], body_points(marks[seen]), gap_px[seen]
    bend = (rays[:, 0] - rays[:, 1]) - (rays[:, 2] - rays[:, 1])
    outside = np.nansum(bend, axis=0)
    size, margin = np.array(plate_px), 0.25 * plate_px[1]
    cost = {}
    for toward in DIRECTIONS:
        low = plate_corner(rays[:, 1], toward, gap_px=gap, plate_px=plate_px)
        wished, low = low, np.clip(low, 0.0, np.array(frame_px) - size)
        off = np.linalg.norm(wished - low, axis=1) > 0.5 * gap
        covers = (body > low[:, None] - margin) & (body < (low + size)[:, None] + margin)
        inside = float(np.dot(outside, toward)) < 0
        cost[toward] = (
            covers.all(axis=2).any(axis=1).mean()
            + _OFF_PICTURE * off.mean()
            + (_INSIDE_OF_BEND if inside else 0.0)
            + (_VERTICAL if toward[0] == 0 else 0.0)
            + _STRANGER * _nearer_to_another(low + size / 2, rays[:, 1], marks[seen])
        )
    return min(cost, key=cost.__getitem__)


def _nearer_to_another(middle: NDArray[np.float64], joint: NDArray[np.float64], marks: NDArray[np.float64]) -> float:
    """Return in which share of the pictures a plate lies nearer to another joint than to its own."""
    away = np.linalg.norm(marks[:, _JOINTS] - middle[:, None], axis=2)
    own = np.linalg.norm(marks[:, _JOINTS] - joint[:, None], axis=2) < 3.0
    others = np.where(own | ~np.isfinite(away), np.inf, away).min(axis=1)
    return float(np.mean(others < np.linalg.norm(middle - joint, axis=1)))
