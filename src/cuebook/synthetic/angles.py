"""True joint angles from true joint centres."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .posture import SIDES
from .skeleton import INDEX, unit

Joints = NDArray[np.float64]
"""Joint centres, shape (T, 24, 3)."""

CENTRES: dict[str, str] = {
    "shoulder": "upper_arm",
    "elbow": "forearm",
    "wrist": "hand",
    "hip": "thigh",
    "knee": "shank",
    "ankle": "foot",
}
"""Segment that begins at each joint centre."""


def centre(joints_m: Joints, side: str, joint: str) -> NDArray[np.float64]:
    """Return a joint centre over time, (T, 3)."""
    return joints_m[:, INDEX[f"{side}_{CENTRES[joint]}"]]


def included_deg(first: NDArray, vertex: NDArray, last: NDArray) -> NDArray[np.float64]:
    """Return the angle at `vertex` between the ways to `first` and `last`, degrees, (T,)."""
    a, b = unit(first - vertex), unit(last - vertex)
    return np.degrees(np.arctan2(np.linalg.norm(np.cross(a, b), axis=-1), (a * b).sum(-1)))


def signed_hip_deg(joints_m: Joints, side: str) -> NDArray[np.float64]:
    """Return the trunk-thigh angle in the plane across the hip line, degrees, (T,); flexion positive."""
    shoulder, hip, knee = (centre(joints_m, side, j) for j in ("shoulder", "hip", "knee"))
    across = unit(centre(joints_m, "left", "hip") - centre(joints_m, "right", "hip"))
    up, down = shoulder - hip, knee - hip
    up = up - (up * across).sum(-1, keepdims=True) * across
    down = down - (down * across).sum(-1, keepdims=True) * across
    turn = np.degrees(np.arctan2((np.cross(up, -down) * across).sum(-1), (up * -down).sum(-1)))
    return np.where(turn > 90.0, turn - 360.0, turn) * -1.0


def trunk_frames(joints_m: Joints) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the frames of pelvis and thorax, each (T, 3, 3), from hips and shoulders.

    Columns are X forward, Y up, Z to the right; Z runs along the hip or shoulder line, Y is the way from mid-hip to
    mid-shoulder made orthogonal to it (the practical form of the axes in Wu et al. 2002 and 2005 where only four joint
    centres are known).
    """
    left = {j: centre(joints_m, "left", j) for j in ("hip", "shoulder")}
    right = {j: centre(joints_m, "right", j) for j in ("hip", "shoulder")}
    trunk = 0.5 * (left["shoulder"] + right["shoulder"]) - 0.5 * (left["hip"] + right["hip"])
    frames = []
    for joint in ("hip", "shoulder"):
        z = unit(right[joint] - left[joint])
        y = unit(trunk - (trunk * z).sum(-1, keepdims=True) * z)
        frames.append(np.stack([np.cross(y, z), y, z], axis=-1))
    return frames[0], frames[1]


def trunk_rotation_deg(joints_m: Joints) -> NDArray[np.float64]:
    """Return the turn of the thorax against the pelvis, degrees, (T,); positive to the athlete's left.

    Third angle of the sequence Z-X'-Y'' (Wu et al. 2002): for R = Rz(a) Rx(b) Ry(g), g = atan2(-R[2, 0], R[2, 2]).
    """
    pelvis, thorax = trunk_frames(joints_m)
    r = np.swapaxes(pelvis, -1, -2) @ thorax
    return np.degrees(np.arctan2(-r[:, 2, 0], r[:, 2, 2]))


def true_angles(joints_m: Joints) -> dict[str, NDArray[np.float64]]:
    """Return all true angles, degrees, each (T,).

    Knee and elbow flexion are 180 minus the included angle. Hip flexion is the signed trunk-thigh angle in the plane
    across the hip line; `*_hip_included` is 180 minus the included angle of shoulder, hip and knee in space. Shoulder
    flexion is the included angle of hip, shoulder and elbow.
    """
    out: dict[str, NDArray[np.float64]] = {}
    for side in SIDES:
        points = {j: centre(joints_m, side, j) for j in CENTRES}
        out[f"{side}_knee_flexion"] = 180.0 - included_deg(points["hip"], points["knee"], points["ankle"])
        out[f"{side}_hip_flexion"] = signed_hip_deg(joints_m, side)
        out[f"{side}_hip_included"] = 180.0 - included_deg(points["shoulder"], points["hip"], points["knee"])
        out[f"{side}_elbow_flexion"] = 180.0 - included_deg(points["shoulder"], points["elbow"], points["wrist"])
        out[f"{side}_shoulder_flexion"] = included_deg(points["hip"], points["shoulder"], points["elbow"])
    out["trunk_rotation"] = trunk_rotation_deg(joints_m)
    return out
