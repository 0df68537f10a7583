"""How long one repetition takes, without knowing the movement: from how the posture repeats itself."""

from __future__ import annotations

import numpy as np

from cuebook.model import Track

SLOWEST_SHARE = 1.0
"""Share of the longest plausible repetition of the movement from which a clip counts as slow motion."""

LEAST_BEATS = 2
STEP_S = 0.1
LEAST_LIKENESS, NEARLY_AS_LIKE = 0.3, 0.85
"""Autocorrelation that counts as a repetition, and share of the largest from which the first does (house choice)."""


def beat_s(track: Track) -> float | None:
    """Return the time after which the posture repeats itself, seconds; None where it does not within half the clip.

    Parameters
    ----------
    track : Track
        Raw landmarks.

    Notes
    -----
    The autocorrelation of the model's 3D landmarks about their mean has a maximum at the duration of one repetition:
    the first after it has fallen below zero counts, as later ones are whole numbers of repetitions.
    """
    found = track.found
    if found.sum() < 10:
        return None
    times = np.arange(track.times_s[found][0], track.times_s[found][-1], STEP_S)
    marks = track.world_m[found].reshape(found.sum(), -1)
    even = np.stack([np.interp(times, track.times_s[found], column) for column in marks.T], axis=1)
    even -= even.mean(axis=0)
    count = len(even)
    power = float((even**2).sum())
    if count < 20 or power == 0:
        return None
    lags = np.arange(1, count // LEAST_BEATS + 1)
    likeness = np.array([(even[lag:] * even[:-lag]).sum() / power * count / (count - lag) for lag in lags])
    below = np.flatnonzero(likeness < 0)
    if below.size == 0:
        return None
    after = likeness[below[0] :]
    if after.max() < LEAST_LIKENESS:
        return None
    high = int(np.flatnonzero(after >= NEARLY_AS_LIKE * after.max())[0])
    low = np.flatnonzero(after[high:] < NEARLY_AS_LIKE * after.max())
    hill = after[high : high + (int(low[0]) if low.size else len(after))]
    return float((below[0] + high + int(np.argmax(hill)) + 1) * STEP_S)
