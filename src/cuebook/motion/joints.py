"""Raw joint angles of a track: one reading from the picture plane, one from the model's own 3D."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cuebook.model import landmark_index

from .folding import ASIDE_HIP_SPREAD_DEG, LEAST_COSINE, arm_fold_deg, leg_fold, put_aside
from .geometry import angle_sigma_deg, bend_deg, flexion_deg, inclination_deg, included_deg
from .smooth import Smooth

Array = NDArray[np.float64]

JOINTS: dict[str, tuple[str, str, str]] = {
    "knee_flexion": ("hip", "knee", "ankle"),
    "hip_flexion": ("shoulder", "hip", "knee"),
    "elbow_flexion": ("shoulder", "elbow", "wrist"),
    "shoulder_flexion": ("hip", "shoulder", "elbow"),
}
"""Proximal, vertex and distal landmark of each joint angle; hip flexion is the angle between trunk and thigh."""

SIGNS = {"knee_flexion": 1.0, "hip_flexion": -1.0, "body_line": 1.0}
"""Sense of flexion on the screen for an athlete who faces right, clockwise positive.

The elbow has none: turning the upper arm about its length swings the plane in which the elbow bends.
"""
SIDES = ("left", "right")
ONE_SENSE = 0.8
"""Agreement from which an elbow counts as bending to one side of the screen throughout (house choice)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RawAngle:
    """One joint angle read in two ways, degrees.

    Attributes
    ----------
    plane : ndarray, shape (F,)
        Signed, from the picture plane; flexion positive.
    space : ndarray, shape (F,)
        Unsigned, from the model's 3D.
    noise : ndarray, shape (F,)
        Standard uncertainty of `plane` from landmark noise.
    reading : ndarray, shape (F,)
        Standard uncertainty of `plane` from the way it is read: from a leg's length where the leg does not stand, or
        from what a segment was stretched by. Common to the clip.
    """

    plane: Array
    space: Array
    noise: Array
    reading: Array


FOLD_FROM_OFF_SIDE_DEG = 42.0
"""Further off the side than this, a knee is read from how much the leg shortens (see :func:`leg_fold`)."""
LEAST_SLOPE = 0.15
"""Near straight the noise of a folding leg is taken at this slope: its spread holds what is beyond."""


STRETCH_SHARE = 0.5
"""Share of what stretching a segment changes an angle by that is put down as standard uncertainty (house choice)."""
KNEES_OUT_DEG = 15.0
"""Standing legs bend over the toes, about this far outwards (toes out 5 to 30 degrees is usual; common practice, no
source). On rendered squats it halves what differs between cameras."""


def raw_angle(
    smooth: Smooth,
    joint: str,
    side: str,
    *,
    hand: float,
    azimuth_deg: float,
    standing: NDArray[np.bool_] | None = None,
    outward_deg: float = 0.0,
    hands_planted: bool = False,
) -> RawAngle:
    """Read one joint angle from filtered landmarks.

    Parameters
    ----------
    smooth : Smooth
        Filtered landmarks.
    joint : str
        A key of `JOINTS`, or ``body_line`` for the line from shoulder over hip to ankle (positive = hips sag).
    side : {"left", "right"}
        Whose limb.
    hand : float
        +1 if the athlete faces right when upright, -1 if left.
    azimuth_deg : float
        Camera azimuth: it chooses the reading of a knee.
    standing : ndarray of bool, shape (F,), optional
        Frames in which the athlete stands upright, for knees seen from the front; None where no leg stands straight.
    outward_deg : float
        How far the plane in which the leg bends is turned towards the camera of somebody who stands in front.
    hands_planted : bool
        Whether the arms push on the floor: then both readings of an elbow are that of :func:`arm_fold_deg`.

    Returns
    -------
    RawAngle
    """
    parts = JOINTS.get(joint, ("shoulder", "hip", "ankle"))
    index = [landmark_index(f"{side}_{p}") for p in parts]
    a, v, c = (smooth.xy(i) for i in index)
    sigma = float(np.sqrt(np.mean(smooth.sigma_px[index] ** 2)))
    noise = angle_sigma_deg(
        np.linalg.norm(a - v, axis=-1), np.linalg.norm(c - v, axis=-1), included_deg(a, v, c), sigma
    )
    points = [smooth.world_m[:, i] for i in index]
    reading = np.zeros(len(noise))
    if joint == "shoulder_flexion":
        plane, space = included_deg(a, v, c), included_deg(*points)
    else:
        plain = bend_deg(a, v, c)
        if joint in SIGNS:
            a, v, c = _unshortened(a, v, c, joint, 90.0 - abs(azimuth_deg), outward_deg)
        bend = bend_deg(a, v, c)
        reading = STRETCH_SHARE * np.abs(bend - plain)
        sign = SIGNS[joint] * (1.0 if hand >= 0 else -1.0) if joint in SIGNS else _sense(bend)
        plane, space = sign * bend, flexion_deg(*points)
        if joint == "knee_flexion" and standing is not None and abs(90.0 - abs(azimuth_deg)) >= FOLD_FROM_OFF_SIDE_DEG:
            plane, reading = leg_fold(smooth, side, standing, 90.0 - abs(azimuth_deg))
            slope = np.maximum(np.sin(np.radians(plane / 2.0)), LEAST_SLOPE)
            noise = np.degrees(2.0 * np.sqrt(2.0) * sigma / np.maximum(np.linalg.norm(a - c, axis=-1), 1.0)) / slope
        if joint == "hip_flexion" and standing is not None and abs(90.0 - abs(azimuth_deg)) >= FOLD_FROM_OFF_SIDE_DEG:
            legs = [smooth.xy(landmark_index(f"{s}_hip")) - smooth.xy(landmark_index(f"{s}_ankle")) for s in SIDES]
            aside = np.any([put_aside(leg, standing) for leg in legs], axis=0)
            reading = np.where(aside, ASIDE_HIP_SPREAD_DEG, reading)
        if joint == "elbow_flexion" and hands_planted:
            plane = space = arm_fold_deg(smooth, side, plane)
    return RawAngle(plane=plane, space=space, noise=noise, reading=reading)


def _unshortened(
    a: Array, v: Array, c: Array, joint: str, ahead_deg: float, outward_deg: float
) -> tuple[Array, Array, Array]:
    """Stretch both segments of a leg across the picture by what they lose there to a camera off the side view.

    Lengths along the floor show by the cosine of the angle between their plane and the picture; upright ones are not
    shortened. The trunk stays in the plane that divides left from right, a leg bends `outward_deg` beside it.
    """
    if abs(ahead_deg) >= FOLD_FROM_OFF_SIDE_DEG:
        return a, v, c
    outward = float(np.cos(np.radians(outward_deg)))
    leg = outward / max(float(np.cos(np.radians(ahead_deg + outward_deg))), LEAST_COSINE)
    upper = 1.0 / max(float(np.cos(np.radians(ahead_deg))), LEAST_COSINE) if joint != "knee_flexion" else leg
    return v + (a - v) * np.array([upper, 1.0]), v, v + (c - v) * np.array([leg, 1.0])


def _sense(bend: Array) -> Array | float:
    """Return the sign that makes flexion positive: one for the clip if the limb bends one way, else one per frame."""
    clear = bend[np.isfinite(bend) & (np.abs(bend) > 15.0)]
    if clear.size >= 5 and abs(clear.sum()) > ONE_SENSE * np.abs(clear).sum():
        return float(np.sign(clear.sum()))
    return np.where(bend < 0, -1.0, 1.0)


def leaning_deg(smooth: Smooth, low: tuple[int, ...], high: tuple[int, ...], hand: float) -> Array:
    """Return the forward lean of a segment against the vertical of the picture.

    Parameters
    ----------
    smooth : Smooth
        Filtered landmarks.
    low, high : tuple of int
        Places of the landmarks whose mean is the lower and the upper end.
    hand : float
        +1 if the athlete faces right, -1 if left.

    Returns
    -------
    ndarray, shape (F,)
        Degrees, 0 = upright, forwards positive.
    """
    ends = [smooth.xy_px[:, list(places)].mean(axis=1) for places in (low, high)]
    return inclination_deg(*ends) * (1.0 if hand >= 0 else -1.0)
