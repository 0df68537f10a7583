"""How far one swing goes and comes back, what is unsure about that, and from which size one is a repetition."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Motion, Movement

from .course import BEST_PERCENTILE, course_row, course_sizes, shares_of_best
from .drivers import DriverSeries
from .edges import Found, edges_of
from .fits import Candidates
from .shape import Shape
from .turning import COUNTED_RETURN, Swing

Array = NDArray[np.float64]

USUAL_SHARE = 0.52
"""Share of the set's better swings from which a swing counts where the angle itself is too unsure (house choice,
between a half repetition and a shallow one)."""
FOLLOWED_SHARE = 0.38
"""The same where a second part must follow, which no half repetition is followed by (house choice)."""
SHARE_SPREAD = 0.06
"""Standard uncertainty of a swing's share of the set's better ones, from bends that read alike (house choice)."""
COURSE_SPREAD = {"limb": 0.06, "turn": 0.15}
"""Standard uncertainty of that share as told by what moves along, for a limb that bends and a trunk that turns: on the
rendered learning and trial clips."""
UNLIKE_SHARE = 0.8
"""Part of the uncertainty common to a clip that differs between its small swings and its large ones (house choice)."""
MOST_ASKED = 1.05
"""The set itself asks for no more than this much of the movement's smallest swing (house choice)."""
POOR_FIT = 0.12
"""A fitted size less sure than this share of it gives way to the plain reading."""
AT_END_S = 0.25
"""A driver known up to this near to an end of the clip reaches it (house choice)."""


def found_of(
    motion: Motion,
    own: Candidates,
    swing: Swing,
    noise: float,
    shape: Shape | None,
    *,
    hidden: bool,
) -> Found:
    """Return a swing of its candidates with edges, size and doubts; `noise` is the driver's own, in its unit."""
    series, values = own.series, own.values
    edges, spread = edges_of(swing, shape)
    if series.edge_u_s:
        spread = tuple(float(np.hypot(u, series.edge_u_s)) for u in spread)
    if shape is None:
        size, back = values[swing.turn] - values[swing.before], values[swing.turn] - values[swing.after]
        size_u = noise * 1.5
    else:
        top = max(float(shape.levels[1]), float(values[swing.turn]) - 1.5 * noise)
        base = series.neutral
        size = top - (float(shape.levels[0]) if base is None else base)
        back = top - (float(shape.levels[2]) if base is None else max(base, float(shape.levels[2])))
        size_u = float(np.hypot(*shape.levels_u[:2]))
        if base is None and size_u > max(POOR_FIT * abs(size), 3.0 * noise):
            start, end = (_level_about(own.times, values, e) for e in swing.guess_s[::3])
            top = float(values[swing.turn])
            size, back = top - start, top - end
            size_u = min(size_u, POOR_FIT * abs(size))
        back = max(back, float(values[swing.turn] - values[swing.after]) - 2.0 * noise)
    swing = _cut_off(swing, values, float(size), float(back), ends=_clip_ends(motion, series))
    level_u = float(np.hypot(size_u, _spread_at(motion, series, float(np.mean(edges[1:3])))))
    doubtful = hidden or _doubtful_share(motion, series.signals, edges[0], edges[3]) > 0.4
    return Found(side=series.side, swing=swing, shape=shape, edges=edges, edges_u=spread, size=float(size),
                  size_u=float(size_u), level_u=level_u, back=float(back), doubtful=doubtful)  # fmt: skip


def _level_about(times: Array, values: Array, at_s: float) -> float:
    """Return the median reading within a quarter of a second of an instant."""
    near = np.abs(times - at_s) <= 0.25
    return float(np.median(values[near])) if near.any() else float(np.interp(at_s, times, values))


def _clip_ends(motion: Motion, series: DriverSeries) -> tuple[bool, bool]:
    """Whether what is known of a driver reaches the first and the last frame of the clip."""
    times = motion.times_s[np.isfinite(series.values)]
    return bool(times[0] <= motion.times_s[0] + AT_END_S), bool(times[-1] >= motion.times_s[-1] - AT_END_S)


def _cut_off(swing: Swing, values: Array, size: float, back: float, *, ends: tuple[bool, bool]) -> Swing:
    """Take a way for not shown that runs into the first or last frame of the clip before it is most of the way."""
    out = float(values[swing.turn] - values[swing.before])
    opens = swing.opens and not (ends[0] and swing.before <= 1 and out < COUNTED_RETURN * back)
    closes = swing.closes and not (ends[1] and swing.after >= len(values) - 2 and back < COUNTED_RETURN * size)
    return replace(swing, opens=opens, closes=closes)


def _spread_at(motion: Motion, series: DriverSeries, at_s: float) -> float:
    """Return the standard uncertainty of the driver's level at an instant, the part common to the clip."""
    spreads = []
    for name in series.signals:
        shared = motion.signals[name].shared
        known = motion.signals[name].trusted
        if known.any():
            spreads.append(series.scale * float(np.interp(at_s, motion.times_s[known], shared[known])))
    return max(spreads, default=10.0)


def _doubtful_share(motion: Motion, signals: tuple[str, ...], start_s: float, end_s: float) -> float:
    """Share of a stretch in which none of the driver's signals was measured."""
    inside = (motion.times_s >= start_s) & (motion.times_s <= end_s)
    if not inside.any():
        return 1.0
    lost = [~motion.signals[n].trusted for n in signals]
    return float(np.mean(np.all(lost, axis=0)[inside]))


def with_shares(found: list[Found], motion: Motion, movement: Movement) -> list[Found]:
    """Put down of every swing how far it goes against the set's better ones by the signals that keep time with it."""
    sizes = []
    for f in found:
        row = course_row(movement, motion.view, f.side)
        known = row is not None and f.swing.opens and f.swing.closes
        sizes.append(course_sizes(motion, row, f.side, f.edges) if known else {})
    return [replace(f, share=share) for f, share in zip(found, shares_of_best(sizes), strict=True)]


def size_against_smallest(f: Found, found: list[Found], movement: Movement) -> tuple[float, float, float]:
    """Return how far a swing went, from where on one counts as a repetition, and how unsure the two are together.

    The limit is the movement's own, unless the reading is too unsure to tell the swing from it: then the set itself has
    a say by its precision, and asks for 52 % of its better ones. How much of those a swing is, is told by all signals
    that keep time with the driver better than by an angle that is unsure.
    """
    minimum = movement.driver.min_swing
    if abs(f.size - minimum) > 2.0 * f.level_u:
        return f.size, minimum, f.level_u
    whole = [g.size for g in found if g.swing.opens and g.swing.closes]
    best = float(np.percentile(whole or [f.size], BEST_PERCENTILE))
    if not np.isfinite(f.level_u):
        size = f.size if f.share is None else f.share * best
        return size, float(np.clip(USUAL_SHARE * best, 0.35 * minimum, MOST_ASKED * minimum)), f.size_u
    shared, spread = max(float(np.sqrt(max(f.level_u**2 - f.size_u**2, 0.0))), 0.5), max(SHARE_SPREAD * best, 0.5)
    weight = spread**2 / (shared**2 + spread**2)
    share = USUAL_SHARE if movement.driver.second_signal is None else FOLLOWED_SHARE
    smallest = weight * minimum + (1.0 - weight) * share * best
    smallest = float(np.clip(smallest, 0.35 * minimum, MOST_ASKED * minimum))
    size = f.size
    if f.share is not None:
        told = COURSE_SPREAD["turn" if movement.driver.signal == "trunk_rotation" else "limb"] * best
        angle, course = (UNLIKE_SHARE * shared) ** 2 + f.size_u**2, told**2
        size = (course * f.size + angle * f.share * best) / (angle + course)
    return size, smallest, float(np.hypot(f.size_u, np.sqrt(weight) * shared))
