"""Stretches of a track whose landmarks cannot be trusted, found from the landmarks themselves.

A pose model gives no warning when it sticks a raised knee to the other leg, follows another person for a moment or
swaps
left and right: its scores stay high. What gives it away is geometry: a bone that changes its length from one frame
to the next, two knees in one place, a body that leaps.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from cuebook.model import LANDMARKS, Doubt, Track

Array = NDArray[np.float64]

LONGEST_GAP_S = 0.25
"""A longer stretch with nobody found is said; shorter ones are bridged."""
LEAP_TRUNKS = 0.6
"""A body does not move its middle by more than this many trunk lengths from one frame to the next (house choice)."""
LEG = ("leg", ("hip", "knee", "ankle"), ("knee", "ankle", "heel", "foot_index"), 7.0)
ARM = ("arm", ("shoulder", "elbow", "wrist"), ("elbow", "wrist", "index"), 9.0)
"""A limb: its name, its joints, the landmarks that go with it, and the speed that it cannot reach, in trunk lengths
a second.

A knee lifted in half a second peaks near 4 (minimum jerk over one trunk length); thrice that is left for brisk people.
"""
SHORT_BONE, SHORTENED_BONE = 0.70, 0.84
"""Shares of a bone's usual length, from the side: below the first it is doubtful anyhow, below the second where it has
changed in a flash. Bent far, the model draws a good thigh at 0.79 of its standing length, but it gets there slowly."""
FLASH_SHARE, FLASH_S, NEAR_FLASH_S = 0.09, 0.1, 0.35
"""A change of length by this share within a tenth of a second is no movement; it spoils what lies this near."""
SIDE_BREADTH = 0.32
"""Shoulders narrower than this share of the trunk: seen from the side."""
BETWEEN_JUMPS_S = 0.9
"""Between a jump out and a jump back within this time the limb was somewhere else."""
LEAST_S = 0.07
WIDEN_S = 0.07


def find_doubts(track: Track) -> tuple[Doubt, ...]:
    """Find all doubtful stretches of a track.

    Parameters
    ----------
    track : Track
        Raw landmarks.

    Returns
    -------
    tuple of Doubt
        In order of time.
    """
    if not track.found.any():
        return ()
    out = [*_gaps(track), *_leaps(track)]
    for side in ("left", "right"):
        out += [*_limb(track, side, LEG), *_limb(track, side, ARM)]
    return tuple(sorted(out, key=lambda d: d.start_s))


def stretches(
    track: Track,
    flags: NDArray[np.bool_],
    *,
    what: str,
    reason: str,
    landmarks: tuple[str, ...],
    least_s: float = LEAST_S,
) -> list[Doubt]:
    """Turn flagged frames into doubts, joined over breaks of a fifth of a second and widened a little on both sides."""
    times = track.times_s
    places = np.flatnonzero(flags)
    if places.size == 0:
        return []
    groups = np.split(places, np.flatnonzero(np.diff(times[places]) > 0.2) + 1)
    out = []
    for g in groups:
        if times[g[-1]] - times[g[0]] < least_s:
            continue
        out.append(Doubt(start_s=max(float(times[0]), float(times[g[0]]) - WIDEN_S),
                         end_s=min(float(times[-1]), float(times[g[-1]]) + WIDEN_S), what=what, reason=reason,
                         landmarks=landmarks))  # fmt: skip
    return out


def _gaps(track: Track) -> list[Doubt]:
    return stretches(track, ~track.found, what="whole body", reason="nobody was found", landmarks=LANDMARKS,
                     least_s=LONGEST_GAP_S)  # fmt: skip


def _leaps(track: Track) -> list[Doubt]:
    """Find leaps of the body's middle: somebody else was followed for a moment."""
    middle = sum(track.xy(f"{s}_{p}") for s in ("left", "right") for p in ("hip", "shoulder")) / 4
    move = np.zeros(len(track.times_s))
    move[1:] = np.linalg.norm(np.diff(middle, axis=0), axis=1) / _trunk(track)
    leap = np.nan_to_num(move) > LEAP_TRUNKS
    return stretches(track, leap, what="whole body", reason="the followed body leapt", landmarks=LANDMARKS, least_s=0.0)


def _limb(track: Track, side: str, limb: tuple[str, tuple[str, ...], tuple[str, ...], float]) -> list[Doubt]:
    """Find jumps of a limb, and bones that shorten where they cannot."""
    name, joints, marks, fastest = limb
    landmarks = tuple(f"{side}_{m}" for m in marks)
    points = [track.xy(f"{side}_{j}") for j in joints]
    trunk = _trunk(track)
    step = float(np.median(np.diff(track.times_s))) if len(track.times_s) > 1 else 1.0
    speed = np.zeros(len(track.times_s))
    for point in points[1:]:
        moved = np.linalg.norm(np.diff(point - points[0], axis=0), axis=1) / trunk / np.diff(track.times_s)
        speed[1:] = np.fmax(speed[1:], np.nan_to_num(moved))
    jumped = speed > max(fastest, 0.16 / step)
    jumped[:-1] |= jumped[1:]
    out = stretches(track, _between(track.times_s, jumped), what=f"{side} {name}", landmarks=landmarks, least_s=0.0,
                    reason="it jumped from one frame to the next")  # fmt: skip
    if _from_the_side(track):
        short = np.zeros(len(track.times_s), bool)
        worst = 0.0
        for upper, lower in pairwise(points):
            length = np.linalg.norm(upper - lower, axis=1)
            usual = float(np.nanpercentile(length, 75))
            share = length / max(usual, 1.0)
            flagged = _shortened(track.times_s, np.nan_to_num(share, nan=1.0))
            short |= flagged
            worst = max(worst, float(np.nanmax(1.0 - share[flagged], initial=0.0)))
        out += (
            stretches(
                track,
                short,
                what=f"{side} {name}",
                landmarks=landmarks,
                reason=f"it looked up to {100 * worst:.0f} % shorter than it is",
            )
            if name == "leg"
            else []
        )
    return out


def _shortened(times_s: Array, share: Array) -> NDArray[np.bool_]:
    """Flag frames in which a bone is far too short, or short near a flash of change."""
    step = max(1, round(FLASH_S / float(np.median(np.diff(times_s))))) if len(times_s) > 2 else 1
    change = np.zeros(len(share))
    change[step:] = np.abs(share[step:] - share[:-step])
    reach = max(1, round(NEAR_FLASH_S / FLASH_S * step))
    near = np.convolve((change > FLASH_SHARE).astype(float), np.ones(2 * reach + 1), mode="same") > 0.5
    return (share < SHORT_BONE) | ((share < SHORTENED_BONE) & near)


def _trunk(track: Track) -> float:
    hip = (track.xy("left_hip") + track.xy("right_hip")) / 2
    shoulder = (track.xy("left_shoulder") + track.xy("right_shoulder")) / 2
    return max(1.0, float(np.nanmedian(np.linalg.norm(shoulder - hip, axis=1))))


def _from_the_side(track: Track) -> bool:
    """Whether the shoulder line is so narrow that the camera must look from the side."""
    breadth = np.linalg.norm(track.xy("left_shoulder") - track.xy("right_shoulder"), axis=1)
    return float(np.nanmedian(breadth)) < SIDE_BREADTH * _trunk(track)


def _between(times_s: Array, jumped: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Flag everything between two jumps that follow each other within `BETWEEN_JUMPS_S`."""
    out = jumped.copy()
    places = np.flatnonzero(jumped)
    for first, second in pairwise(places):
        if times_s[second] - times_s[first] <= BETWEEN_JUMPS_S:
            out[first : second + 1] = True
    return out
