"""How far a repeated movement has gone along its own way, whatever its features are.

A movement that is repeated runs to and fro along one curve through the space of its features (places of limbs, small
pictures). Distance along that curve from where the athlete rests tells the movement's stage even where the curve folds
back on itself, which a straight axis through the features does not.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

MOST_STAGES = 700
"""Frames that are compared with each other; of longer clips every second, third ... one."""
NEAR, AWAY = 0.25, 0.5
"""Shares of a far distance within which a stage is visited, and beyond which it is left (house choice)."""
LINK = 0.12
"""Distance, as a share of a far one, up to which two stages are neighbours on the way (house choice)."""
LEAST_VISITS = 3
"""A place of rest is seen this often at least, where anything is: getting into place and leaving it is seen twice."""


def main_parts(columns: Array, count: int) -> Array:
    """Return the first `count` principal components (F, count) of finite columns (F, N) about their median."""
    left, size, _ = np.linalg.svd(columns - np.median(columns, axis=0), full_matrices=False)
    return left[:, :count] * size[:count]


def way_from_rest(features: Array) -> Array | None:
    """Return how far each frame lies from the place of rest, along the way the movement takes.

    Parameters
    ----------
    features : ndarray, shape (F, P)
        Finite features of which distances make sense.

    Returns
    -------
    ndarray, shape (F,), or None
        0 at rest, 1 at the usual far end; None where no stage is visited twice. The length of a curve through
        neighbouring points follows Tenenbaum, de Silva and Langford 2000, Science 290:2319-2323.
    """
    step = -(-len(features) // MOST_STAGES)
    chosen = features[::step]
    if len(chosen) < 15:
        return None
    square = (chosen**2).sum(axis=1)
    apart = np.sqrt(np.maximum(square[:, None] + square[None] - 2.0 * chosen @ chosen.T, 0.0))
    rest = _place_of_rest(apart)
    if rest is None:
        return None
    way = _along(apart, rest)
    usual = _usual_end(way)
    if usual is None:
        return None
    return np.interp(np.arange(len(features)), np.arange(0, len(features), step), way / usual)


def _visits(apart: Array, rows: NDArray[np.int_]) -> NDArray[np.int_]:
    """Count how often each of some stages is come to, leaving it in between."""
    far = np.percentile(apart[rows], 90, axis=1)
    inside = np.zeros(len(rows), bool)
    count = np.zeros(len(rows), int)
    for column in apart[rows].T:
        comes = ~inside & (column < NEAR * far)
        count += comes
        inside = (inside | comes) & ~(column > AWAY * far)
    return count


def _place_of_rest(apart: Array) -> int | None:
    """Return the stage from which the movement starts: slow, come back to, long stayed at, the first of these."""
    places = np.arange(len(apart))
    speed = apart[np.maximum(places - 2, 0), np.minimum(places + 2, len(apart) - 1)]
    slow = np.flatnonzero(speed <= np.median(speed))
    far = np.percentile(apart[slow], 90, axis=1)
    visits = _visits(apart, slow)
    often = visits >= max(min(LEAST_VISITS, int(visits.max())), 0.45 * visits.max())
    if visits.max() < 2:
        return None
    stays = (apart[slow] < LINK * far[:, None]).sum(axis=1)
    fit = np.flatnonzero(often & (stays >= 0.3 * stays[often].max()))
    first = fit[np.argmin((apart[slow[fit]] < NEAR * far[fit, None]).argmax(axis=1))]
    around = fit[apart[slow[first], slow[fit]] < NEAR * far[first]]
    return int(slow[around[np.argmax(stays[around])]])


def _along(apart: Array, rest: int) -> Array:
    """Return the length of the shortest way over neighbouring stages from rest to every other."""
    from scipy.sparse import csr_matrix
    from scipy.sparse.csgraph import dijkstra

    limit = LINK * np.percentile(apart, 90)
    near = np.sort(apart, axis=1)[:, min(6, len(apart) - 1)]
    linked = (apart <= limit) | (apart <= near[:, None]) | (apart <= near[None])
    steps = np.arange(len(apart) - 1)
    linked[steps, steps + 1] = True
    rows, columns = np.nonzero(linked)
    graph = csr_matrix((np.maximum(apart[rows, columns], 1e-9), (rows, columns)), shape=apart.shape)
    return dijkstra(graph, directed=False, indices=rest)


def _usual_end(way: Array) -> float | None:
    """Return the usual far end of the ways out from rest and back to it; the longest way where none comes back."""
    ends, top, home = [], 0.0, False
    limit = NEAR * float(np.percentile(way, 90))
    for value in way:
        if value > limit:
            top = max(top, float(value))
        else:
            if home and top > 2.0 * limit:
                ends.append(top)
            top, home = 0.0, True
    longest = max(ends, default=float(way.max()))
    if longest <= 0:
        return None
    return float(np.percentile([e for e in ends if e > 0.5 * longest] or [longest], 75))
