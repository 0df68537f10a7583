"""A jointed body of 24 segments: forward kinematics, two-bone reach, and rotations over time.

Frames: x forward, y to the athlete's left, z up. Every segment has a *canonical* posture: trunk and head upright,
limbs hanging straight down, feet flat. A pose gives, for every segment and instant, the rotation from its canonical
posture to the world; flexion of the hip is then a rotation about -y, of the knee about +y, of the elbow about -y.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Rotations = NDArray[np.float64]
"""Rotation matrices, shape (T, 3, 3)."""

SEGMENTS: tuple[str, ...] = (
    "pelvis", "spine1", "spine2", "spine3", "spine4", "spine5", "neck", "head",
    "left_clavicle", "left_upper_arm", "left_forearm", "left_hand",
    "right_clavicle", "right_upper_arm", "right_forearm", "right_hand",
    "left_thigh", "left_shank", "left_foot", "left_toes",
    "right_thigh", "right_shank", "right_foot", "right_toes",
)  # fmt: skip
"""Segment names; a parent always stands before its children."""

INDEX: dict[str, int] = {name: i for i, name in enumerate(SEGMENTS)}


def _parents() -> tuple[int, ...]:
    parent = {"pelvis": "pelvis", "head": "neck", "neck": "spine5"}
    parent |= {f"spine{i}": f"spine{i - 1}" if i > 1 else "pelvis" for i in range(1, 6)}
    for side in ("left", "right"):
        chain = (("clavicle", "spine5"), ("upper_arm", "clavicle"), ("forearm", "upper_arm"), ("hand", "forearm"))
        legs = (("thigh", "pelvis"), ("shank", "thigh"), ("foot", "shank"), ("toes", "foot"))
        for part, above in chain + legs:
            parent[f"{side}_{part}"] = above if above in ("spine5", "pelvis") else f"{side}_{above}"
    return tuple(INDEX[parent[name]] for name in SEGMENTS)


PARENTS: tuple[int, ...] = _parents()

_HANGING = {"upper_arm": "forearm", "forearm": "hand", "thigh": "shank", "shank": "foot"}


def turn(axis: str, angle_deg: ArrayLike) -> Rotations:
    """Return rotations about one axis of the world.

    Parameters
    ----------
    axis : {"x", "y", "z"}
        Axis to turn about, right-handed.
    angle_deg : array_like, shape (T,) or ()
        Angle in degrees.

    Returns
    -------
    ndarray, shape (T, 3, 3) or (3, 3)
    """
    angle = np.radians(np.asarray(angle_deg, dtype=float))
    c, s = np.cos(angle), np.sin(angle)
    i, j = {"x": (1, 2), "y": (2, 0), "z": (0, 1)}[axis]
    out = np.zeros((*angle.shape, 3, 3))
    out[..., range(3), range(3)] = 1.0
    out[..., i, i], out[..., j, j], out[..., i, j], out[..., j, i] = c, c, -s, s
    return out


def unit(vectors: ArrayLike) -> NDArray[np.float64]:
    """Return vectors (..., 3) scaled to length one."""
    array = np.asarray(vectors, dtype=float)
    return array / np.maximum(np.linalg.norm(array, axis=-1, keepdims=True), 1e-12)


def frame_along(direction: ArrayLike, hinge: ArrayLike) -> Rotations:
    """Return the rotation of a hanging limb that points along `direction` and bends about `hinge`.

    Parameters
    ----------
    direction, hinge : array_like, shape (..., 3)
        The way the limb points, and the y axis wanted for it (made orthogonal to the direction).
    """
    z = -unit(direction)
    y = np.asarray(hinge, dtype=float)
    y = unit(y - (y * z).sum(-1, keepdims=True) * z)
    return np.stack([np.cross(y, z), y, z], axis=-1)


def blend(first: Rotations, second: Rotations, share: ArrayLike) -> Rotations:
    """Return rotations on the shortest way from `first` to `second`; share (T,) runs from 0 to 1."""
    from scipy.spatial.transform import Rotation

    shape = np.broadcast_shapes(first.shape, second.shape)
    start = np.broadcast_to(first, shape).reshape(-1, 3, 3)
    step = np.swapaxes(start, -1, -2) @ np.broadcast_to(second, shape).reshape(-1, 3, 3)
    amount = np.broadcast_to(np.asarray(share, dtype=float), shape[:-2]).reshape(-1, 1)
    part = Rotation.from_rotvec(amount * Rotation.from_matrix(step).as_rotvec()).as_matrix()
    return (start @ part).reshape(shape)


@dataclass(frozen=True, slots=True, eq=False)
class Rig:
    """The joints of one body in its rest posture.

    Attributes
    ----------
    heads_m : ndarray, shape (24, 3)
        Joint at which each segment begins.
    canonical : ndarray, shape (24, 3, 3)
        Rotation from each segment's canonical posture to its rest posture.
    """

    heads_m: NDArray[np.float64]
    canonical: Rotations

    def length_m(self, first: str, second: str) -> float:
        """Return the distance between the beginnings of two segments."""
        return float(np.linalg.norm(self.heads_m[INDEX[first]] - self.heads_m[INDEX[second]]))

    def offset_m(self, name: str) -> NDArray[np.float64]:
        """Return where a segment begins in its parent's canonical frame, from the parent's beginning, (3,)."""
        i = INDEX[name]
        return self.canonical[PARENTS[i]].T @ (self.heads_m[i] - self.heads_m[PARENTS[i]])


def make_rig(heads_m: NDArray[np.float64]) -> Rig:
    """Find the canonical frames of a body from its resting joints (24, 3)."""
    canonical = np.tile(np.eye(3), (len(SEGMENTS), 1, 1))
    for side in ("left", "right"):
        for part, end in _HANGING.items():
            i, j = INDEX[f"{side}_{part}"], INDEX[f"{side}_{end}"]
            canonical[i] = frame_along(heads_m[j] - heads_m[i], _hinge(heads_m, side, part))
        canonical[INDEX[f"{side}_hand"]] = canonical[INDEX[f"{side}_forearm"]]
    return Rig(heads_m, canonical)


def _hinge(heads_m: NDArray[np.float64], side: str, part: str) -> NDArray[np.float64]:
    """Return the y axis of a limb at rest: across the bent elbow for arms, the body's own y for legs."""
    if part in ("thigh", "shank"):
        return np.array([0.0, 1.0, 0.0])
    shoulder, elbow, wrist = (heads_m[INDEX[f"{side}_{p}"]] for p in ("upper_arm", "forearm", "hand"))
    return -np.cross(elbow - shoulder, wrist - elbow)


def joints(rig: Rig, rotations: Rotations, root_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Place all joints.

    Parameters
    ----------
    rig : Rig
    rotations : ndarray, shape (T, 24, 3, 3)
        World rotation of every segment from its canonical posture.
    root_m : ndarray, shape (T, 3)
        Where the pelvis begins.

    Returns
    -------
    ndarray, shape (T, 24, 3)
        Beginning of every segment in the world, metres.
    """
    out = np.empty((*rotations.shape[:2], 3))
    out[:, 0] = root_m
    for i, name in enumerate(SEGMENTS[1:], start=1):
        out[:, i] = out[:, PARENTS[i]] + rotations[:, PARENTS[i]] @ rig.offset_m(name)
    return out


def reach(
    start_m: NDArray[np.float64], target_m: NDArray[np.float64], lengths_m: tuple[float, float],
    pole: NDArray[np.float64], *, bends: float,
) -> tuple[Rotations, Rotations]:  # fmt: skip
    """Bend a two-bone limb so that it ends at a target, or points at it when the target is too far.

    Parameters
    ----------
    start_m, target_m : ndarray, shape (T, 3)
        Where the limb begins and where it shall end.
    lengths_m : tuple of float
        Lengths of the two bones.
    pole : ndarray, shape (T, 3) or (3,)
        Direction in which the middle joint points.
    bends : {1.0, -1.0}
        Sign of the rotation about y that flexes the joint: +1 knee, -1 elbow.

    Returns
    -------
    upper, lower : ndarray, shape (T, 3, 3)
    """
    a, b = lengths_m
    line = target_m - start_m
    distance = np.linalg.norm(line, axis=-1)
    d = np.clip(distance, abs(a - b) + 1e-6, (a + b) * (1.0 - 1e-9))
    along = line / distance[:, None]
    side = unit(pole - (pole * along).sum(-1, keepdims=True) * along)
    at_start = np.arccos(np.clip((a * a + d * d - b * b) / (2 * a * d), -1.0, 1.0))
    first = np.cos(at_start)[:, None] * along + np.sin(at_start)[:, None] * side
    second = unit(d[:, None] * along - a * first)
    hinge = bends * np.cross(side, along)
    return frame_along(first, hinge), frame_along(second, hinge)


def reach_length_m(lengths_m: tuple[float, float], flexion_deg: ArrayLike) -> NDArray[np.float64]:
    """Return the distance between both ends of a two-bone limb bent by `flexion_deg` (law of cosines)."""
    a, b = lengths_m
    return np.sqrt(a * a + b * b + 2.0 * a * b * np.cos(np.radians(np.asarray(flexion_deg, dtype=float))))
