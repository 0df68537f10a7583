"""Repetitions of a set and their phases, by the definitions of the design."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Motion, Movement, Prescription, Repetition, Signal
from cuebook.motion import in_place

from .drivers import DriverSeries, driver_series
from .edges import Candidates, Found, chance, edges_of, fit_swings, phases_of
from .shape import Shape
from .turning import COUNTED_RETURN, SEEN_SHARE, Swing, find_swings, within_place

Array = NDArray[np.float64]

USUAL_SHARE, BEST_PERCENTILE = 0.52, 90
"""Share of the set's better swings from which a swing counts where the angle itself is too unsure (house choice,
between a half repetition and a shallow one)."""
FOLLOWED_SHARE = 0.38
"""The same where a second part must follow, which no half repetition is followed by (house choice)."""
SHARE_SPREAD = 0.06
"""Standard uncertainty of a swing's share of the set's better ones, from bends that read alike (house choice)."""
MOST_ASKED = 1.05
"""The set itself asks for no more than this much of the movement's smallest swing (house choice)."""
SURER_SHARE = 0.7
"""A limb seen twice as surely as the other one works if it swings at least this share of it (house choice)."""
POOR_FIT = 0.12
"""A fitted size less sure than this share of it gives way to the plain reading."""
AT_END_S = 0.25
"""A driver known up to this near to an end of the clip reaches it (house choice)."""


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
    found: list[Found] = []
    for own in candidates:
        fits = fit_swings(motion, movement, own, [c for c in candidates if c is not own])
        for k, (swing, (shape, noise)) in enumerate(zip(own.swings, fits, strict=True)):
            found.append(found_of(motion, own, swing, noise, shape, hidden=k in own.hidden))
    shortest = movement.driver.rep_s[0]
    found = [f for f in found if f.edges[3] - f.edges[0] >= 0.85 * shortest or not (f.swing.opens and f.swing.closes)]
    spread = {c.series.side: _usual_spread(motion, c.series) for c in candidates}
    found = _without_shadows(_within_second(found, motion, movement), movement, spread)
    found.sort(key=lambda f: f.edges[1] + f.edges[2])
    repetitions = _number(motion, movement, found, prescription)
    return with_second_driver(motion, movement, repetitions)


def _candidates(motion: Motion, movement: Movement, series: DriverSeries) -> Candidates | None:
    """Find the swings of one side, None where too little of it is known."""
    known = np.isfinite(series.values)
    if known.sum() < 15:
        return None
    times, values = motion.times_s[known], series.values[known]
    swings = find_swings(times, values, reversal=SEEN_SHARE * movement.driver.min_swing)
    swings = within_place(times, values, swings)
    swings, hidden = _opened_by_doubt(motion, series, times, values, swings, movement)
    return Candidates(series=series, known=known, times=times, values=values, swings=swings, hidden=hidden)


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


def _without_shadows(found: list[Found], movement: Movement, spread: dict[str, float]) -> list[Found]:
    """Of two sides that swing at the same time keep the larger: the other limb moves along, or is misread."""
    if movement.sides == "both":
        return found
    keep = []
    for f in found:
        if not (f.swing.opens and f.swing.closes) and any(_inside(f, g) for g in found if g.side != f.side):
            continue
        rivals = (g for g in found if g.side != f.side and _outdone(f, g, spread))
        if not any(_together(f, g) for g in rivals):
            keep.append(f)
    return keep


def _outdone(f: Found, g: Found, spread: dict[str, float]) -> bool:
    """Whether a swing of the other side is the larger one, or of a limb seen much better and not much smaller."""
    if spread[g.side] < 0.5 * spread[f.side]:
        return g.size > SURER_SHARE * f.size
    return g.size > f.size and not (spread[f.side] < 0.5 * spread[g.side] and f.size > SURER_SHARE * g.size)


def _usual_spread(motion: Motion, series: DriverSeries) -> float:
    """Return the usual uncertainty of a driver's level, the part common to the clip."""
    known = np.isfinite(series.values)
    return series.scale * float(max(np.median(motion.signals[n].shared[known]) for n in series.signals))


def _inside(f: Found, g: Found) -> bool:
    """Whether a swing cut off by an end of the set turns while a whole one of the other side is on its way."""
    return g.swing.opens and g.swing.closes and g.edges[0] - 0.3 <= f.edges[1] <= g.edges[3] + 0.3


def _together(f: Found, g: Found) -> bool:
    """Whether two swings overlap by more than half of the first and turn at about the same time."""
    overlap = min(f.edges[3], g.edges[3]) - max(f.edges[0], g.edges[0])
    length = f.edges[3] - f.edges[0]
    apart = abs((f.edges[1] + f.edges[2]) - (g.edges[1] + g.edges[2])) / 2
    return overlap > 0.5 * length and apart < 0.4 * max(length, g.edges[3] - g.edges[0])


def _within_second(found: list[Found], motion: Motion, movement: Movement) -> list[Found]:
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


def _smallest_swing(f: Found, found: list[Found], movement: Movement) -> tuple[float, float]:
    """Return the swing from which one counts as a repetition, and how unsure a swing is against it.

    It is the movement's own, unless the reading is too unsure to tell the swing from it: then the set itself has a
    say by its precision, and asks for 52 % of its better ones.
    """
    minimum = movement.driver.min_swing
    if abs(f.size - minimum) > 2.0 * f.level_u:
        return minimum, f.level_u
    whole = [g.size for g in found if g.swing.opens and g.swing.closes]
    best = float(np.percentile(whole or [f.size], BEST_PERCENTILE))
    if not np.isfinite(f.level_u):
        return float(np.clip(USUAL_SHARE * best, 0.35 * minimum, MOST_ASKED * minimum)), f.size_u
    shared, spread = max(float(np.sqrt(max(f.level_u**2 - f.size_u**2, 0.0))), 0.5), max(SHARE_SPREAD * best, 0.5)
    weight = spread**2 / (shared**2 + spread**2)
    share = USUAL_SHARE if movement.driver.second_signal is None else FOLLOWED_SHARE
    smallest = weight * minimum + (1.0 - weight) * share * best
    smallest = float(np.clip(smallest, 0.35 * minimum, MOST_ASKED * minimum))
    return smallest, float(np.hypot(f.size_u, np.sqrt(weight) * shared))


def _number(
    motion: Motion, movement: Movement, found: list[Found], prescription: Prescription
) -> tuple[Repetition, ...]:
    ends = [None, *found, None]
    return tuple(
        numbered(motion, movement, found, k, before=ends[k], after=ends[k + 2], prescription=prescription)
        for k in range(len(found))
    )


def numbered(
    motion: Motion,
    movement: Movement,
    found: list[Found],
    k: int,
    *,
    before: Found | None,
    after: Found | None,
    prescription: Prescription,
) -> Repetition:
    """Return one swing of a set as a repetition.

    Parameters
    ----------
    motion, movement, prescription
        As for :func:`find_repetitions`.
    found : list of Found
        All swings of the set, in order of time.
    k : int
        Which one.
    before, after : Found or None
        The neighbours that share a stay with it.
    """
    f = found[k]
    first, last = float(motion.times_s[0]), float(motion.times_s[-1])
    phases, spread, gaps, start, turn, end = phases_of(movement, f, before, after)
    minimum, unsure = _smallest_swing(f, found, movement)
    enough = chance((f.size - minimum) / max(unsure, 0.5))
    returned = chance((f.back - COUNTED_RETURN * f.size) / max(f.size_u, 0.5))
    whole = f.swing.opens and f.swing.closes
    complete = bool(whole and f.size >= minimum and f.back >= COUNTED_RETURN * f.size)
    wanted = prescription.side is None or f.side in (prescription.side, "both")
    return Repetition(
        number=k + 1,
        side=f.side,
        start_s=min(start, turn) if f.swing.opens else None,
        turn_s=float(np.clip(turn, first, last)),
        end_s=None if end is None else float(np.clip(end, turn, last)),
        complete=complete,
        counted=complete and wanted,
        chance=enough * returned if whole else 0.0,
        phases=phases,
        phases_u=spread,
        gaps=gaps,
        edges=tuple(f.edges) if whole else (),
        edges_u=tuple(f.edges_u) if whole else (),
        swing=f.size,
        doubtful=f.doubtful,
    )


def with_second_driver(
    motion: Motion, movement: Movement, repetitions: tuple[Repetition, ...]
) -> tuple[Repetition, ...]:
    """Require the second driver to follow before the next whole repetition, where the movement has one."""
    driver = movement.driver
    if driver.second_signal is None:
        return repetitions
    best = _better(motion, driver.second_signal)
    out = []
    for k, rep in enumerate(repetitions):
        if not rep.complete:
            out.append(rep)
            continue
        stop = next((r.start_s for r in repetitions[k + 1 :] if r.complete), None)
        stop = float(motion.times_s[-1]) if stop is None else stop
        inside = (motion.times_s >= rep.turn_s) & (motion.times_s <= stop) & best.trusted
        swing = float(np.ptp(best.values[inside])) if inside.any() else 0.0
        followed = swing >= (driver.second_min_swing or 0.0)
        out.append(rep if followed else replace(rep, complete=False, counted=False, chance=0.0))
    return tuple(out)
