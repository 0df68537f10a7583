"""Repetitions of a set and their phases, by the definitions of the design."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import erf, sqrt

import numpy as np
from numpy.typing import NDArray

from cuebook.model import PHASES, Motion, Movement, Prescription, Repetition, Signal

from .drivers import DriverSeries, driver_series, in_place
from .shape import WIDE_PRIOR, ExponentPrior, Shape, fit_shape
from .turning import COUNTED_RETURN, SEEN_SHARE, Swing, find_swings, within_place

Array = NDArray[np.float64]

SHORTEST_HOLD_S = 0.3
HOLD_SHARE = 0.08
"""A gap is a hold from 0.3 s and 8 % of the two moving phases together (definition of the design)."""
MODEL_TIME_U_S, MODEL_TIME_SHARE = 0.045, 0.025
"""Standard uncertainty of one end of a phase from the shape not being exactly the true one, and its growth with the
length of the phase; fitted on rendered clips."""
USUAL_SHARE = 0.62
"""Share of the set's usual swing from which a swing counts where the angle itself is too unsure (house choice,
between a half repetition and a shallow one)."""
AT_END_S = 0.25
"""A driver known up to this near to an end of the clip reaches it (house choice)."""
LEAST_NOISE = 0.4
"""Smallest noise of a driver that is believed, in its unit (house choice)."""
SET_WIDTH = 0.2
"""How much the exponents of one set's repetitions differ, on a logarithmic scale (house choice)."""
CORRELATION_S = 0.15
"""Time over which the errors of a filtered driver are correlated, from its cut-off near 4 Hz."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Found:
    """One swing with its fitted shape, before repetitions are numbered."""

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


def find_repetitions(motion: Motion, movement: Movement, prescription: Prescription) -> tuple[Repetition, ...]:
    """Find the repetitions of a set, complete and half ones, with the four phases of each.

    Parameters
    ----------
    motion : Motion
        Signals of the clip.
    movement : Movement
        Driver, ends, smallest swing and side rule.
    prescription : Prescription
        The side that was asked for decides what is counted; a prescribed hold is judged on the gap itself.

    Returns
    -------
    tuple of Repetition
        In order of time, numbered from 1; empty where the driver cannot be measured.
    """
    place = in_place(motion, movement)
    candidates = [
        c for x in driver_series(motion, movement, place) if (c := _candidates(motion, movement, x)) is not None
    ]
    found: list[_Found] = []
    for own in candidates:
        found += _swings_of(motion, own, [c for c in candidates if c is not own])
    shortest = movement.driver.rep_s[0]
    found = [f for f in found if f.edges[3] - f.edges[0] >= 0.85 * shortest or not (f.swing.opens and f.swing.closes)]
    found = _without_shadows(_within_second(found, motion, movement), movement)
    found.sort(key=lambda f: f.edges[1] + f.edges[2])
    repetitions = _number(motion, movement, found, prescription)
    return _second_driver(motion, movement, repetitions)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Candidates:
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


def _candidates(motion: Motion, movement: Movement, series: DriverSeries) -> _Candidates | None:
    """Find the swings of one side, None where too little of it is known."""
    known = np.isfinite(series.values)
    if known.sum() < 15:
        return None
    times, values = motion.times_s[known], series.values[known]
    swings = find_swings(times, values, reversal=SEEN_SHARE * movement.driver.min_swing)
    swings = within_place(times, values, swings)
    swings, hidden = _opened_by_doubt(motion, series, times, values, swings, movement)
    return _Candidates(series=series, known=known, times=times, values=values, swings=swings, hidden=hidden)


def _swings_of(motion: Motion, own: _Candidates, others: list[_Candidates]) -> list[_Found]:
    """Fit the shapes of one side's swings twice: alone, then knowing how the set's other ones look."""
    series, known, times, values, swings, hidden = own.series, own.known, own.times, own.values, own.swings, own.hidden
    windows = [_window(own, k, others) for k in range(len(swings))]
    noise_all = np.fmax(np.nan_to_num(series.noise[known], nan=1.0), LEAST_NOISE)
    noises = [noise_all[w] for w in windows]
    shapes: list[Shape | None] = []
    for swing, window, noise in zip(swings, windows, noises, strict=True):
        shapes.append(_shape(times, values, swing, window, noise, WIDE_PRIOR))
    whole = [s for s in shapes if s is not None and s.parts == 1]
    if len(whole) >= 3:
        logs = np.log([s.exponents for s in whole])
        common = ExponentPrior(mean=np.median(logs, axis=0), width=SET_WIDTH)
        level = float(np.median([s.residual for s in whole]))
        shapes = [
            s if s is None or s.parts == 2 else _shape(times, values, swing, window, np.maximum(noise, level), common)
            for s, swing, window, noise in zip(shapes, swings, windows, noises, strict=True)
        ]
    return [
        _found(motion, series, values, swing, float(np.median(noise)) if noise.size else 1.0, shape, hidden=k in hidden)
        for k, (swing, noise, shape) in enumerate(zip(swings, noises, shapes, strict=True))
    ]


def _opened_by_doubt(
    motion: Motion, series: DriverSeries, times: Array, values: Array, swings: list[Swing], movement: Movement
) -> tuple[list[Swing], set[int]]:
    """Let a swing count whose beginning or end lies in a doubtful stretch, not outside the clip, if the rest is enough.

    Returns the swings and which of them were mended so; their times are not to be judged.
    """
    lost = np.any([motion.signals[n].doubtful for n in series.signals], axis=0)
    out, hidden = list(swings), set()
    if not swings or not lost.any():
        return out, hidden
    enough = movement.driver.min_swing
    if not out[0].opens and lost[motion.times_s < times[0]].any() and values[out[0].turn] - values[0] >= enough:
        out[0] = replace(out[0], opens=True)
        hidden.add(0)
    last = len(out) - 1
    if (
        not out[last].closes
        and lost[motion.times_s > times[-1]].any()
        and values[out[last].turn] - values[-1] >= enough
    ):
        out[last] = replace(out[last], closes=True)
        hidden.add(last)
    return out, hidden


def _shape(
    times: Array, values: Array, swing: Swing, window: Array, noise: Array, prior: ExponentPrior
) -> Shape | None:
    if not (swing.opens and swing.closes) or window.sum() < 12:
        return None
    return fit_shape(times[window], values[window], guess_s=swing.guess_s, noise=noise, correlation_s=CORRELATION_S,
                     prior=prior)  # fmt: skip


def _window(own: _Candidates, k: int, others: list[_Candidates]) -> NDArray[np.bool_]:
    """Frames from the middle of the stay before to the middle of the stay after, at most 1.2 s beyond the way.

    The stay ends where the other side begins; where both overlap, it is not followed beyond the other's turn.
    """
    times, swings = own.times, own.swings
    g, turn = swings[k].guess_s, float(times[swings[k].turn])
    low, high = max(g[0] - 1.2, float(times[swings[k].before])), min(g[3] + 1.2, float(times[swings[k].after]))
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
    return (times >= low) & (times <= high)


def _found(
    motion: Motion,
    series: DriverSeries,
    values: Array,
    swing: Swing,
    noise: float,
    shape: Shape | None,
    *,
    hidden: bool,
) -> _Found:
    if shape is None:
        edges, spread = swing.guess_s, (0.15,) * 4
        size, back = values[swing.turn] - values[swing.before], values[swing.turn] - values[swing.after]
        size_u = noise * 1.5
    else:
        edges = tuple(float(e) for e in shape.edges_s)
        lengths = np.repeat([edges[1] - edges[0], edges[3] - edges[2]], 2)
        spread = tuple(
            float(u) for u in np.hypot(shape.edges_u_s, np.hypot(MODEL_TIME_U_S, MODEL_TIME_SHARE * lengths))
        )
        top = max(float(shape.levels[1]), float(values[swing.turn]) - 1.5 * noise)
        base = series.neutral
        size = top - (float(shape.levels[0]) if base is None else base)
        back = top - (float(shape.levels[2]) if base is None else max(base, float(shape.levels[2])))
        size_u = float(np.hypot(*shape.levels_u[:2]))
    swing = _cut_off(swing, values, float(size), float(back), ends=_clip_ends(motion, series))
    level_u = float(np.hypot(size_u, _spread_at(motion, series, float(np.mean(edges[1:3])))))
    doubtful = hidden or _doubtful_share(motion, series.signals, edges[0], edges[3]) > 0.4
    return _Found(side=series.side, swing=swing, shape=shape, edges=edges, edges_u=spread, size=float(size),
                  size_u=float(size_u), level_u=level_u, back=float(back), doubtful=doubtful)  # fmt: skip


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
            spreads.append(float(np.interp(at_s, motion.times_s[known], shared[known])))
    return max(spreads, default=10.0)


def _doubtful_share(motion: Motion, signals: tuple[str, ...], start_s: float, end_s: float) -> float:
    """Share of a stretch in which none of the driver's signals was measured."""
    inside = (motion.times_s >= start_s) & (motion.times_s <= end_s)
    if not inside.any():
        return 1.0
    lost = [~motion.signals[n].trusted for n in signals]
    return float(np.mean(np.all(lost, axis=0)[inside]))


def _without_shadows(found: list[_Found], movement: Movement) -> list[_Found]:
    """Of two sides that swing at the same time keep the larger: the other limb moves along, or is misread."""
    if movement.sides == "both":
        return found
    keep = []
    for f in found:
        if not (f.swing.opens and f.swing.closes) and any(_inside(f, g) for g in found if g.side != f.side):
            continue
        rivals = (g for g in found if g.side != f.side and g.size > f.size)
        if not any(_together(f, g) for g in rivals):
            keep.append(f)
    return keep


def _inside(f: _Found, g: _Found) -> bool:
    """Whether a swing cut off by an end of the set turns while a whole one of the other side is on its way."""
    return g.swing.opens and g.swing.closes and g.edges[0] - 0.3 <= f.edges[1] <= g.edges[3] + 0.3


def _together(f: _Found, g: _Found) -> bool:
    """Whether two swings overlap by more than half of the first and turn at about the same time."""
    overlap = min(f.edges[3], g.edges[3]) - max(f.edges[0], g.edges[0])
    length = f.edges[3] - f.edges[0]
    apart = abs((f.edges[1] + f.edges[2]) - (g.edges[1] + g.edges[2])) / 2
    return overlap > 0.5 * length and apart < 0.4 * max(length, g.edges[3] - g.edges[0])


def _within_second(found: list[_Found], motion: Motion, movement: Movement) -> list[_Found]:
    """Drop swings of the driver while the second driver is well on its way: they belong to that part."""
    driver = movement.driver
    if driver.second_signal is None:
        return found
    second = _better(motion, driver.second_signal)
    known = second.trusted
    if not known.any():
        return found
    low, high = np.percentile(second.values[known], [10, 98])
    limit = low + 0.5 * (high - low)
    at = [float(np.interp(float(np.mean(f.edges[1:3])), second.times_s[known], second.values[known])) for f in found]
    raised = high - low >= (driver.second_min_swing or 0.0)
    return [f for f, value in zip(found, at, strict=True) if not (raised and value > limit)]


def _better(motion: Motion, name: str) -> Signal:
    """Return the left or right signal of that name with the smaller uncertainty."""

    def spread(signal: Signal) -> float:
        return float(np.nanmedian(signal.sigma)) if np.isfinite(signal.sigma).any() else np.inf

    return min((motion.signals[f"{s}_{name}"] for s in ("left", "right")), key=spread)


def _smallest_swing(f: _Found, found: list[_Found], movement: Movement) -> float:
    """Return the swing from which one counts as a repetition.

    It is the movement's own, unless the reading is too unsure to tell the swing from it: then the set itself
    decides, and a swing counts from 62 % of the set's usual one.
    """
    minimum = movement.driver.min_swing
    if abs(f.size - minimum) > 2.0 * f.level_u:
        return minimum
    usual = float(np.percentile([g.size for g in found], 75))
    return float(np.clip(USUAL_SHARE * usual, 0.35 * minimum, max(minimum, f.size)))


def _chance(z: float) -> float:
    return 0.5 * (1.0 + erf(z / sqrt(2.0)))


def _number(
    motion: Motion, movement: Movement, found: list[_Found], prescription: Prescription
) -> tuple[Repetition, ...]:
    first, last = float(motion.times_s[0]), float(motion.times_s[-1])
    out = []
    for k, f in enumerate(found):
        nxt = found[k + 1] if k + 1 < len(found) else None
        phases, spread, gaps, start, turn, end = _phases(movement, f, found[k - 1] if k else None, nxt)
        minimum = _smallest_swing(f, found, movement)
        enough = _chance((f.size - minimum) / max(f.size_u, 0.5))
        returned = _chance((f.back - COUNTED_RETURN * f.size) / max(f.size_u, 0.5))
        complete = bool(f.swing.opens and f.swing.closes and f.size >= minimum and f.back >= COUNTED_RETURN * f.size)
        wanted = prescription.side is None or f.side in (prescription.side, "both")
        edges = f.edges if f.swing.opens and f.swing.closes else ()
        out.append(
            Repetition(
                number=k + 1,
                side=f.side,
                start_s=min(start, turn) if f.swing.opens else None,
                turn_s=float(np.clip(turn, first, last)),
                end_s=None if end is None else float(np.clip(end, turn, last)),
                complete=complete,
                counted=complete and wanted,
                chance=enough * returned if f.swing.opens and f.swing.closes else 0.0,
                phases=phases,
                phases_u=spread,
                gaps=gaps,
                edges=tuple(edges),
                swing=f.size,
                doubtful=f.doubtful,
            )
        )
    return tuple(out)


def _phases(movement: Movement, f: _Found, before: _Found | None, after: _Found | None):
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
        start, before_u = e[0] - half_before, flip * gap / 2
    phases: dict[str, float | None] = dict.fromkeys(PHASES)
    spread: dict[str, float | None] = dict.fromkeys(PHASES)
    gaps: dict[str, float | None] = {turn_hold: e[2] - e[1], stay: None}
    half_after, after_u, end = 0.0, 0.0, None
    if after is not None:
        gap, hold, flip = _hold(
            e[3], after.edges[0], e[3] - e[2], after.edges[1] - after.edges[0], u[3], after.edges_u[0]
        )
        half_after = 0.0 if hold else gap / 2
        after_u = flip * gap / 2
        end = after.edges[0] - half_after
        phases[stay] = gap if hold else 0.0
        spread[stay] = float(np.sqrt(u[3] ** 2 + after.edges_u[0] ** 2 + (flip * gap) ** 2))
        gaps[stay] = gap
    elif f.swing.closes:
        end = e[3]
    if f.swing.opens:
        phases[out_name] = e[1] - e[0] + half_before + half_turn
        spread[out_name] = float(np.sqrt(u[0] ** 2 + u[1] ** 2 + before_u**2 + (flip_turn * gap_turn / 2) ** 2))
    if f.swing.closes:
        phases[back_name] = e[3] - e[2] + half_turn + half_after
        spread[back_name] = float(np.sqrt(u[2] ** 2 + u[3] ** 2 + after_u**2 + (flip_turn * gap_turn / 2) ** 2))
    if f.swing.opens and f.swing.closes:
        phases[turn_hold] = gap_turn if hold_turn else 0.0
        spread[turn_hold] = float(np.sqrt(u[1] ** 2 + u[2] ** 2 + (flip_turn * gap_turn) ** 2))
    return phases, spread, gaps, start, (e[1] + e[2]) / 2, end


def _names(movement: Movement) -> tuple[str, str, str, str]:
    """Names of the way out, the hold at the turn, the way back and the stay after it."""
    if movement.driver.first == "eccentric":
        return "eccentric", "long_hold", "concentric", "short_hold"
    return "concentric", "short_hold", "eccentric", "long_hold"


def _hold(
    end_s: float, start_s: float, one: float, other: float, u_end: float, u_start: float
) -> tuple[float, bool, float]:
    """Return a gap, whether it is a hold, and the standard deviation of that decision."""
    gap = max(0.0, start_s - end_s)
    threshold = max(SHORTEST_HOLD_S, HOLD_SHARE * (one + other))
    chance = _chance((gap - threshold) / max(float(np.hypot(u_end, u_start)), 1e-3))
    return gap, gap >= threshold, sqrt(chance * (1.0 - chance))


def _second_driver(motion: Motion, movement: Movement, repetitions: tuple[Repetition, ...]) -> tuple[Repetition, ...]:
    """Require the second driver to follow before the next repetition, where the movement has one."""
    driver = movement.driver
    if driver.second_signal is None:
        return repetitions
    best = _better(motion, driver.second_signal)
    out = []
    for k, rep in enumerate(repetitions):
        if not rep.complete:
            out.append(rep)
            continue
        stop = repetitions[k + 1].start_s if k + 1 < len(repetitions) else None
        stop = float(motion.times_s[-1]) if stop is None else stop
        inside = (motion.times_s >= rep.turn_s) & (motion.times_s <= stop) & best.trusted
        swing = float(np.ptp(best.values[inside])) if inside.any() else 0.0
        followed = swing >= (driver.second_min_swing or 0.0)
        out.append(rep if followed else replace(rep, complete=False, counted=False, chance=0.0))
    return tuple(out)
