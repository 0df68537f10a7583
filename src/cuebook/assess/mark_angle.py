"""The number that belongs to an angle a coach marked: the measured joint angle, or the plain one in the picture."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cuebook.model import LANDMARKS, Mark, ReviewData, Track, landmark_index

READ_WITHIN_S = 0.09
"""A value is the median of the frames this near to the instant, as in a measure at an event."""

_MEASURED = {
    ("hip", "knee", "ankle"): "knee_flexion",
    ("shoulder", "hip", "knee"): "hip_flexion",
    ("shoulder", "elbow", "wrist"): "elbow_flexion",
    ("hip", "shoulder", "elbow"): "shoulder_flexion",
}
"""Joints of one side -> the signal that is their angle."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedAngle:
    """An angle with its standard uncertainty in degrees; None where it is only the one in the picture."""

    value: float
    uncertainty: float | None
    method: str


def mark_angle(data: ReviewData, mark: Mark) -> MarkedAngle | None:
    """Return the angle of a mark.

    Parameters
    ----------
    data : ReviewData
        The review.
    mark : Mark
        Any mark.

    Returns
    -------
    MarkedAngle or None
        The joint angle (flexion positive, 0 = straight) where the three joints are one that is measured; None where
        this clip does not measure it, or where the mark is no angle. For other joints the angle between the two lines
        as it looks in the picture, 180 = in line, without an uncertainty, because it is no measurement.
    """
    if mark.kind != "angle":
        return None
    name = _signal_name(mark.joints)
    if name is not None:
        return _measured(data, name, mark.at_s)
    points = np.array([point_of(data.track, j, mark.at_s) for j in mark.joints])
    if not np.isfinite(points).all():
        return None
    one, other = points[0] - points[1], points[2] - points[1]
    size = float(np.hypot(*one) * np.hypot(*other))
    if size < 1e-6:
        return None
    value = float(np.degrees(np.arccos(np.clip(one @ other / size, -1.0, 1.0))))
    return MarkedAngle(value=value, uncertainty=None, method="as it looks in the picture")


def point_of(track: Track, joint: str, at_s: float) -> NDArray[np.float64]:
    """Return where a joint is at an instant, shape (2,), pixels of the upright clip; NaN where it was not seen.

    Parameters
    ----------
    track : Track
        Landmarks of the clip.
    joint : str
        A landmark, or ``mid_shoulder`` or ``mid_hip``.
    at_s : float
        Instant, seconds.
    """
    frame = int(np.argmin(np.abs(track.times_s - at_s)))
    if joint in LANDMARKS:
        return track.xy_px[frame, landmark_index(joint)]
    part = joint.removeprefix("mid_")
    return (
        track.xy_px[frame, landmark_index(f"left_{part}")] + track.xy_px[frame, landmark_index(f"right_{part}")]
    ) / 2


def _signal_name(joints: tuple[str, ...]) -> str | None:
    """Return the signal that is the angle of three joints of one side, in either order, None where there is none."""
    sides, parts = {j.partition("_")[0] for j in joints}, tuple(j.partition("_")[2] for j in joints)
    if len(sides) != 1 or not sides <= {"left", "right"}:
        return None
    name = _MEASURED.get(parts) or _MEASURED.get(parts[::-1])
    return None if name is None else f"{sides.pop()}_{name}"


def _measured(data: ReviewData, name: str, at_s: float) -> MarkedAngle | None:
    signal = data.motion.signals.get(name)
    if signal is None or signal.why_not is not None:
        return None
    near = signal.measured & (np.abs(signal.times_s - at_s) <= READ_WITHIN_S)
    if not near.any():
        return None
    value, spread = float(np.median(signal.values[near])), float(np.median(signal.sigma[near]))
    return MarkedAngle(value=value, uncertainty=spread, method=signal.method)


def is_from_straight(mark: Mark) -> bool:
    """Return whether the angle of a mark is 0 where its two limbs are in line, as a knee is; a shoulder is not."""
    name = _signal_name(mark.joints) or ""
    return name.endswith(("knee_flexion", "hip_flexion", "elbow_flexion"))
