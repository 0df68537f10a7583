"""Help signals that say where the athlete is and which leg stands in front."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Signal, Track, View, landmark_index

from .smooth import Smooth
from .travel import travel

Array = NDArray[np.float64]


def place_signals(track: Track, smooth: Smooth, view: View, hand: float) -> dict[str, Signal]:
    """Return signals that say where the athlete is and which leg stands in front; they are never judged.

    Parameters
    ----------
    track, smooth : Track, Smooth
        Landmarks.
    view : View
        View of the clip.
    hand : float
        +1 if the athlete faces right, -1 if left.

    Returns
    -------
    dict of str to Signal
        Without uncertainty.
    """
    point = {
        n: smooth.xy(landmark_index(n))
        for n in (
            "left_shoulder",
            "right_shoulder",
            "left_hip",
            "right_hip",
            "left_knee",
            "right_knee",
            "left_ankle",
            "right_ankle",
        )
    }
    shoulder, hip = (
        (point["left_shoulder"] + point["right_shoulder"]) / 2,
        (point["left_hip"] + point["right_hip"]) / 2,
    )
    trunk = np.linalg.norm(shoulder - hip, axis=1)
    legs = sum(
        np.linalg.norm(point[f"{s}_hip"] - point[f"{s}_knee"], axis=1)
        + np.linalg.norm(point[f"{s}_knee"] - point[f"{s}_ankle"], axis=1)
        for s in ("left", "right")
    )
    scale = trunk + legs / 2
    unit_px = float(np.nanmedian(trunk)) if np.isfinite(trunk).any() else np.nan
    lean = np.degrees(np.arctan2(np.abs(shoulder[:, 0] - hip[:, 0]), -(shoulder[:, 1] - hip[:, 1])))
    ahead = _front_leg(track, smooth, view, hand)
    rows = {
        "pelvis_across": hip[:, 0] / unit_px,
        "body_scale": scale / float(np.nanmedian(scale)) if np.isfinite(scale).any() else scale,
        "trunk_tilt": lean,
        "front_leg": ahead,
        **travel(smooth),
    }
    none = np.zeros(len(track.times_s))
    return {
        name: Signal(name=name, times_s=track.times_s, values=v, noise=none, shared=none,
                     unit="deg" if name == "trunk_tilt" else "ratio", method="image plane")
        for name, v in rows.items()
    }  # fmt: skip


def _front_leg(track: Track, smooth: Smooth, view: View, hand: float) -> Array:
    """How far the left ankle stands in front of the right one, in trunk lengths, positive = left leg in front."""
    if view.name == "side":
        gap = smooth.xy(landmark_index("left_ankle"))[:, 0] - smooth.xy(landmark_index("right_ankle"))[:, 0]
        size = np.linalg.norm(
            smooth.xy(landmark_index("left_shoulder")) - smooth.xy(landmark_index("left_hip")), axis=1
        )
        return gap * (1.0 if hand >= 0 else -1.0) / np.nanmedian(size)
    left, right = (smooth.world_m[:, landmark_index(f"{s}_hip")] for s in ("left", "right"))
    across = left - right
    up = np.array([0.0, -1.0, 0.0])
    front = np.cross(across, np.broadcast_to(up, across.shape))
    front[:, 1] = 0.0
    with np.errstate(invalid="ignore", divide="ignore"):
        front = front / np.linalg.norm(front, axis=1, keepdims=True)
    gap = smooth.world_m[:, landmark_index("left_ankle")] - smooth.world_m[:, landmark_index("right_ankle")]
    return (gap * front).sum(axis=1) / 0.5
