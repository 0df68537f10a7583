"""Zero-lag low-pass filtering with the dual-pass correction, and the choice of its cut-off."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

LOWEST_CUTOFF_HZ = 3.0
"""House bound: a one-second phase keeps 99 % of its amplitude (four times its fundamental is 2 Hz)."""
HIGHEST_CUTOFF_HZ = 6.0
"""House bound: 6 Hz is the usual choice for slow human movement from video (common practice, no source)."""


def pass_correction(passes: int) -> float:
    """Return the factor C by which `passes` runs of a second-order low-pass lower its cut-off.

    Parameters
    ----------
    passes : int
        Number of runs, at least 1.

    Returns
    -------
    float
        ``(2**(1/passes) - 1)**(1/4)``; 1 for one run, 0.8022 for two.

    References
    ----------
    Winter, D. A. (2009). Biomechanics and Motor Control of Human Movement, 4th ed., section 3.4.4.
    """
    return (2.0 ** (1.0 / passes) - 1.0) ** 0.25


def design_cutoff_hz(cutoff_hz: float, rate_hz: float, *, passes: int = 2) -> float:
    """Return the design cut-off whose dual pass has its -3 dB point exactly at `cutoff_hz`.

    The correction belongs to the tangent of the digital frequency, not to the frequency; at phone rates the
    difference is some per cent.

    Parameters
    ----------
    cutoff_hz, rate_hz : float
        Wanted cut-off and sampling rate, Hz; the cut-off must lie below half the rate.
    passes : int
        Number of runs.

    Returns
    -------
    float
        Hz.

    References
    ----------
    Winter (2009), section 3.4.4: omega_c = tan(pi fc / fs) / C.
    """
    omega = math.tan(math.pi * cutoff_hz / rate_hz) / pass_correction(passes)
    return math.atan(omega) * rate_hz / math.pi


def second_order_lowpass(cutoff_hz: float, rate_hz: float, *, passes: int = 2) -> tuple[Array, Array]:
    """Return the numerator and denominator of the corrected second-order Butterworth low-pass.

    Parameters
    ----------
    cutoff_hz, rate_hz : float
        Wanted cut-off after all runs, and sampling rate, Hz.
    passes : int
        Number of runs the filter will make.

    Returns
    -------
    b, a : ndarray, shape (3,)
        Coefficients in the convention ``a[0] y[n] = b . x - a[1:] . y``.

    References
    ----------
    Winter (2009), section 3.4.4: K1, K2, K3.
    """
    omega = math.tan(math.pi * cutoff_hz / rate_hz) / pass_correction(passes)
    k1, k2 = math.sqrt(2.0) * omega, omega**2
    a0 = k2 / (1.0 + k1 + k2)
    k3 = 2.0 * a0 / k2
    b1 = -2.0 * a0 + k3
    b2 = 1.0 - 2.0 * a0 - k3
    return np.array([a0, 2.0 * a0, a0]), np.array([1.0, -b1, -b2])


def lowpass(times_s: ArrayLike, values: ArrayLike, cutoff_hz: float) -> Array:
    """Filter series forward and backward, so that nothing is delayed.

    Uneven time stamps are brought to an even grid of the median step and back. Stretches of NaN stay NaN; runs of
    numbers shorter than half a second are returned as they are.

    Parameters
    ----------
    times_s : array_like, shape (F,)
        Seconds, increasing.
    values : array_like, shape (F,) or (F, N)
        Series in columns; NaN where missing.
    cutoff_hz : float
        Cut-off after both passes; lowered to 45 % of half the rate where the rate is too low for it.

    Returns
    -------
    ndarray, shape of `values`
    """
    from scipy.signal import filtfilt

    times, data = np.asarray(times_s, float), np.asarray(values, float)
    columns = data.reshape(len(times), -1)
    out = columns.copy()
    if len(times) < 8:
        return data.copy()
    step = float(np.median(np.diff(times)))
    rate = 1.0 / step
    b, a = second_order_lowpass(min(cutoff_hz, 0.45 * rate), rate)
    known = np.isfinite(columns)
    patterns, group_of = np.unique(known, axis=1, return_inverse=True)
    for k in range(patterns.shape[1]):
        members = np.flatnonzero(np.ravel(group_of) == k)
        for start, stop in runs(patterns[:, k]):
            if times[stop - 1] - times[start] < 0.5 or stop - start < 8:
                continue
            grid = np.arange(times[start], times[stop - 1] + step / 2, step)
            block = columns[start:stop, members]
            even = np.abs(np.diff(times[start:stop]) - step).max() < 0.02 * step
            if even:
                out[start:stop, members] = filtfilt(b, a, block, axis=0, padlen=min(3 * 6, len(block) - 1))
                continue
            for j, m in enumerate(members):
                smooth = filtfilt(b, a, np.interp(grid, times[start:stop], block[:, j]), padlen=min(18, len(grid) - 1))
                out[start:stop, m] = np.interp(times[start:stop], grid, smooth)
    return out.reshape(data.shape)


def runs(flags: ArrayLike) -> list[tuple[int, int]]:
    """Return the half-open index ranges in which `flags` (F,) is true."""
    f = np.concatenate([[False], np.asarray(flags, bool), [False]])
    edges = np.flatnonzero(f[1:] != f[:-1])
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def residual_cutoff_hz(times_s: ArrayLike, values: ArrayLike) -> float:
    """Choose a cut-off by residual analysis.

    The root mean square of raw less filtered is drawn against the cut-off; a line through its straight upper part
    meets zero hertz at the noise; the cut-off at which the residual equals that noise is chosen and kept between
    3 and 6 Hz.

    Parameters
    ----------
    times_s : array_like, shape (F,)
        Seconds.
    values : array_like, shape (F, N)
        Coordinates; columns with gaps are left out.

    Returns
    -------
    float
        Median over the columns, Hz; the upper bound where there is too little to go by.

    References
    ----------
    Winter (2009), section 3.4.4.3.
    """
    times, data = np.asarray(times_s, float), np.asarray(values, float)
    whole = data[:, np.isfinite(data).all(axis=0)]
    if whole.shape[1] == 0 or len(times) < 30:
        return HIGHEST_CUTOFF_HZ
    rate = 1.0 / float(np.median(np.diff(times)))
    top = min(12.0, 0.45 * rate)
    grid = np.arange(1.0, top, 0.5)
    if len(grid) < 8:
        return min(HIGHEST_CUTOFF_HZ, 0.45 * rate / 2)
    residual = np.array([np.sqrt(np.mean((whole - lowpass(times, whole, fc)) ** 2, axis=0)) for fc in grid])
    straight = grid >= grid[len(grid) // 2]
    found = []
    for column in residual.T:
        slope, noise = np.polyfit(grid[straight], column[straight], 1)
        below = np.flatnonzero(column <= noise)
        if slope < 0 and below.size:
            found.append(grid[below[0]])
    chosen = float(np.median(found)) if found else HIGHEST_CUTOFF_HZ
    return float(np.clip(chosen, LOWEST_CUTOFF_HZ, min(HIGHEST_CUTOFF_HZ, 0.45 * rate / 2)))
