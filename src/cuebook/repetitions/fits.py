"""Fits of one side's swings: the driver alone, then all signals that keep time with it, the set's others in mind."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Motion, Movement

from .course import CourseRow, course_row, joined_course, lost_s
from .curve import Link
from .drivers import DriverSeries
from .shape import WIDE_PRIOR, ExponentPrior, Shape, fit_shape
from .turning import Swing

Array = NDArray[np.float64]

MODEL_TIME_U_S = 0.02
"""Standard uncertainty of one end of a phase from frames and filter (house choice: two thirds of a frame)."""
ALONE_SHARES = (0.12, 0.07)
"""Standard uncertainty of an end at the start end and of one at the turn, in shares of the phase, where the driver
alone tells the time; from all repetitions of the rendered trial clips (house choice: not told apart there)."""
FIT_SHARE = 0.25
"""The fit's own spread is not believed to be more than this share of a phase (house choice)."""
LEAST_NOISE = 0.4
"""Smallest noise of a driver that is believed, in its unit (house choice)."""
FEWEST_POOLED = 2
SET_WIDTH = 0.12
"""How much the exponents of one set's repetitions differ, on a logarithmic scale (house choice)."""
CORNER, MISFIT = 5.5, 1.3
"""An exponent beyond the first, or a residual this many times the set's usual one, is a fit gone astray (house
choice)."""
MIDDLE_MISS = 0.04
"""How far, in shares of the swing, the middle of a way may lie off a smooth shape: a sticking point says nothing about
the ends, so frames there weigh less (house choice; 0.04 and 0.05 did about equally well on the trial set)."""
STAY_S, STAY_SHARE = (1.2, 0.6), 0.6
"""How much of the stays beside a repetition its driver, and a joined course, is fitted to: the body may shift its place
in them. It is more where a way is long: what begins slowly is seen late."""
COURSE_NOISE = 0.012
"""Smallest noise of a joined course that is believed, in shares of the swing (house choice)."""
BUMP_SHARE, NEAR_S = 0.10, 0.4
"""A share of the swing that is left for more than noise further than so many seconds from its ways (house choice)."""
CORRELATION_S = 0.15
"""Time over which the errors of a filtered driver are correlated, from its cut-off near 4 Hz."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Candidates:
    """The swings of one side with the samples they were found in; `hidden` ones begin or end in a doubtful stretch."""

    series: DriverSeries
    known: NDArray[np.bool_]
    times: Array
    values: Array
    swings: list[Swing]
    hidden: set[int]

    def size(self, swing: Swing) -> float:
        """Return how far a swing goes from its higher end."""
        return float(self.values[swing.turn] - max(self.values[swing.before], self.values[swing.after]))


def fit_swings(
    motion: Motion,
    movement: Movement,
    own: Candidates,
    others: list[Candidates],
    *,
    room_s: tuple[float, float] = (-np.inf, np.inf),
) -> list[tuple[Shape | None, float]]:
    """Fit the shapes of one side's swings: the driver alone, then all signals that keep time with it.

    The last fit knows how the set's other repetitions look. Levels and residual are those of the driver. No signal is
    looked at outside `room_s`.

    Returns for every swing its shape, None where it is cut off or too short to tell, and its median noise.
    """
    times, values = own.times, own.values
    bounds = [_window(own, k, others, movement.driver.min_swing) for k in range(len(own.swings))]
    bounds = [(max(low, room_s[0]), min(high, room_s[1])) for low, high in bounds]
    windows = [(times >= low) & (times <= high) for low, high in bounds]
    noise_all = np.fmax(np.nan_to_num(own.series.noise[own.known], nan=1.0), LEAST_NOISE)
    row = course_row(movement, motion.view, own.series.side)
    plain = [_Series(times[w], values[w], noise_all[w], swing.guess_s, None)
             for swing, w in zip(own.swings, windows, strict=True)]  # fmt: skip
    alone = [_shape(swing, one, WIDE_PRIOR) for swing, one in zip(own.swings, plain, strict=True)]
    alone = _without_strays(own.swings, plain, alone)
    series = [
        one if shape is None or row is None else _joined(motion, row, own.series.side, one, shape, ends)
        for one, shape, ends in zip(plain, alone, bounds, strict=True)
    ]
    shapes = _pooled(own.swings, series, alone)
    learnt = [row if row is not None and (one.link is not None or not row.channels) else None for one in series]
    return [
        (None if s is None or a is None else
         replace(s, edges_s=_edges(s, r), edges_u_s=_edges_u(s, ALONE_SHARES if r is None else r.spread),
                 levels=a.levels, levels_u=a.levels_u, residual=a.residual),
         float(np.median(noise_all[w])) if w.any() else 1.0)
        for s, a, w, r in zip(shapes, alone, windows, learnt, strict=True)
    ]  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class _Series:
    """What a shape is fitted to: the driver, or the joined course with its link."""

    times: Array
    values: Array
    noise: Array
    guess_s: tuple[float, float, float, float]
    link: Link | None


def _joined(
    motion: Motion, row: CourseRow, side: str, one: _Series, shape: Shape, ends: tuple[float, float]
) -> _Series:
    """Return the joined course of a swing between two instants, or the driver where no signal keeps time with it."""
    guess = tuple(float(e) for e in shape.edges_s)
    room = [max(STAY_S[1], 0.5 * STAY_SHARE * way) for way in (guess[1] - guess[0], guess[3] - guess[2])]
    inside = (motion.times_s >= max(ends[0], guess[0] - room[0])) & (motion.times_s <= min(ends[1], guess[3] + room[1]))
    times = motion.times_s[inside]
    found = joined_course(motion, row, side, times=times, known_s=one.times, driver=one.values, edges_s=guess)
    if found is None:
        return one
    return _Series(times, found[0], np.full(len(times), COURSE_NOISE), guess, found[1])


def _without_strays(swings: list[Swing], series: list[_Series], shapes: list[Shape | None]) -> list[Shape | None]:
    """Fit those once more that ended in a corner, or far from the driver, with what the set's others have in common."""
    known = [s for s in shapes if s is not None]
    usual = float(np.median([s.residual for s in known])) if known else 0.0

    def strays(shape: Shape) -> bool:
        return max(shape.exponents) > CORNER or shape.residual > MISFIT * usual

    good = [s.exponents for s in known if not strays(s) and s.parts == 1]
    if not good:
        return shapes
    common = ExponentPrior(mean=np.median(np.log(good), axis=0), width=2.0 * SET_WIDTH)
    out = []
    for swing, one, shape in zip(swings, series, shapes, strict=True):
        again = _shape(swing, one, common) if shape is not None and strays(shape) else None
        out.append(shape if again is None or again.residual > MISFIT * shape.residual else again)
    return out


def _pooled(swings: list[Swing], series: list[_Series], alone: list[Shape | None]) -> list[Shape | None]:
    """Fit every series, then once more knowing the exponents and the noise of the set's other repetitions."""
    shapes = [
        a if s.link is None or a is None else _shape(w, s, WIDE_PRIOR)
        for w, s, a in zip(swings, series, alone, strict=True)
    ]
    for linked in (False, True):
        own = [k for k, s in enumerate(series) if (s.link is not None) == linked and shapes[k] is not None]
        whole = [shapes[k] for k in own if shapes[k].parts == 1]
        if len(whole) < FEWEST_POOLED:
            continue
        common = ExponentPrior(mean=np.median(np.log([s.exponents for s in whole]), axis=0), width=SET_WIDTH)
        level = float(np.median([s.residual for s in whole]))
        for k in own:
            if shapes[k].parts == 1:
                s = replace(series[k], noise=np.maximum(series[k].noise, level))
                shapes[k] = _shape(swings[k], s, common)
    return shapes


def _edges(shape: Shape, row: CourseRow | None) -> Array:
    """Return the four ends without what their row usually reads too short."""
    e = shape.edges_s.copy()
    if row is None:
        return e
    (start, turn), (end, back) = (lost_s(row.inward, max(e[k + 1] - e[k], 0.0)) for k in (0, 2))
    middle = (e[1] + e[2]) / 2
    there, leaves = min(e[1] + turn, max(middle, e[1])), max(e[2] - back, min(middle, e[2]))
    return np.array([e[0] - start, there, leaves, e[3] + end])


def _edges_u(shape: Shape, shares: tuple[float, float]) -> Array:
    """Return the standard uncertainty of four ends: of the fit, of frames, and of the course against the driver."""
    e = shape.edges_s
    out, back = max(e[1] - e[0], 0.0), max(e[3] - e[2], 0.0)
    model = np.array([shares[0] * out, shares[1] * out, shares[1] * back, shares[0] * back])
    fit = np.minimum(shape.edges_u_s, FIT_SHARE * np.array([out, out, back, back]))
    return np.sqrt(fit**2 + model**2 + MODEL_TIME_U_S**2)


def _shape(swing: Swing, series: _Series, prior: ExponentPrior) -> Shape | None:
    if not (swing.opens and swing.closes) or len(series.times) < 12:
        return None
    low, high = np.percentile(series.values, [5, 97])
    way = np.clip((series.values - low) / max(high - low, 1e-9), 0.0, 1.0)
    noise = np.hypot(series.noise, MIDDLE_MISS * (high - low) * 4.0 * way * (1.0 - way))
    return fit_shape(series.times, series.values, guess_s=series.guess_s, noise=noise,
                     correlation_s=CORRELATION_S, prior=prior, link=series.link)  # fmt: skip


def _window(own: Candidates, k: int, others: list[Candidates], smallest: float) -> tuple[float, float]:
    """Instants from the middle of the stay before to the middle of the stay after, not far beyond the way.

    The stay ends where the other side begins; where both overlap, it is not followed beyond the other's turn. A limb
    that goes less than half of the smallest swing only moves along.
    """
    times, swings = own.times, own.swings
    g, turn = swings[k].guess_s, float(times[swings[k].turn])
    first, last = g[0] - max(STAY_S[0], STAY_SHARE * (g[1] - g[0])), g[3] + max(STAY_S[0], STAY_SHARE * (g[3] - g[2]))
    low, high = first, last
    if swings[k].before > 1:  # else the driver is not known before that, though other signals may be
        low = max(low, float(times[swings[k].before]))
    if swings[k].after < len(times) - 2:
        high = min(high, float(times[swings[k].after]))
    if k > 0:
        low = max(first, (swings[k - 1].guess_s[3] + g[0]) / 2)
    if k + 1 < len(swings):
        high = min(last, (g[3] + swings[k + 1].guess_s[0]) / 2)
    low, high = _without_bumps(own, swings[k], low, high)
    for other in others:
        for swing in other.swings:
            at, rival = float(other.times[swing.turn]), swing.guess_s
            if other.size(swing) < 0.5 * max(own.size(swings[k]), smallest) or abs(at - turn) < 0.4 * (g[3] - g[0]):
                continue
            if at > turn:
                high = min(high, rival[0]) if rival[0] > g[3] else min(high, max(at, (g[3] + at) / 2))
            else:
                low = max(low, rival[3]) if rival[3] < g[0] else max(low, min(at, (g[0] + at) / 2))
    return low, high


def _without_bumps(own: Candidates, swing: Swing, low: float, high: float) -> tuple[float, float]:
    """Leave out of the stays what is too much for noise and too little for a swing, such as a false start."""
    times, values, g = own.times, own.values, swing.guess_s
    noise = float(np.nanmedian(own.series.noise[own.known]))
    limit = max(values[swing.before], values[swing.after]) + BUMP_SHARE * own.size(swing) + 2.0 * noise
    bumps = times[values > limit]
    before, after = bumps[(bumps >= low) & (bumps < g[0] - NEAR_S)], bumps[(bumps <= high) & (bumps > g[3] + NEAR_S)]
    return float(before[-1]) if before.size else low, float(after[0]) if after.size else high
