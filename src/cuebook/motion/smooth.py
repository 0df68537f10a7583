"""Landmarks of a track with short gaps bridged and noise filtered away."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Track, landmark_index

from .filtering import lowpass, residual_cutoff_hz, runs

Array = NDArray[np.float64]

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
    out = columns.copy()
    missing = ~np.isfinite(columns).all(axis=1)
    for start, stop in runs(missing):
        if start == 0 or stop == len(times_s) or times_s[stop] - times_s[start - 1] > LONGEST_GAP_S + 1e-9:
            continue
        share = (times_s[start:stop] - times_s[start - 1]) / (times_s[stop] - times_s[start - 1])
        out[start:stop] = columns[start - 1] + share[:, None] * (columns[stop] - columns[start - 1])
    return out
