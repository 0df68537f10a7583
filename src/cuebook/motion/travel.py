"""How far parts of the body travel in the picture: they keep time with a driver where its own angle is flat."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cuebook.model import landmark_index

from .smooth import Smooth

Array = NDArray[np.float64]


def travel(smooth: Smooth) -> dict[str, Array]:
    """Return the travel of trunk, head, arms and knees in the picture.

    Parameters
    ----------
    smooth : Smooth
        Filtered landmarks.

    Returns
    -------
    dict of str to ndarray, shape (F,)
        In usual trunk lengths, to the right and upwards positive: ``pelvis_height`` and ``shoulder_height``;
        ``left_knee_across`` and ``right_knee_across``; across from the middle of the pelvis ``head_across`` (the nose),
        ``left_shoulder_across``, ``left_elbow_across`` and those of the right side; ``shoulder_breadth``, from
        the right shoulder to the left one; and ``upper_side``, how much higher the left shoulder and hip are than the
        right ones. They have no unit that could be judged.
    """
    point = {
        f"{side}_{part}": smooth.xy(landmark_index(f"{side}_{part}"))
        for side in ("left", "right")
        for part in ("shoulder", "elbow", "hip", "knee")
    }
    hip = (point["left_hip"] + point["right_hip"]) / 2
    shoulder = (point["left_shoulder"] + point["right_shoulder"]) / 2
    trunk = np.linalg.norm(shoulder - hip, axis=1)
    unit_px = float(np.nanmedian(trunk)) if np.isfinite(trunk).any() else np.nan
    rows = {
        "pelvis_height": -hip[:, 1],
        "shoulder_height": -shoulder[:, 1],
        "head_across": smooth.xy(landmark_index("nose"))[:, 0] - hip[:, 0],
        "shoulder_breadth": point["left_shoulder"][:, 0] - point["right_shoulder"][:, 0],
        "upper_side": sum(point[f"right_{p}"][:, 1] - point[f"left_{p}"][:, 1] for p in ("shoulder", "hip")) / 2,
    }
    for side in ("left", "right"):
        rows[f"{side}_knee_across"] = point[f"{side}_knee"][:, 0]
        for part in ("shoulder", "elbow"):
            rows[f"{side}_{part}_across"] = point[f"{side}_{part}"][:, 0] - hip[:, 0]
    return {name: row / unit_px for name, row in rows.items()}
