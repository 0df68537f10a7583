"""Raw joint angles of a track: one reading from the picture plane, one from the model's own 3D."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Track

from .filtering import lowpass, residual_cutoff_hz
from .geometry import angle_sigma_deg, bend_deg, flexion_deg, inclination_deg, included_deg

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
ONE_SENSE = 0.8
"""Agreement from which an elbow counts as bending to one side of the screen throughout (house choice)."""

MAIN_PARTS = ("shoulder", "elbow", "wrist", "hip", "knee", "ankle")
LONGEST_GAP_S = 0.25
"""House choice: a gap up to this long is bridged by a straight line and marked, a longer one is left empty."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Smooth:
    """Filtered landmarks with what the filter took away.

    Attributes
    ----------
    times_s : ndarray, shape (F,)
        Seconds.
    xy_px : ndarray, shape (F, 33, 2)
        Filtered picture coordinates, gaps up to 0.25 s bridged.
    world_m : ndarray, shape (F, 33, 3)
        Filtered model coordinates.
    sigma_px : ndarray, shape (33,)
        Noise of a filtered coordinate, per landmark, from the residual of the filter.
    cutoff_hz : float
        Cut-off that was used.
    """

    times_s: Array
    xy_px: Array
    world_m: Array
    sigma_px: Array
    cutoff_hz: float

    def xy(self, index: int) -> Array:
        """Picture coordinates (F, 2) of one landmark by its place."""
        return self.xy_px[:, index]


def smooth_track(track: Track) -> Smooth:
    """Bridge short gaps and filter all landmarks of a track with one zero-lag low-pass.

    Parameters
    ----------
    track : Track
        Raw landmarks.

    Returns
    -------
    Smooth
        White noise of a coordinate shrinks by the square root of twice the cut-off over the rate; that share of the
        residual's standard deviation is reported as the noise that remains.
    """
    from cuebook.model import landmark_index

    times = track.times_s
    flat = np.concatenate([track.xy_px.reshape(len(times), -1), track.world_m.reshape(len(times), -1)], axis=1)
    bridged = bridge(times, flat)
    main = [landmark_index(f"{s}_{p}") * 2 + k for s in ("left", "right") for p in MAIN_PARTS for k in (0, 1)]
    cutoff = residual_cutoff_hz(times, bridged[:, main])
    smooth = lowpass(times, bridged, cutoff)
    rate = 1.0 / float(np.median(np.diff(times))) if len(times) > 1 else 30.0
    keep = min(0.9, 2.0 * cutoff / rate)
    with np.errstate(invalid="ignore"):
        residual = (
            np.nanstd(bridged[:, :66] - smooth[:, :66], axis=0) if np.isfinite(flat).any() else np.full(66, np.nan)
        )
    left = residual.reshape(33, 2).mean(axis=1) * np.sqrt(keep / (1.0 - keep))
    return Smooth(
        times_s=times,
        xy_px=smooth[:, :66].reshape(-1, 33, 2),
        world_m=smooth[:, 66:].reshape(-1, 33, 3),
        sigma_px=left,
        cutoff_hz=cutoff,
    )


def bridge(times_s: Array, columns: Array) -> Array:
    """Fill gaps of at most 0.25 s inside a series by a straight line; longer ones stay NaN.

    Parameters
    ----------
    times_s : ndarray, shape (F,)
    columns : ndarray, shape (F, N)

    Returns
    -------
    ndarray, shape (F, N)
    """
    from .filtering import runs

    out = columns.copy()
    missing = ~np.isfinite(columns).all(axis=1)
    for start, stop in runs(missing):
        if start == 0 or stop == len(times_s) or times_s[stop] - times_s[start - 1] > LONGEST_GAP_S + 1e-9:
            continue
        share = (times_s[start:stop] - times_s[start - 1]) / (times_s[stop] - times_s[start - 1])
        out[start:stop] = columns[start - 1] + share[:, None] * (columns[stop] - columns[start - 1])
    return out


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
"""Further off the side than this, a knee is read from how much the leg shortens (see :func:`fold_deg`)."""


LENGTH_SHARE = 0.06
"""Standard uncertainty of the line from hip to ankle against that of the standing leg, as a share of it: the hip mark
moves along with a leg put out to the side. A straight leg in the lateral lunges of the learning and trial clips
looks 3 to 8 % too short."""
ASIDE_OFF_FRONT_DEG, ASIDE_SHARE, ASIDE_SPREAD_DEG = 15.0, 0.35, 25.0
"""A leg whose line leans by more than this share of its length, seen this far off the front, may leave towards or away
from the camera, so that a straight one looks bent by tens of degrees: so unsure is its knee up to 60 degrees, falling
to nothing at 90 (house choice; drawn lateral lunges 20 to 35 degrees off the front read 43 to 70 for a true 5)."""
STRETCH_SHARE = 0.5
"""Share of what stretching a segment changes an angle by that is put down as standard uncertainty (house choice)."""


def fold_deg(smooth: Smooth, side: str, standing: NDArray[np.bool_], ahead_deg: float = 90.0) -> Array:
    """Return knee flexion from how much shorter the line from hip to ankle is than with a straight leg.

    Seen from the front a knee bends towards the camera and its angle in the picture says nothing, but hip and ankle
    come closer. With thigh and shank alike, their distance is that of the straight leg times the cosine of half the
    flexion.

    Parameters
    ----------
    smooth : Smooth
        Filtered landmarks.
    side : {"left", "right"}
        Whose leg.
    standing : ndarray of bool, shape (F,)
        Frames in which the athlete stands upright; the straight leg is about the longest fifth of them.
    ahead_deg : float
        Camera off the side view; 90 stands in front. A leg put out to the side shows there by the sine of it only.

    Returns
    -------
    ndarray, shape (F,)
        Degrees, 0 to 180.
    """
    from cuebook.model import landmark_index

    line = smooth.xy(landmark_index(f"{side}_hip")) - smooth.xy(landmark_index(f"{side}_ankle"))
    line = line / np.array([max(float(np.sin(np.radians(abs(ahead_deg)))), LEAST_COSINE), 1.0])
    length = np.linalg.norm(line, axis=1)
    usable = standing & np.isfinite(length)
    straight = float(np.percentile(length[usable], 85)) if usable.any() else np.nan
    return 2.0 * np.degrees(np.arccos(np.clip(length / straight, 0.0, 1.0)))


LEAST_COSINE = 0.45
KNEES_OUT_DEG = 15.0
"""Standing legs bend over the toes, about this far outwards (toes out 5 to 30 degrees is usual; common practice, no
source). On rendered squats it halves what differs between cameras."""
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


ARM_FOLD_DEG = (30.0, 60.0)
"""Below the first an elbow of a planted hand is read from its angle in the picture, above the second from the arm's
shortening, between them from both (house choice: near straight the shortening says little)."""

ARM_RAISED_DEG = (80.0, 100.0)
"""The arm's shortening counts in full up to the first angle between trunk and upper arm, not at all above the second:
pushed back into an inverted V, the model's shoulder slides along the arm."""


def arm_fold_deg(smooth: Smooth, side: str, picture: Array) -> Array:
    """Return elbow flexion of an arm that pushes on the floor, from how near the shoulder has come to the hand.

    Elbows point outwards, so that a camera beside the athlete sees them bend less than they do, and the less the
    further it stands towards the feet. The line from hand to shoulder stays upright and shows its whole length. With
    upper arm and forearm alike it is that of the straight arm times the cosine of half the flexion. The straight length
    comes from the frames in which the line is longest and the angle in the picture, small there, is good enough: the
    arms need not get straight for it.

    Parameters
    ----------
    smooth : Smooth
        Filtered landmarks.
    side : {"left", "right"}
        Whose arm.
    picture : ndarray, shape (F,)
        Flexion as the picture shows it, degrees.

    Returns
    -------
    ndarray, shape (F,)
        Degrees; `picture` where the arm is near straight or raised beside the head, or the line is not known.
    """
    from cuebook.model import landmark_index

    line = smooth.xy(landmark_index(f"{side}_shoulder")) - smooth.xy(landmark_index(f"{side}_wrist"))
    length = np.linalg.norm(line, axis=1)
    known = np.isfinite(length) & np.isfinite(picture)
    if known.sum() < 10:
        return picture
    long = known & (length >= np.percentile(length[known], 85))
    straight = float(np.median(length[long] / np.cos(np.radians(np.clip(np.abs(picture[long]), 0.0, 100.0) / 2.0))))
    fold = 2.0 * np.degrees(np.arccos(np.clip(length / straight, 0.0, 1.0)))
    raised = included_deg(*(smooth.xy(landmark_index(f"{side}_{part}")) for part in ("hip", "shoulder", "elbow")))
    share = np.clip((fold - ARM_FOLD_DEG[0]) / (ARM_FOLD_DEG[1] - ARM_FOLD_DEG[0]), 0.0, 1.0)
    share = share * np.clip((ARM_RAISED_DEG[1] - raised) / (ARM_RAISED_DEG[1] - ARM_RAISED_DEG[0]), 0.0, 1.0)
    return np.where(known, share * fold + (1.0 - share) * picture, picture)


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
    from cuebook.model import landmark_index

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
            plane = fold_deg(smooth, side, standing, 90.0 - abs(azimuth_deg))
            length = np.linalg.norm(a - c, axis=-1)
            slope = np.maximum(np.sin(np.radians(plane / 2.0)), 0.08)
            noise = 2.0 * np.degrees(np.sqrt(2.0) * sigma / np.maximum(length, 1.0)) / slope
            reading = np.where(standing, 0.0, 2.0 * np.degrees(LENGTH_SHARE) / slope)
            if abs(azimuth_deg) > ASIDE_OFF_FRONT_DEG and 180.0 - abs(azimuth_deg) > ASIDE_OFF_FRONT_DEG:
                aside = ~standing & (np.abs(a[:, 0] - c[:, 0]) > ASIDE_SHARE * length)
                unsure = np.interp(np.nan_to_num(plane), [60.0, 90.0], [ASIDE_SPREAD_DEG, 0.0])
                reading = np.where(aside, np.hypot(reading, unsure), reading)
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
