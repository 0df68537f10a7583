"""Repetitions and phases of a driver that is known exactly, by the fixed definitions of the design."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .catalogue import Plan

SPEED_SHARE = 0.05
"""A moving phase is where the speed exceeds this share of the phase's own peak speed."""
END_SHARE = 0.20
"""A stop further than this share of the swing from both ends does not split a phase."""
HOLD_S, HOLD_SHARE = 0.3, 0.08
"""A gap is a hold from this long, and from this share of the two phases beside it."""
RETURN_SHARE = 0.70
"""A repetition is complete when it has come back at least this share of the way."""

Stretch = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Excursion:
    """One movement away from the start end and back.

    Attributes
    ----------
    away_s, back_s : tuple of float
        Beginning and end of both moving phases.
    extreme_s : float
        Instant of the turn.
    swing_deg, returned_share : float
        Size of the movement and how far it came back.
    """

    away_s: Stretch
    back_s: Stretch
    extreme_s: float
    swing_deg: float
    returned_share: float


def moving_stretch(times_s: NDArray[np.float64], driver_deg: NDArray[np.float64]) -> Stretch:
    """Return when one way between two ends begins and ends.

    Parameters
    ----------
    times_s, driver_deg : ndarray, shape (T,)
        The driver from one end to the other; it may rest before, after and on the way.
    """
    speed = np.abs(np.gradient(driver_deg, times_s))
    fast = speed > SPEED_SHARE * speed.max()
    edges = np.flatnonzero(np.diff(np.concatenate([[False], fast, [False]]).astype(int)))
    runs = [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    low, high = min(driver_deg[0], driver_deg[-1]), max(driver_deg[0], driver_deg[-1])
    margin = END_SHARE * (high - low)
    joined = [runs[0]]
    for run in runs[1:]:
        at_stop = driver_deg[joined[-1][1]]
        if low + margin < at_stop < high - margin:
            joined[-1] = (joined[-1][0], run[1])
        else:
            joined.append(run)
    main = max(joined, key=lambda r: abs(driver_deg[r[1]] - driver_deg[r[0]]))
    return float(times_s[main[0]]), float(times_s[main[1]])


def measure_excursion(times_s: NDArray[np.float64], driver_deg: NDArray[np.float64]) -> Excursion:
    """Measure one excursion from its samples (T,), which begin and end in the stays beside it."""
    start = driver_deg[0]
    off = np.abs(driver_deg - start)
    swing = float(off.max())
    near = np.flatnonzero(off >= swing - max(1e-6, 1e-4 * swing))
    turn = int(near[len(near) // 2])
    away = moving_stretch(times_s[: turn + 1], driver_deg[: turn + 1])
    back = moving_stretch(times_s[turn:], driver_deg[turn:])
    returned = float(1.0 - off[turn:].min() / swing)
    return Excursion(away_s=away, back_s=back, extreme_s=float(times_s[turn]), swing_deg=swing, returned_share=returned)


def is_hold(gap_s: float, beside_s: float) -> bool:
    """Tell whether a gap between two moving phases that last `beside_s` together is a hold."""
    return gap_s >= HOLD_S and gap_s >= HOLD_SHARE * beside_s


def phases_of(plan: Plan, excursions: list[Excursion]) -> list[dict[str, object]]:
    """Turn the excursions of a set into repetitions.

    Returns
    -------
    list of dict
        Per excursion: start_s, turn_s, end_s, swing_deg, complete, phases and gaps (both by name; None where there is
        no end to the last stay).
    """
    out = []
    for i, now in enumerate(excursions):
        following = excursions[i + 1] if i + 1 < len(excursions) else None
        before = excursions[i - 1] if i else None
        start = _border(before, now)[1] if before else now.away_s[0]
        turn_gap = now.back_s[0] - now.away_s[1]
        beside = now.away_s[1] - now.away_s[0] + now.back_s[1] - now.back_s[0]
        held = is_hold(turn_gap, beside)
        middle = 0.5 * (now.away_s[1] + now.back_s[0])
        leave, back = (now.away_s[1], now.back_s[0]) if held else (middle, middle)
        end, start_of_next, rest = now.back_s[1], now.back_s[1], None
        if following:
            end, start_of_next = _border(now, following)
            rest = start_of_next - end
        first, second = plan.moving
        phases = {first: leave - start, plan.turn_hold: back - leave, second: end - back, plan.start_hold: rest}
        gaps = {plan.turn_hold: turn_gap, plan.start_hold: following.away_s[0] - now.back_s[1] if following else None}
        complete = now.swing_deg >= plan.smallest_deg and now.returned_share >= RETURN_SHARE
        out.append(
            {
                "start_s": start,
                "turn_s": middle if held else now.extreme_s,
                "end_s": start_of_next,
                "swing_deg": now.swing_deg,
                "complete": complete,
                "phases": phases,
                "gaps": gaps,
            }
        )
    return out


def _border(first: Excursion, second: Excursion) -> Stretch:
    """Return when `first` has come back and `second` leaves; both in the middle when the stay is no hold."""
    gap = second.away_s[0] - first.back_s[1]
    beside = first.back_s[1] - first.back_s[0] + second.away_s[1] - second.away_s[0]
    if is_hold(gap, beside):
        return first.back_s[1], second.away_s[0]
    middle = 0.5 * (first.back_s[1] + second.away_s[0])
    return middle, middle
