"""Noticing that the athlete is not alone in the picture."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

SMALLEST_SHARE = 0.4
"""Smallest size of another person, relative to the athlete, that counts: smaller ones stand far behind."""

LOOKS_NEEDED = 2
"""Looks, about a second apart, in which somebody else must be seen."""

_BOX_MARGIN = 0.15


def is_other(people: NDArray[np.float64], tracked: NDArray[np.float64] | None, shape: tuple[int, ...]) -> bool:
    """Tell whether somebody other than the tracked athlete was detected in a picture.

    A detection is somebody else if the middle of the hips lies outside the box around the athlete's landmarks and
    the size is not much smaller. People who overlap with the athlete, or are much smaller, are missed; the model's
    detector finds at most the larger people in a picture.

    Parameters
    ----------
    people : ndarray, shape (P, 2, 2)
        Hip point and circle point per detection, as shares of width and height.
    tracked : ndarray, shape (33, 2), or None
        The athlete's landmarks as shares, None if nobody is tracked: then two detections are needed.
    shape : tuple of int
        Height and width of the picture.
    """
    if len(people) == 0:
        return False
    size = np.array([shape[1], shape[0]], dtype=np.float64)
    points = people * size
    radii = np.linalg.norm(points[:, 1] - points[:, 0], axis=1)
    if tracked is None:
        return bool(np.count_nonzero(radii > SMALLEST_SHARE * radii.max()) > 1)
    body = tracked * size
    low, high = body.min(axis=0), body.max(axis=0)
    margin = _BOX_MARGIN * float((high - low).max())
    hips = points[:, 0]
    outside = ((hips < low - margin) | (hips > high + margin)).any(axis=1)
    athlete = float((high - low).max()) / 2
    return bool((outside & (radii > SMALLEST_SHARE * athlete)).any())
