"""Axial rotation of the trunk against the pelvis, from apparent widths rather than from the model's depth.

Seen by a camera at azimuth ``c``, a shoulder line of true width ``W`` shows the signed width ``W cos(c - r)`` once the
trunk has turned by ``r`` to the athlete's left. Divided by its width in the neutral stance of the same clip, the unknown
``W`` drops out: ``ratio = cos(c - r) / cos(c)``. The hip line obeys the same rule and is subtracted.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Movement, Signal, Track, View, landmark_index

from .geometry import unit
from .joints import Smooth

Array = NDArray[np.float64]

RATIO_SPREAD = 0.05
"""Standard uncertainty of a width ratio: the shoulder girdle moves and the landmarks slide, on rendered clips."""
PELVIS_PRIOR_DEG = 5.0
"""How much a pelvis turns along in a standing rotation (house choice); the hip line is too narrow to say better alone."""
PELVIS_RATIO_SPREAD = 0.14
DEPTH_SPREAD_DEG = 20.0
REFILM = "Put the phone at chest height, about 40 degrees off your front, on the side you turn away from."


def shown_width(smooth: Smooth, part: str) -> Array:
    """Return the signed apparent width of the shoulder or hip line, in trunk lengths, positive when facing the camera.

    Parameters
    ----------
    smooth : Smooth
        Filtered landmarks.
    part : {"shoulder", "hip"}
        Which line.

    Returns
    -------
    ndarray, shape (F,)
    """
    left, right = (smooth.xy(landmark_index(f"{s}_{part}")) for s in ("left", "right"))
    shoulder = (smooth.xy(landmark_index("left_shoulder")) + smooth.xy(landmark_index("right_shoulder"))) / 2
    hip = (smooth.xy(landmark_index("left_hip")) + smooth.xy(landmark_index("right_hip"))) / 2
    down = unit(hip - shoulder)
    across = np.stack([down[:, 1], -down[:, 0]], axis=1)
    length = np.linalg.norm(hip - shoulder, axis=1)
    return ((left - right) * across).sum(axis=1) / length


def depth_turn(smooth: Smooth) -> Array:
    """Return the rotation that the model's own 3D shows, shoulder line against hip line, positive to the left."""
    angle = {}
    for part in ("shoulder", "hip"):
        line = smooth.world_m[:, landmark_index(f"left_{part}")] - smooth.world_m[:, landmark_index(f"right_{part}")]
        angle[part] = np.degrees(np.arctan2(line[:, 2], line[:, 0]))
    return (angle["shoulder"] - angle["hip"] + 180.0) % 360.0 - 180.0


def turn_from_width(ratio: Array, camera_deg: float, towards: Array) -> tuple[Array, Array, Array]:
    """Solve ``ratio = cos(c - r) / cos(c)`` for the rotation ``r``.

    Parameters
    ----------
    ratio : ndarray, shape (F,)
        Width now over width in neutral.
    camera_deg : float
        Azimuth of the camera in neutral, positive = left side seen.
    towards : ndarray of bool, shape (F,)
        Whether the line has turned past the camera, which the width alone cannot tell.

    Returns
    -------
    turn, per_ratio, per_degree : ndarray, shape (F,)
        Rotation in degrees, positive to the left, and its sensitivities to the ratio and to the camera's azimuth.
    """
    c = np.radians(camera_deg)
    inside = np.clip(ratio * np.cos(c), -1.0, 1.0)
    seen = np.arccos(inside) * (1.0 if camera_deg >= 0 else -1.0)
    seen = np.where(towards, -seen, seen)
    turn = np.degrees(c - seen)
    slope = np.maximum(np.abs(np.sin(seen)), 0.05)
    per_ratio = np.degrees(np.cos(c) / slope)
    per_degree = np.abs(1.0 - ratio * np.sin(c) / np.where(np.sin(seen) >= 0, slope, -slope))
    return turn, per_ratio, per_degree


def rotation_signal(
    track: Track, smooth: Smooth, bad: NDArray[np.bool_], movement: Movement, view: View, rest: NDArray[np.bool_]
) -> Signal:
    """Measure trunk rotation over a clip.

    Parameters
    ----------
    track, smooth : Track, Smooth
        Landmarks.
    bad : ndarray of bool, shape (F, 33)
        Landmarks in doubt.
    movement : Movement
        Only movements that turn the trunk look for a neutral stance.
    view : View
        View of the clip.
    rest : ndarray of bool, shape (F,)
        Quiet frames.

    Returns
    -------
    Signal
        Empty with a reason where the view cannot show it.
    """
    none = np.full(len(track.times_s), np.nan)
    depth = depth_turn(smooth)
    lines = [landmark_index(f"{s}_{p}") for s in ("left", "right") for p in ("shoulder", "hip")]
    lost = bad[:, lines].any(axis=1) | ~np.isfinite(depth)
    if view.name == "unknown" or view.lying or abs(abs(view.azimuth_deg) - 90.0) < 15.0:
        reason = "from this side the shoulder line cannot be seen turning"
        return Signal(name="trunk_rotation", times_s=track.times_s, values=none, noise=none, shared=none, unit="deg",
                      method="shoulder width", why_not=reason, refilm=REFILM)  # fmt: skip
    shoulder, hip = shown_width(smooth, "shoulder"), shown_width(smooth, "hip")
    quiet = rest & ~lost & (np.abs(depth - np.nanmedian(depth[rest & ~lost])) < 6.0) if (rest & ~lost).any() else rest
    if quiet.sum() < 5:
        quiet = ~lost
    base = float(np.nanmedian(shoulder[quiet])), float(np.nanmedian(hip[quiet])), float(np.nanmedian(depth[quiet]))
    sign = np.where(depth - base[2] >= 0, 1.0, -1.0)
    camera = view.azimuth_deg
    upper, u_ratio, u_degree = turn_from_width(shoulder / base[0], camera, np.zeros(len(depth), bool))
    lower, l_ratio, _ = turn_from_width(hip / base[1], camera, np.zeros(len(depth), bool))
    pelvis_u = l_ratio * PELVIS_RATIO_SPREAD
    share = PELVIS_PRIOR_DEG**2 / (PELVIS_PRIOR_DEG**2 + pelvis_u**2)
    pelvis, pelvis_left = share * lower, PELVIS_PRIOR_DEG * np.sqrt(1.0 - share)
    value = upper - pelvis
    spread = np.sqrt((u_ratio * RATIO_SPREAD) ** 2 + (u_degree * view.uncertainty_deg) ** 2 + pelvis_left**2)
    value, spread = _with_depth(value, spread, depth - base[2], sign)
    sigma = float(np.sqrt(np.mean(smooth.sigma_px[lines] ** 2)))
    width = np.linalg.norm(
        smooth.xy(landmark_index("left_shoulder")) - smooth.xy(landmark_index("right_shoulder")), axis=1
    )
    noise = u_ratio * np.sqrt(2.0) * sigma / np.maximum(width, 5.0)
    return Signal(
        name="trunk_rotation",
        times_s=track.times_s,
        values=np.where(lost, np.nan, value),
        noise=np.where(lost, np.nan, np.minimum(noise, 30.0)),
        shared=np.where(lost, np.nan, np.minimum(spread, 45.0)),
        unit="deg",
        method="shoulder width",
        refilm=REFILM,
    )


def _with_depth(value: Array, spread: Array, depth: Array, sign: Array) -> tuple[Array, Array]:
    """Join the width reading with the model's depth, weighted by their uncertainties."""
    weight = DEPTH_SPREAD_DEG**2 / (DEPTH_SPREAD_DEG**2 + spread**2)
    joined = weight * value + (1.0 - weight) * 2.0 * depth
    return joined, np.sqrt(weight) * spread
