"""Repetitions of a set and their phases, by the definitions of the design."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Motion, Movement, Prescription, Repetition
from cuebook.motion import in_place

from .alike import in_order, made_alike
from .drivers import DriverSeries, driver_series
from .edges import Found, chance, phases_of
from .fits import Candidates, fit_swings
from .sides import better, usual_spread, within_second, without_shadows
from .sizes import found_of, size_against_smallest, with_shares
from .turning import COUNTED_RETURN, SEEN_SHARE, Swing, find_swings, within_place

Array = NDArray[np.float64]


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
    spread = {c.series.side: usual_spread(motion, c.series) for c in candidates}
    found = without_shadows(within_second(found, motion, movement), movement, spread)
    found.sort(key=lambda f: f.edges[1] + f.edges[2])
    smallest = movement.driver.min_swing
    found = with_shares(in_order(found, smallest), motion, movement)
    found = in_order(made_alike(found), smallest)
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
    size, minimum, unsure = size_against_smallest(f, found, movement)
    enough = chance((size - minimum) / max(unsure, 0.5))
    returned = chance((f.back - COUNTED_RETURN * f.size) / max(f.size_u, 0.5))
    whole = f.swing.opens and f.swing.closes
    complete = bool(whole and size >= minimum and f.back >= COUNTED_RETURN * f.size)
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
    """Require the second driver to follow before the next repetition, where the movement has one.

    The last whole swing before a second part is the one that it follows: bends on the way to it or back end no wait.
    """
    driver = movement.driver
    if driver.second_signal is None:
        return repetitions
    best = better(motion, driver.second_signal)
    out = list(repetitions)
    stop = float(motion.times_s[-1])
    for k in range(len(out) - 1, -1, -1):
        rep = out[k]
        if not rep.complete:
            continue
        inside = (motion.times_s >= rep.turn_s) & (motion.times_s <= stop) & best.trusted
        swing = float(np.ptp(best.values[inside])) if inside.any() else 0.0
        if swing >= (driver.second_min_swing or 0.0):
            stop = rep.start_s
        else:
            out[k] = replace(rep, complete=False, counted=False, chance=0.0)
    return tuple(out)
