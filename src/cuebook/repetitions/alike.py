"""What the repetitions of a set say about each other: one follows the other, and their phases are about as long."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from .edges import Found

Array = NDArray[np.float64]

FEWEST_ALIKE = 3
LEAST_SPREAD = 0.10
"""Phases of one set differ by at least this share of their median (house choice: what a practised athlete keeps)."""
MIGHT_DIFFER = 0.10
"""Chance that a phase has nothing to do with the others: dropped fast, or given a stop (house choice)."""
WHOLE_SHARE = 0.7
"""A swing smaller than this share of the set's middle one is not like the others (house choice)."""
LARGE_SHARE = 0.5
SHORTEST_WAY_S = 0.1


def in_order(found: list[Found], smallest: float) -> list[Found]:
    """Let no repetition leave before the one before it is back: the less sure end gives way the more.

    Parameters
    ----------
    found : list of Found
        In order of time.
    smallest : float
        The movement's smallest swing; what goes less than half of it may be a limb that moves along.

    Returns
    -------
    list of Found
    """
    out = list(found)
    for j, k in pairwise(i for i, f in enumerate(found) if f.size >= LARGE_SHARE * smallest):
        f, g = out[j], found[k]
        gap = g.edges[0] - f.edges[3]
        if gap >= 0 or not (f.swing.closes and g.swing.opens):
            continue
        one, other = f.edges_u[3] ** 2, g.edges_u[0] ** 2
        border = f.edges[3] + gap * one / (one + other)
        border = min(max(border, f.edges[2] + SHORTEST_WAY_S), g.edges[1] - SHORTEST_WAY_S)
        spread = float(np.sqrt(one * other / (one + other)))
        out[j] = replace(f, edges=(*f.edges[:3], border), edges_u=(*f.edges_u[:3], spread))
        out[k] = replace(g, edges=(border, *g.edges[1:]), edges_u=(spread, *g.edges_u[1:]))
    return out


def made_alike(found: list[Found]) -> list[Found]:
    """Draw the length of each way towards the set's median by how unsure it is and how much the set varies.

    Parameters
    ----------
    found : list of Found
        In order of time.

    Returns
    -------
    list of Found
        The same for fewer than three whole swings. A way that is surely different stays as it is. How unsure the ends
        are stays as it was: what is wrong with all of a set is not mended by their likeness.

    References
    ----------
    Efron and Morris 1975, J Am Stat Assoc 70:311-319 (estimates of like things drawn together by their precision).
    """
    whole = [f for f in found if f.swing.opens and f.swing.closes and f.shape is not None]
    middle = float(np.median([f.size for f in whole])) if whole else 0.0
    like = [f for f in whole if f.size >= WHOLE_SHARE * middle]
    if len(like) < FEWEST_ALIKE:
        return found
    edges, spread = np.array([f.edges for f in like]), np.array([f.edges_u for f in like])
    for first, last in ((0, 1), (2, 3)):
        _draw_together(edges, spread**2, first, last)
    changed = {id(f): replace(f, edges=tuple(map(float, e))) for f, e in zip(like, edges, strict=True)}
    return [changed.get(id(f), f) for f in found]


def _draw_together(edges: Array, square: Array, first: int, last: int) -> None:
    """Move two ends of every repetition (N, 4) so that the way between them becomes more like the others."""
    length = edges[:, last] - edges[:, first]
    usual = float(np.median(length))
    varies = max(1.4826 * float(np.median(np.abs(length - usual))), LEAST_SPREAD * usual)
    both = square[:, first] + square[:, last]
    off = usual - length
    alike = (1.0 - MIGHT_DIFFER) * _density(off, both + varies**2)
    other = MIGHT_DIFFER * _density(off, both + usual**2)
    shift = alike / (alike + other) * both / (both + varies**2) * off
    edges[:, first] -= square[:, first] / both * shift
    edges[:, last] += square[:, last] / both * shift


def _density(off: Array, square: Array) -> Array:
    return np.exp(-0.5 * off**2 / square) / np.sqrt(square)
