"""How somebody stands: tall and still, on both feet, or with one foot on a box."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Track, landmark_index

from .smooth import Smooth

Array = NDArray[np.float64]

IN_PLACE_TRUNKS, TALL_SHARE, STILL_TRUNKS_PER_S = 0.6, 0.93, 0.2
"""Somebody stands tall where the hips are this near to their usual place, the trunk shows this share of its length and
the hips move no faster (house choices)."""
RAISED_TRUNKS = 0.65
"""A foot that is usually higher in the picture than the other one by this many trunk lengths stands on something: on
rendered clips a box gives 0.8 to 1.1, a step forwards or back 0.5 at most."""


def raised_leg(track: Track) -> str | None:
    """Return the side whose foot rests on a box or bench behind the athlete, None where both feet are on the floor.

    Parameters
    ----------
    track : Track
        Raw landmarks of somebody standing.

    Returns
    -------
    {"left", "right"} or None
    """
    if not track.found.any():
        return None
    higher = float(np.nanmedian(foot_height(track)))
    return None if abs(higher) < RAISED_TRUNKS else "left" if higher > 0 else "right"


def foot_height(track: Track) -> Array:
    """Return how much higher in the picture the left ankle is than the right one, in trunk lengths, shape (F,)."""
    hip, shoulder = ((track.xy(f"left_{p}") + track.xy(f"right_{p}")) / 2 for p in ("hip", "shoulder"))
    trunk = float(np.nanmedian(np.linalg.norm(shoulder - hip, axis=1)))
    return (track.xy("right_ankle")[:, 1] - track.xy("left_ankle")[:, 1]) / max(trunk, 1.0)


def restful(track: Track, smooth: Smooth) -> NDArray[np.bool_]:
    """Frames in which the athlete stands or lies as at the start end: hips near their usual height, little bend."""
    if not track.found.any():
        return np.zeros(len(track.times_s), bool)
    hips = (smooth.xy(landmark_index("left_hip")) + smooth.xy(landmark_index("right_hip"))) / 2
    speed = np.linalg.norm(np.gradient(hips, track.times_s, axis=0), axis=1)
    return track.found & (speed <= np.nanpercentile(speed, 60))


def standing_tall(smooth: Smooth) -> NDArray[np.bool_]:
    """Return the frames in which the athlete stands upright and still in the place of the set, shape (F,).

    Walking in or away is left out: a step stretches the line from hip to ankle, and somebody nearer looks larger.
    """
    hip = smooth.xy_px[:, [landmark_index("left_hip"), landmark_index("right_hip")]].mean(axis=1)
    shoulder = smooth.xy_px[:, [landmark_index("left_shoulder"), landmark_index("right_shoulder")]].mean(axis=1)
    trunk = np.linalg.norm(shoulder - hip, axis=1)
    found = np.isfinite(trunk)
    if found.sum() < 10:
        return found
    usual = float(np.median(trunk[found]))
    with np.errstate(invalid="ignore"):
        speed = np.linalg.norm(np.gradient(hip, smooth.times_s, axis=0), axis=1) / usual
        here = np.abs(hip[:, 0] - np.median(hip[found, 0])) < IN_PLACE_TRUNKS * usual
        tall = trunk > TALL_SHARE * np.percentile(trunk[found & here], 90)
        size = np.abs(trunk / usual - 1.0) < 0.2
        still = found & here & tall & (speed < STILL_TRUNKS_PER_S)
    return still if still.sum() >= 5 else found & size
