"""The curve of one repetition: two smooth steps with plateaus before, between and after, and where it moves.

A phase is the cumulative beta curve between its two ends. That family holds the constant-speed ramp (1, 1), the
minimum-jerk curve (3, 3) exactly, and early or late peaks of speed; two such curves in a row make a sticking point or a
stop in the middle.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

MOVING_SHARE = 0.05
"""Share of a phase's own peak speed above which it is moving (definition of the design)."""
END_ZONE = 0.20
"""A stop nearer than this share of the swing to an end splits the phase (definition of the design)."""
SIZE = {1: 4, 2: 9}
"""Numbers per phase: start, length, ease-in, ease-out; for two curves the inner exponents, lengths and share too."""


@dataclass(frozen=True, eq=False)
class Link:
    """How a joined signal runs, 0 to 1, while the true driver goes from 0 to 1: a monotone curve through knots.

    Attributes
    ----------
    values : ndarray, shape (11,)
        The signal at the knots, rising from 0 to 1.
    """

    values: Array
    knots: ClassVar[Array] = np.array([0.0, 0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.95, 1.0])

    def __call__(self, share: Array) -> Array:
        """Return the signal where the driver has come `share` (N,) of its way."""
        return self._curves[0](np.clip(share, 0.0, 1.0))

    def slope(self, share: Array) -> Array:
        """Return the derivative of the signal by the share of the driver (N,)."""
        return self._curves[1](np.clip(share, 0.0, 1.0))

    def driver_share(self, value: float) -> float:
        """Return how far the driver has come where the signal has come to `value`."""
        grid = np.linspace(0.0, 1.0, 201)
        return float(np.interp(value, self(grid), grid))

    @cached_property
    def _curves(self):
        from scipy.interpolate import PchipInterpolator

        curve = PchipInterpolator(self.knots, self.values)
        return curve, curve.derivative()


def _beta(x: Array, a: float, b: float) -> Array:
    from scipy.special import betainc

    return betainc(a, b, np.clip(x, 0.0, 1.0))


def step(t: Array, p: Array) -> Array:
    """Rise from 0 to 1 of one phase."""
    if len(p) == 4:
        return _beta((t - p[0]) / p[1], p[2], p[3])
    first, second = p[1] * p[6], p[1] * p[7]
    rise = p[8] * _beta((t - p[0]) / first, p[2], p[4])
    return rise + (1.0 - p[8]) * _beta((t - (p[0] + p[1] - second)) / second, p[5], p[3])


def step_slopes(t: Array, p: Array, rise: Array) -> Array:
    """Partial derivatives of :func:`step`, by forward differences, shape (N, len(p))."""
    out = np.empty((len(t), len(p)))
    for k in range(len(p)):
        h = 1e-4 * max(1.0, abs(p[k]))
        moved = p.copy()
        moved[k] += h
        out[:, k] = (step(t, moved) - rise) / h
    return out


def seen(link: Link | None, rise: Array) -> Array:
    """Return what a signal shows, 0 to 1, when the driver has risen so far."""
    return rise if link is None else link(rise)


def fallen(link: Link | None, fall: Array) -> Array:
    """Return how far a signal has come back, 0 to 1, when the driver has."""
    return fall if link is None else 1.0 - link(1.0 - fall)


def split(params: Array, parts: int) -> tuple[Array, Array, Array]:
    """Return levels (before, out, back) and the numbers of both phases; the gap between them is a parameter."""
    n = SIZE[parts]
    out = params[3 : 3 + n]
    back = params[3 + n :].copy()
    back[0] = out[0] + out[1] + back[0]
    return params[:3], out, back


def levels_of(params: Array) -> Array:
    """Return the levels before, at the turn and after, of all fitted numbers."""
    return np.array([params[0], params[0] + params[1], params[0] + params[1] - params[2]])


def edges_of_curve(params: Array, parts: int) -> Array:
    """Return the four ends of moving by the 5 % rule."""
    _, out, back = split(params, parts)
    return np.array([*_moving(out), *_moving(back)])


def _moving(p: Array) -> tuple[float, float]:
    """Return the first and last instant at which the speed of one phase exceeds 5 % of its peak."""
    grid = p[0] + p[1] * np.linspace(0.0, 1.0, 401)
    rise = step(grid, p)
    speed = np.diff(rise)
    middle = (grid[1:] + grid[:-1]) / 2
    fast = speed > MOVING_SHARE * speed.max()
    first, last = int(np.argmax(fast)), len(fast) - 1 - int(np.argmax(fast[::-1]))
    share = (rise[1:] + rise[:-1]) / 2
    slow = ~fast
    slow[:first] = slow[last + 1 :] = False
    early = np.flatnonzero(slow & (share < END_ZONE))
    late = np.flatnonzero(slow & (share > 1.0 - END_ZONE))
    if early.size:
        first = int(early[-1]) + 1
    if late.size:
        last = int(late[0]) - 1
    half = (grid[1] - grid[0]) / 2
    return float(middle[first] - half), float(middle[max(last, first)] + half)
