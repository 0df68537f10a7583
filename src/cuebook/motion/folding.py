"""Angles of limbs that bend towards or away from the camera, read from how much the whole limb shortens."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cuebook.model import landmark_index

from .geometry import included_deg
from .smooth import Smooth

Array = NDArray[np.float64]

LEAST_COSINE = 0.45
LENGTH_SHARE = 0.06
"""Standard uncertainty of the line from hip to ankle against that of the standing leg, as a share of it: the hip mark
moves along with a leg put out to the side. A straight leg in the lateral lunges of the learning and trial clips
looks 3 to 8 % too short."""
ASIDE_OFF_FRONT_DEG, ASIDE_SHARE, ASIDE_SPREAD_DEG = 15.0, 0.35, 25.0
"""A leg whose line leans by more than this share of its length, seen this far off the front, may leave towards or away
from the camera, so that a straight one looks bent by tens of degrees: so unsure is its knee up to 60 degrees, falling
to nothing at 90 (house choice; drawn lateral lunges 20 to 35 degrees off the front read 43 to 70 for a true 5)."""


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
    line = smooth.xy(landmark_index(f"{side}_hip")) - smooth.xy(landmark_index(f"{side}_ankle"))
    line = line / np.array([max(float(np.sin(np.radians(abs(ahead_deg)))), LEAST_COSINE), 1.0])
    length = np.linalg.norm(line, axis=1)
    usable = standing & np.isfinite(length)
    straight = float(np.percentile(length[usable], 85)) if usable.any() else np.nan
    return 2.0 * np.degrees(np.arccos(np.clip(length / straight, 0.0, 1.0)))


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
