"""Edges of the moving phases of each swing, the four phases they make, and the uncertainty of both."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import erf, sqrt

import numpy as np
from numpy.typing import NDArray

from cuebook.model import PHASES, Motion, Movement

from .course import CourseRow, course_row, joined_course
from .drivers import DriverSeries
from .shape import WIDE_PRIOR, ExponentPrior, Link, Shape, fit_shape
from .turning import Swing

Array = NDArray[np.float64]

SHORTEST_HOLD_S = 0.3
HOLD_SHARE = 0.08
"""A gap is a hold from 0.3 s and 8 % of the two moving phases together (definition of the design)."""
MODEL_TIME_U_S = 0.02
"""Standard uncertainty of one end of a phase from frames and filter (house choice: two thirds of a frame)."""
ALONE_SHARES = (0.12, 0.07)
"""Standard uncertainty of an end at the start end and of one at the turn, in shares of the phase, where the driver
alone tells the time; from all repetitions of the rendered trial clips (house choice: not told apart there)."""
FIT_SHARE = 0.25
"""The fit's own spread is not believed to be more than this share of a phase (house choice)."""
RARE_CHANCE = (0.02, 0.05)
"""A decision about a hold that is wrong less often than the first leaves the 95 % interval as it is; from the second
on the interval reaches the other value."""
HALF_INTERVAL = 1.0 / 1.96
LEAST_NOISE = 0.4
"""Smallest noise of a driver that is believed, in its unit (house choice)."""
FEWEST_POOLED = 2
SET_WIDTH = 0.12
"""How much the exponents of one set's repetitions differ, on a logarithmic scale (house choice)."""
MIDDLE_MISS = 0.04
"""How far, in shares of the swing, the middle of a way may lie off a smooth shape: a sticking point says nothing about
the ends, so frames there weigh less (house choice; 0.04 and 0.05 did about equally well on the trial set)."""
STAY_S = 0.6
"""How much of the stays beside a repetition a joined course is fitted to: the body may shift its place in them."""
COURSE_NOISE = 0.012
"""Smallest noise of a joined course that is believed, in shares of the swing (house choice)."""
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Found:
    """One swing with its fitted shape and edges, before repetitions are numbered."""

    side: str
    swing: Swing
    shape: Shape | None
    edges: tuple[float, float, float, float]
    edges_u: tuple[float, float, float, float]
    size: float
    size_u: float
    level_u: float
    back: float
    doubtful: bool


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
    bounds = [_window(own, k, others) for k in range(len(own.swings))]
    bounds = [(max(low, room_s[0]), min(high, room_s[1])) for low, high in bounds]
    windows = [(times >= low) & (times <= high) for low, high in bounds]
    noise_all = np.fmax(np.nan_to_num(own.series.noise[own.known], nan=1.0), LEAST_NOISE)
    row = course_row(movement, motion.view, own.series.side) if own.series.signals != ("main_motion",) else None
    series, alone = [], []
    for swing, window, ends in zip(own.swings, windows, bounds, strict=True):
        one = _Series(times[window], values[window], noise_all[window], swing.guess_s, None)
        shape = _shape(swing, one, WIDE_PRIOR)
        alone.append(shape)
        series.append(one if shape is None or row is None else _joined(motion, row, own.series.side, one, shape, ends))
    shapes = _pooled(own.swings, series, alone)
    return [
        (None if s is None or a is None else
         replace(s, edges_u_s=_edges_u(s, ALONE_SHARES if one.link is None or row is None else row.spread),
                 levels=a.levels, levels_u=a.levels_u, residual=a.residual),
         float(np.median(noise_all[w])) if w.any() else 1.0)
        for s, a, w, one in zip(shapes, alone, windows, series, strict=True)
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
    inside = (motion.times_s >= max(ends[0], guess[0] - STAY_S)) & (motion.times_s <= min(ends[1], guess[3] + STAY_S))
    times = motion.times_s[inside]
    found = joined_course(motion, row, side, times=times, known_s=one.times, driver=one.values, edges_s=guess)
    if found is None:
        return one
    return _Series(times, found[0], np.full(len(times), COURSE_NOISE), guess, found[1])


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


def edges_of(
    swing: Swing, shape: Shape | None
) -> tuple[tuple[float, float, float, float], tuple[float, float, float, float]]:
    """Return the starts and ends of the way out and the way back, seconds, and their standard uncertainties."""
    if shape is None:
        return swing.guess_s, (0.15,) * 4
    edges = tuple(float(e) for e in shape.edges_s)
    return edges, tuple(float(u) for u in shape.edges_u_s)


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


def _window(own: Candidates, k: int, others: list[Candidates]) -> tuple[float, float]:
    """Instants from the middle of the stay before to the middle of the stay after, at most 1.2 s beyond the way.

    The stay ends where the other side begins; where both overlap, it is not followed beyond the other's turn.
    """
    times, swings = own.times, own.swings
    g, turn = swings[k].guess_s, float(times[swings[k].turn])
    low, high = g[0] - 1.2, g[3] + 1.2
    if swings[k].before > 1:  # else the driver is not known before that, though other signals may be
        low = max(low, float(times[swings[k].before]))
    if swings[k].after < len(times) - 2:
        high = min(high, float(times[swings[k].after]))
    if k > 0:
        low = max(g[0] - 1.2, (swings[k - 1].guess_s[3] + g[0]) / 2)
    if k + 1 < len(swings):
        high = min(g[3] + 1.2, (g[3] + swings[k + 1].guess_s[0]) / 2)
    for other in others:
        for swing in other.swings:
            at, rival = float(other.times[swing.turn]), swing.guess_s
            if other.size(swing) < 0.5 * own.size(swings[k]) or abs(at - turn) < 0.4 * (g[3] - g[0]):
                continue
            if at > turn:
                high = min(high, rival[0]) if rival[0] > g[3] else min(high, max(at, (g[3] + at) / 2))
            else:
                low = max(low, rival[3]) if rival[3] < g[0] else max(low, min(at, (g[0] + at) / 2))
    return low, high


def chance(z: float) -> float:
    """Return the chance that a standard normal value lies below z."""
    return 0.5 * (1.0 + erf(z / sqrt(2.0)))


def phases_of(movement: Movement, f: Found, before: Found | None, after: Found | None):
    """Apply the hold rules to the ends of one repetition and its neighbours.

    Returns phases, their uncertainty, raw gaps, and start, turn and end.
    """
    e, u = f.edges, f.edges_u
    out_name, turn_hold, back_name, stay = _names(movement)
    gap_turn, hold_turn, flip_turn = _hold(e[1], e[2], e[1] - e[0], e[3] - e[2], u[1], u[2])
    half_turn = 0.0 if hold_turn else (e[2] - e[1]) / 2
    start, half_before, before_u = e[0], 0.0, 0.0
    if before is not None:
        gap, hold, flip = _hold(
            before.edges[3], e[0], before.edges[3] - before.edges[2], e[1] - e[0], before.edges_u[3], u[0]
        )
        half_before = 0.0 if hold else gap / 2
        start, before_u = e[0] - half_before, flip / 2
    phases: dict[str, float | None] = dict.fromkeys(PHASES)
    spread: dict[str, float | None] = dict.fromkeys(PHASES)
    gaps: dict[str, float | None] = {turn_hold: e[2] - e[1], stay: None}
    half_after, after_u, end = 0.0, 0.0, None
    if after is not None:
        gap, hold, flip = _hold(
            e[3], after.edges[0], e[3] - e[2], after.edges[1] - after.edges[0], u[3], after.edges_u[0]
        )
        half_after = 0.0 if hold else gap / 2
        after_u = flip / 2
        end = after.edges[0] - half_after
        phases[stay] = gap if hold else 0.0
        spread[stay] = float(np.sqrt(u[3] ** 2 + after.edges_u[0] ** 2 + flip**2))
        gaps[stay] = gap
    elif f.swing.closes:
        end = e[3]
    if f.swing.opens:
        phases[out_name] = e[1] - e[0] + half_before + half_turn
        spread[out_name] = float(np.sqrt(u[0] ** 2 + u[1] ** 2 + before_u**2 + (flip_turn / 2) ** 2))
    if f.swing.closes:
        phases[back_name] = e[3] - e[2] + half_turn + half_after
        spread[back_name] = float(np.sqrt(u[2] ** 2 + u[3] ** 2 + after_u**2 + (flip_turn / 2) ** 2))
    if f.swing.opens and f.swing.closes:
        phases[turn_hold] = gap_turn if hold_turn else 0.0
        spread[turn_hold] = float(np.sqrt(u[1] ** 2 + u[2] ** 2 + flip_turn**2))
    return phases, spread, gaps, start, (e[1] + e[2]) / 2, end


def hold_between(first: Found, second: Found) -> bool:
    """Return whether the stay between two repetitions is a hold."""
    ways = first.edges[3] - first.edges[2], second.edges[1] - second.edges[0]
    return _hold(first.edges[3], second.edges[0], *ways, first.edges_u[3], second.edges_u[0])[1]


def _names(movement: Movement) -> tuple[str, str, str, str]:
    """Names of the way out, the hold at the turn, the way back and the stay after it."""
    if movement.driver.first == "eccentric":
        return "eccentric", "long_hold", "concentric", "short_hold"
    return "concentric", "short_hold", "eccentric", "long_hold"


def _hold(
    end_s: float, start_s: float, one: float, other: float, u_end: float, u_start: float
) -> tuple[float, bool, float]:
    """Return a gap, whether it is a hold, and the uncertainty of the hold's length by that decision, seconds."""
    gap = max(0.0, start_s - end_s)
    threshold = max(SHORTEST_HOLD_S, HOLD_SHARE * (one + other))
    is_hold = chance((gap - threshold) / max(float(np.hypot(u_end, u_start)), 1e-3))
    wrong = min(is_hold, 1.0 - is_hold)
    likely = np.clip((wrong - RARE_CHANCE[0]) / (RARE_CHANCE[1] - RARE_CHANCE[0]), 0.0, 1.0)
    share = max(sqrt(wrong * (1.0 - wrong)), HALF_INTERVAL * float(likely))
    return gap, gap >= threshold, share * max(gap, threshold)
