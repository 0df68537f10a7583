"""Angles of limbs that bend towards or away from the camera, read from how much the whole limb shortens."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cuebook.model import landmark_index

from .geometry import included_deg
from .smooth import Smooth

Array = NDArray[np.float64]

LEAST_COSINE = 0.45
LENGTH_SHARE, STANDING_SHARE = 0.03, 0.012
"""Standard uncertainty of the line from hip to ankle as a share of that of the straight leg, and the same while the
athlete stands tall: twice to three times what rendered bodies show (straight legs put aside differ by 1.6 %, at most
3.7 %, standing ones by 0.4 %), since clothes hide the hip of real people."""
STANDING_BLUR_S = 0.4
"""Between both the uncertainty changes over this time."""
ASIDE_OFF_FRONT_DEG, ASIDE_SHARE, ASIDE_SPREAD_DEG = 15.0, 0.35, 25.0
ASIDE_BENT_DEG = (20.0, 35.0, 60.0, 90.0)
"""A leg whose line leans by more than this share of its length, seen this far off the front, may leave towards or away
from the camera, so that a straight one looks bent by tens of degrees: so unsure is a knee that reads between the second
and third angle, falling to nothing at the first and the last (house choice; drawn lateral lunges 20 to 35 degrees off
the front read 43 to 70 for a true 5)."""
ASIDE_HIP_SPREAD_DEG = 15.0
"""So unsure is a hip from the front while a leg is put aside: trunk and thighs leave the picture, and the model's depth
was up to 40 degrees wrong on rendered lunges."""
FOLDS_DEG = np.arange(0.0, 150.1, 1.5)
STRAIGHT_TIMES, STRAIGHT_DEG = 4.0, 12.0
"""Before its length is seen, a straight leg is so many times as likely as one bent by any certain angle well beyond the
second number: legs are straightened to their end more often than stopped anywhere else (house choice)."""


def folded(ratio: Array, share: Array, *, seen: Array | None = None) -> tuple[Array, Array]:
    """Return the flexion that shortens a limb of two like segments to a share of its straight length.

    The cosine is flat at the straight limb, where its slope says nothing of the uncertainty: what is known is spread
    over all flexions from 0 on.

    Parameters
    ----------
    ratio : ndarray, shape (F,)
        Length over that of the straight limb: the cosine of half the flexion.
    share : ndarray, shape (F,)
        Standard uncertainty of `ratio`.
    seen : ndarray, shape (F,), optional
        Bend of an arm in the picture, degrees, that shows `ARM_SHOWN` of it. Without it the limb is a leg, and straight
        rather than bent (`STRAIGHT_TIMES`); of an arm nothing is likelier beforehand.

    Returns
    -------
    flexion, spread : ndarray, shape (F,)
        Median and standard deviation, degrees; NaN where `ratio` is.

    References
    ----------
    JCGM 101:2008 (propagation of distributions instead of first order).
    """
    miss = (np.asarray(ratio, float)[:, None] - np.cos(np.radians(FOLDS_DEG / 2.0))) / share[:, None]
    far = miss**2
    if seen is not None:
        spread = ARM_SHOWN_SPREAD_DEG[0] + ARM_SHOWN_SPREAD_DEG[1] * FOLDS_DEG
        far = far + ((np.asarray(seen, float)[:, None] - ARM_SHOWN * FOLDS_DEG) / spread) ** 2 + 2.0 * np.log(spread)
    likely = np.exp(-0.5 * (far - np.min(far, axis=1, keepdims=True)))
    if seen is None:
        likely *= 1.0 + (STRAIGHT_TIMES - 1.0) * np.exp(-FOLDS_DEG / STRAIGHT_DEG)
    likely[:, 0] /= 2.0
    mass = likely / likely.sum(axis=1, keepdims=True)
    mean, square = mass @ FOLDS_DEG, mass @ FOLDS_DEG**2
    below = np.cumsum(mass, axis=1) - mass / 2.0
    known = np.isfinite(mean)
    middle = np.full(len(mean), np.nan)
    middle[known] = [np.interp(0.5, row, FOLDS_DEG) for row in below[known]]
    return middle, np.sqrt(np.maximum(square - mean**2, 0.0) + (mean - middle) ** 2)


def leg_fold(smooth: Smooth, side: str, standing: NDArray[np.bool_], ahead_deg: float = 90.0) -> tuple[Array, Array]:
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
        Camera off the side view; 90 stands in front. A leg put out to the side shows there by the sine of it only, or
        not shortened at all where the step goes across the picture: the middle of both is taken.

    Returns
    -------
    flexion, spread : ndarray, shape (F,)
        Degrees; see :func:`folded`.
    """
    line = smooth.xy(landmark_index(f"{side}_hip")) - smooth.xy(landmark_index(f"{side}_ankle"))
    aside = max(float(np.sin(np.radians(abs(ahead_deg)))), LEAST_COSINE)
    shown, opened = (np.linalg.norm(line / np.array([x, 1.0]), axis=1) for x in (1.0, aside))
    usable = standing & np.isfinite(shown)
    if not usable.any():
        return np.full(len(shown), np.nan), np.full(len(shown), np.nan)
    shown, opened = (length / float(np.percentile(length[usable], 85)) for length in (shown, opened))
    step = float(np.median(np.diff(smooth.times_s))) if len(shown) > 1 else 1.0
    width = min(len(shown), max(1, round(STANDING_BLUR_S / step)))
    tall = np.convolve(standing.astype(float), np.ones(width) / width, mode="same")[: len(shown)]
    share = LENGTH_SHARE + (STANDING_SHARE - LENGTH_SHARE) * tall
    value, spread = folded((shown + opened) / 2.0, np.hypot(share, np.nan_to_num(opened - shown) / 2.0))
    return value, np.hypot(spread, aside_doubt_deg(line, value, standing, ahead_deg))


def put_aside(line: Array, standing: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the frames in which a leg with this line (F, 2) from ankle to hip is put out to the side."""
    with np.errstate(invalid="ignore"):
        return ~standing & (np.abs(line[:, 0]) > ASIDE_SHARE * np.linalg.norm(line, axis=1))


def aside_doubt_deg(line: Array, flexion: Array, standing: NDArray[np.bool_], ahead_deg: float) -> Array:
    """Return by how much a knee is less sure because its leg may leave towards the camera, degrees, shape (F,)."""
    if 90.0 - abs(ahead_deg) <= ASIDE_OFF_FRONT_DEG:
        return np.zeros(len(flexion))
    unsure = np.interp(np.nan_to_num(flexion), ASIDE_BENT_DEG, [0.0, *[ASIDE_SPREAD_DEG] * 2, 0.0])
    return np.where(put_aside(line, standing), unsure, 0.0)


ARM_SHARE, ARM_SHOWN, ARM_SHOWN_SPREAD_DEG = 0.03, 0.65, (4.0, 0.12)
"""Of an arm that pushes: standard uncertainty of the line from shoulder to wrist as a share of the straight one; part
of its bend that the picture shows, and the standard uncertainty of that with its growth per degree. On rendered arms of
16 bodies the line keeps to the cosine within 1 to 3 % up to 60 degrees, where the picture shows 17 too little."""
ARM_RAISED_DEG = (80.0, 100.0)
"""The arm's shortening counts in full up to the first angle between trunk and upper arm, not at all above the second:
pushed back into an inverted V, the model's shoulder slides along the arm."""


def arm_fold_deg(smooth: Smooth, side: str, picture: Array) -> Array:
    """Return elbow flexion of an arm that pushes on the floor, from how near the shoulder has come to the hand.

    Elbows point outwards, so that a camera beside the athlete sees them bend less than they do, and the less the
    further it stands towards the feet. The line from hand to shoulder stays upright and shows its whole length. With
    upper arm and forearm alike it is that of the straight arm times the cosine of half the flexion. The straight length
    comes from the frames of the plank in which the line is longest and the angle in the picture, small there, is good
    enough: the arms need not get straight for it.

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
        Degrees; `picture` where the arm is raised beside the head, or the line is not known.
    """
    line = smooth.xy(landmark_index(f"{side}_shoulder")) - smooth.xy(landmark_index(f"{side}_wrist"))
    length = np.linalg.norm(line, axis=1)
    known = np.isfinite(length) & np.isfinite(picture)
    if known.sum() < 10:
        return picture
    raised = included_deg(*(smooth.xy(landmark_index(f"{side}_{part}")) for part in ("hip", "shoulder", "elbow")))
    plank = known & (raised < ARM_RAISED_DEG[0])
    plank = plank if plank.sum() >= 10 else known
    long = plank & (length >= np.percentile(length[plank], 80))
    bent = np.clip(np.abs(picture[long]) / ARM_SHOWN, 0.0, 100.0)
    straight = float(np.median(length[long] / np.cos(np.radians(bent / 2.0))))
    fold, _ = folded(length / straight, np.full(len(length), ARM_SHARE), seen=np.abs(picture))
    share = np.clip((ARM_RAISED_DEG[1] - raised) / (ARM_RAISED_DEG[1] - ARM_RAISED_DEG[0]), 0.0, 1.0)
    return np.where(known, share * fold + (1.0 - share) * picture, picture)
