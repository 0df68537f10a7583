"""The part of the clip in which the athlete is where the set is done."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Motion, Movement

Array = NDArray[np.float64]

PLACE_TRUNKS = {"standing": 0.85, "prone": 0.9, "supine": 0.8, "side-lying": 0.8}
"""How far the pelvis may travel from its usual place, in trunk lengths, by position (house choice)."""
SCALE_BAND = (0.70, 1.40)
"""Apparent size of the body against the clip's median outside which the athlete walks to or from the phone."""
SHORTEST_SET_S = 1.0
COMING_TRUNKS_PER_S, RESTING_TRUNKS_PER_S = 0.4, 0.15
"""Somebody whose pelvis travels faster than the first at an end of the set still comes, or leaves already; slower than
the second, they have arrived, or not left yet (house choice: walking is five times as fast as the first)."""


def in_place(motion: Motion, movement: Movement) -> NDArray[np.bool_]:
    """Return the frames in which the athlete is where the set is done, neither getting there nor leaving.

    Parameters
    ----------
    motion : Motion
        Must hold the signals ``pelvis_across``, ``pelvis_height``, ``body_scale`` and ``trunk_tilt``.
    movement : Movement
        Its position decides how the trunk must lie.

    Returns
    -------
    ndarray of bool, shape (F,)
        From the first rest to the last one where the clip shows somebody come and leave: whole repetitions lie between.
    """
    times = motion.times_s
    across, scale, tilt = (motion.signals[n].values for n in ("pelvis_across", "body_scale", "trunk_tilt"))
    known = np.isfinite(across) & np.isfinite(scale) & np.isfinite(tilt)
    if known.sum() < 5:
        return known
    centre, size = _mode(across[known]), float(np.median(scale[known]))
    fits = known & (np.abs(across - centre) < PLACE_TRUNKS[movement.family])
    fits &= (scale > SCALE_BAND[0] * size) & (scale < SCALE_BAND[1] * size)
    if movement.family == "standing":
        fits &= tilt < 75.0
    elif movement.name != "push-up-to-inverted-v" and not motion.view.name.endswith("-end"):
        fits &= tilt > 40.0
    return _from_rest_to_rest(motion, _longest(times, fits))


def _from_rest_to_rest(motion: Motion, place: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Cut off the way to the first rest, and from the last one, where the pelvis travels at that end."""
    rows = np.flatnonzero(place)
    if rows.size < 5:
        return place
    times = motion.times_s[rows]
    speed = np.hypot(*(_speed(times, motion.signals[n].values[rows]) for n in ("pelvis_across", "pelvis_height")))
    resting = np.flatnonzero(speed < RESTING_TRUNKS_PER_S)
    if not resting.size:
        return place
    first = resting[0] if speed[0] > COMING_TRUNKS_PER_S else 0
    last = resting[-1] if speed[-1] > COMING_TRUNKS_PER_S else len(rows) - 1
    if times[last] - times[first] < SHORTEST_SET_S:
        return place
    out = np.zeros_like(place)
    out[rows[first] : rows[last] + 1] = True
    return out


def _speed(times: Array, values: Array) -> Array:
    """Return how fast a travel changes, per second; missing frames are bridged."""
    known = np.isfinite(values)
    if not known.any():
        return np.zeros(len(times))
    return np.gradient(np.interp(times, times[known], values[known]), times)


def _mode(values: Array) -> float:
    """Return the middle of the narrowest interval that holds half of the values."""
    v = np.sort(values)
    half = max(1, len(v) // 2)
    widths = v[half:] - v[: len(v) - half]
    k = int(np.argmin(widths))
    return float((v[k] + v[k + half]) / 2)


def _longest(times: Array, flags: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Keep the stretch that holds most frames, bridging breaks of up to one second."""
    out = np.zeros_like(flags)
    places = np.flatnonzero(flags)
    if places.size == 0:
        return out
    breaks = np.flatnonzero(np.diff(times[places]) > 1.0)
    groups = np.split(places, breaks + 1)
    best = max(groups, key=len)
    if times[best[-1]] - times[best[0]] >= SHORTEST_SET_S:
        out[best[0] : best[-1] + 1] = True
    return out
