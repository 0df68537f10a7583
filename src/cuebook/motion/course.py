"""The course of the whole body, where one joint angle alone does not tell it surely."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from cuebook.model import Motion, Movement, Signal, landmark_index

from .place import in_place
from .smooth import Smooth
from .way import main_parts, way_from_rest

MOVING = {
    "knee_flexion": ("nose", "shoulder", "hip", "knee", "ankle"),
    "hip_flexion": ("shoulder", "hip", "knee", "ankle"),
    "elbow_flexion": ("nose", "shoulder", "elbow", "wrist", "hip"),
}
"""Landmarks that move with a driver; those that do not, like a waving hand in a squat, are left out."""
ALL_MOVING = ("nose", "shoulder", "elbow", "wrist", "hip", "knee", "ankle")
PARTS = 6
"""Principal components kept; what is left over is noise of single landmarks."""
NOISE, SHARED = 0.05, 0.12
"""Standard uncertainty of a stage, in usual ways out, per frame and common to the clip (house choice)."""


def with_body_motion(motion: Motion, smooth: Smooth, movement: Movement) -> Motion:
    """Add the signal ``body_motion``: how far the body has gone along the movement's own way from rest.

    It has no unit that could be judged and knows no side; it tells repetitions apart from any view in which the body
    is seen to move, also where the movement's own angle is foreshortened.

    Parameters
    ----------
    motion : Motion
        Signals of the clip; they tell when the athlete is in place.
    smooth : Smooth
        Filtered landmarks.
    movement : Movement
        Its position decides how the trunk must lie.

    Returns
    -------
    Motion
        The same where no stage is come back to; the signal is NaN out of place and where a landmark is missing.
    """
    parts = MOVING.get(movement.driver.signal, ALL_MOVING)
    names = [n for p in parts for n in ((p,) if p == "nose" else (f"left_{p}", f"right_{p}"))]
    points = smooth.xy_px[:, [landmark_index(name) for name in names]]
    flat = points.reshape(len(points), -1)
    use = in_place(motion, movement) & np.isfinite(flat).all(axis=1)
    way = way_from_rest(main_parts(flat[use], PARTS)) if use.sum() >= 15 else None
    if way is None:
        return motion
    values = np.full(len(flat), np.nan)
    values[use] = way
    signal = Signal(name="body_motion", times_s=motion.times_s, values=values, noise=np.full(len(flat), NOISE),
                    shared=np.full(len(flat), SHARED), unit="ratio", method="course of the body")  # fmt: skip
    return replace(motion, signals={**motion.signals, signal.name: signal})
