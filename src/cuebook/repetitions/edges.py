"""A swing as it was found: the ends of its moving phases, the four phases they make, and the uncertainty of both."""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, sqrt

import numpy as np
from numpy.typing import NDArray

from cuebook.model import PHASES, Movement

from .shape import Shape
from .turning import Swing

Array = NDArray[np.float64]

SHORTEST_HOLD_S = 0.3
HOLD_SHARE = 0.08
"""A gap is a hold from 0.3 s and 8 % of the two moving phases together (definition of the design)."""
RARE_CHANCE = (0.02, 0.05)
"""A decision about a hold that is wrong less often than the first leaves the 95 % interval as it is; from the second
on the interval reaches the other value."""
HALF_INTERVAL = 1.0 / 1.96
SLOW_S, TOGETHER = (1.5, 2.5), 0.6
"""A way of the first length or less has ends that err each for itself; from the second on they are correlated so much:
on the rendered sets, slow ways are read short at both ends (house choice between none and all)."""


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
    share: float | None = None
    """How far it goes against the set's better ones by all signals that keep time with the driver, where known."""


def edges_of(
    swing: Swing, shape: Shape | None
) -> tuple[tuple[float, float, float, float], tuple[float, float, float, float]]:
    """Return the starts and ends of the way out and the way back, seconds, and their standard uncertainties."""
    if shape is None:
        return swing.guess_s, (0.15,) * 4
    edges = tuple(float(e) for e in shape.edges_s)
    return edges, tuple(float(u) for u in shape.edges_u_s)


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
        spread[out_name] = float(np.hypot(_way_u(e[1] - e[0], u[0], u[1]), np.hypot(before_u, flip_turn / 2)))
    if f.swing.closes:
        phases[back_name] = e[3] - e[2] + half_turn + half_after
        spread[back_name] = float(np.hypot(_way_u(e[3] - e[2], u[2], u[3]), np.hypot(after_u, flip_turn / 2)))
    if f.swing.opens and f.swing.closes:
        phases[turn_hold] = gap_turn if hold_turn else 0.0
        spread[turn_hold] = float(np.sqrt(u[1] ** 2 + u[2] ** 2 + flip_turn**2))
    return phases, spread, gaps, start, (e[1] + e[2]) / 2, end


def _way_u(length_s: float, one: float, other: float) -> float:
    """Return the standard uncertainty of a way's length: the ends of a slow one err together, both inwards."""
    slow = float(np.clip((length_s - SLOW_S[0]) / (SLOW_S[1] - SLOW_S[0]), 0.0, 1.0))
    return sqrt(one**2 + other**2 + 2.0 * TOGETHER * slow * one * other)


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
