"""Where a driver turns, and the rough ends of each way out and back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

COUNTED_RETURN = 0.70
"""Share of the swing a repetition must come back (definition of the design)."""
SEEN_SHARE = 0.40
"""Share of a movement's smallest swing from which a swing is noted at all, as a half repetition (house choice)."""


WOBBLE_RETURN = 0.5
"""A dip at the turn that comes back less than this share of the swing is a wobble within one repetition (house
choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """One way out and back of a driver, by frame numbers.

    Attributes
    ----------
    before, turn, after : int
        Frames of the lowest point before, the highest, and the lowest after.
    guess_s : tuple of float
        Rough start and end of the way out and of the way back, seconds.
    opens, closes : bool
        Whether the way out, and the way back, are in the clip.
    """

    before: int
    turn: int
    after: int
    guess_s: tuple[float, float, float, float]
    opens: bool
    closes: bool


def turning_points(values: Array, reversal: float) -> list[tuple[int, bool]]:
    """Return alternating extremes separated by at least `reversal`.

    Parameters
    ----------
    values : ndarray, shape (N,)
        A finite series.
    reversal : float
        Smallest change that makes a turn; less is taken for tremor or a bounce.

    Returns
    -------
    list of (int, bool)
        Place of each extreme and whether it is a high one, in order.
    """
    points: list[tuple[int, bool]] = []
    low = high = 0
    rising: bool | None = None
    for i, v in enumerate(values):
        if rising is not False and v > values[high]:
            high = i
        if rising is not True and v < values[low]:
            low = i
        if rising is None:
            if v - values[low] >= reversal:
                points.append((low, False))
                rising, high = True, i
            elif values[high] - v >= reversal:
                points.append((high, True))
                rising, low = False, i
        elif rising and values[high] - v >= reversal:
            points.append((high, True))
            rising, low = False, i
        elif not rising and v - values[low] >= reversal:
            points.append((low, False))
            rising, high = True, i
    if rising is not None:
        points.append((high, True) if rising else (low, False))
    return points


def without_wobbles(points: list[tuple[int, bool]], values: Array) -> list[tuple[int, bool]]:
    """Join neighbouring highs whose valley comes back less than half of the way to the lows around them.

    Parameters
    ----------
    points : list of (int, bool)
        From :func:`turning_points`.
    values : ndarray, shape (N,)
        The series.

    Returns
    -------
    list of (int, bool)
        Alternating as before; of two joined highs the higher one stays.
    """
    out = list(points)
    k = 0
    while k + 2 < len(out):
        (first, high), (valley, _), (second, _) = out[k : k + 3]
        if not high:
            k += 1
            continue
        lows = [values[out[i][0]] for i in (k - 1, k + 3) if 0 <= i < len(out)]
        top = max(values[first], values[second])
        if lows and top - values[valley] < WOBBLE_RETURN * (top - max(lows)):
            out[k : k + 3] = [(first if values[first] >= values[second] else second, True)]
            k = max(0, k - 2)
        else:
            k += 1
    return out


def find_swings(times_s: Array, values: Array, *, reversal: float) -> list[Swing]:
    """Return every swing of a driver whose turn is high.

    Parameters
    ----------
    times_s, values : ndarray, shape (N,)
        Finite driver.
    reversal : float
        Smallest change that makes a turn.

    Returns
    -------
    list of Swing
    """
    points = without_wobbles(turning_points(values, reversal), values)
    swings = []
    for k, (place, is_high) in enumerate(points):
        if not is_high:
            continue
        opens, closes = k > 0, k + 1 < len(points)
        before = points[k - 1][0] if opens else 0
        after = points[k + 1][0] if closes else len(values) - 1
        if not opens and values[place] - values[: place + 1].min() < reversal:
            before = 0
        guess = rough_ends(times_s, values, before, place, after)
        swings.append(Swing(before=before, turn=place, after=after, guess_s=guess, opens=opens, closes=closes))
    return swings


def rough_ends(t: Array, y: Array, before: int, turn: int, after: int) -> tuple[float, float, float, float]:
    """Return the rough start and end of both ways, seconds: where the driver passes 6 % and 94 % of the swing."""
    up, down = y[before : turn + 1], y[turn : after + 1]
    top = y[turn]
    out_size, back_size = max(top - y[before], 1e-9), max(top - y[after], 1e-9)
    low_out = before + _last(up <= y[before] + 0.06 * out_size)
    high_out = before + _first(up >= top - 0.06 * out_size)
    high_back = turn + _last(down >= top - 0.06 * back_size)
    low_back = turn + _first(down <= y[after] + 0.06 * back_size)
    return float(t[low_out]), float(t[high_out]), float(t[high_back]), float(t[low_back])


def _last(flags: NDArray[np.bool_]) -> int:
    return len(flags) - 1 - int(np.argmax(flags[::-1]))


def _first(flags: NDArray[np.bool_]) -> int:
    return int(np.argmax(flags))


OUT_OF_LINE = 0.25
"""A start end this share of the swing lower than the set's usual one is no start: the athlete was getting there."""


IN_LINE = 0.08
"""From here on it is the usual start level."""


def within_place(times_s: Array, values: Array, swings: list[Swing]) -> list[Swing]:
    """Cut off what lies before the first, or after the last, usual start level: getting into place and leaving it.

    Parameters
    ----------
    times_s, values : ndarray, shape (N,)
        Finite driver.
    swings : list of Swing
        At least two closed ones are needed to know what is usual.

    Returns
    -------
    list of Swing
    """
    lows = [values[i] for s in swings for i, there in ((s.before, s.opens), (s.after, s.closes)) if there]
    if len(lows) < 3:
        return swings
    usual = float(np.median(lows))
    out = []
    for s in swings:
        limit = usual - OUT_OF_LINE * max(float(values[s.turn]) - usual, 0.0)
        floor = usual - IN_LINE * max(float(values[s.turn]) - usual, 0.0)
        before, after = s.before, s.after
        if s.opens and values[before] < limit:
            before = before + int(np.flatnonzero(values[before : s.turn + 1] < floor)[-1]) + 1
        if s.closes and values[after] < limit:
            after = s.turn + int(np.flatnonzero(values[s.turn : after + 1] < floor)[0]) - 1
        if (before, after) == (s.before, s.after) or before >= s.turn or after <= s.turn:
            out.append(s)
            continue
        guess = rough_ends(times_s, values, before, s.turn, after)
        out.append(Swing(before=before, turn=s.turn, after=after, guess_s=guess, opens=s.opens, closes=s.closes))
    return out
