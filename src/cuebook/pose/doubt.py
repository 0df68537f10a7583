"""Stretches of a track whose landmarks cannot be trusted, found from the landmarks themselves.

A pose model gives no warning when it sticks a raised knee to the other leg, follows another person for a moment or swaps
left and right: its scores stay high. What gives it away is geometry: a bone that changes its length from one frame to the
next, two knees in one place, a body that leaps.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cuebook.model import LANDMARKS, Doubt, Track

Array = NDArray[np.float64]

LONGEST_GAP_S = 0.25
"""A longer stretch with nobody found is said; shorter ones are bridged."""
LEAP_TRUNKS = 0.6
"""A body does not move its middle by more than this many trunk lengths from one frame to the next (house choice)."""
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
    return tuple(sorted(out, key=lambda d: d.start_s))


def stretches(
    track: Track, flags: NDArray[np.bool_], *, what: str, reason: str, landmarks: tuple[str, ...], least_s: float = LEAST_S
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
    """The followed person's middle leaps: somebody else was followed for a moment."""
    hip = (track.xy("left_hip") + track.xy("right_hip")) / 2
    shoulder = (track.xy("left_shoulder") + track.xy("right_shoulder")) / 2
    trunk = float(np.nanmedian(np.linalg.norm(shoulder - hip, axis=1)))
    move = np.zeros(len(track.times_s))
    move[1:] = np.linalg.norm(np.diff((hip + shoulder) / 2, axis=0), axis=1) / max(trunk, 1.0)
    leap = np.nan_to_num(move) > LEAP_TRUNKS
    return stretches(track, leap, what="whole body", reason="the followed body leapt", landmarks=LANDMARKS, least_s=0.0)
