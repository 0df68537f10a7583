"""The driver of a movement, per side."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Motion, Movement, Signal
from cuebook.motion import in_place

Array = NDArray[np.float64]

UNSURE_SHARE = 0.3
"""Shared spread of a driver, as a share of the smallest swing, from which the course of the body counts better."""
SIGNED_UNSURE_SHARE = 0.5
"""The same for a driver with a fixed neutral, which needs no start level of its own (house choice)."""
LEAST_TRUSTED = 0.85
"""Share of the set in which a driver must be trusted to count alone (house choice)."""
COURSE_EDGE_U_S = 0.15
"""Standard uncertainty of an edge read from a course instead of the movement's own angle (house choice)."""
UPPER_SHARE = 0.6
"""Share of frames in which one side must lie above the other to be called the upper one (house choice; on 22 rendered
clips of side lying it was the right one in 62 % of the frames or more, usually in all)."""
COUNTED_SHARE = 0.52
"""Share of the set's usual way from which one counts where only the course of the picture is known (house choice,
between a half repetition and a shallow one)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DriverSeries:
    """A driver oriented so that its turn is high.

    Attributes
    ----------
    side : {"left", "right", "both"}
        Whose.
    values : ndarray, shape (F,)
        Oriented values, NaN outside the set or where not measured.
    noise : ndarray, shape (F,)
        Standard deviation of its noise, independent part.
    signals : tuple of str
        Names of the signals it comes from.
    neutral : float or None
        Value at the start end where that is fixed; otherwise every repetition has a start level of its own.
    scale : float
        Units of the driver per unit of its signals.
    edge_u_s : float
        Standard uncertainty of when phases start and end, from the driver not being the movement's own angle.
    """

    side: str
    values: Array
    noise: Array
    signals: tuple[str, ...]
    neutral: float | None = None
    scale: float = 1.0
    edge_u_s: float = 0.0


def driver_series(motion: Motion, movement: Movement, place: NDArray[np.bool_]) -> list[DriverSeries]:
    """Return the driver of each side that the movement tells apart.

    Parameters
    ----------
    motion : Motion
        Signals of the clip.
    movement : Movement
        Its driver and side rule.
    place : ndarray of bool, shape (F,)
        Frames of the set.

    Returns
    -------
    list of DriverSeries
        One for movements of both limbs, up to two for one-sided, alternating and signed drivers. Empty where the
        driver is not measurable at all.
    """
    driver = movement.driver
    if driver_hidden(motion, movement) or _unsure(motion, movement, place):
        course = _by_course(motion, movement, place)
        if course or driver_hidden(motion, movement):
            return course
    if driver.signal in motion.signals:
        signal = motion.signals[driver.signal]
        return _signed_course(motion, movement, signal, place) or _signed(signal, movement, place)
    left, right = (motion.signals[f"{s}_{driver.signal}"] for s in ("left", "right"))
    sign = -1.0 if driver.turn == "low" else 1.0
    if movement.sides == "both":
        return [_both(left, right, place, sign)] if _any(left) or _any(right) else []
    if movement.sides == "one" and "front_leg" in motion.signals and "lunge" in movement.patterns:
        return _front_leg(motion, left, right, place, sign)
    return [
        DriverSeries(
            side=s, values=np.where(place & x.trusted, sign * x.values, np.nan), noise=x.noise, signals=(x.name,)
        )
        for s, x in (("left", left), ("right", right))
        if _any(x)
    ]


def driver_hidden(motion: Motion, movement: Movement) -> bool:
    """Return whether a movement's own driver, one without sides, cannot be seen, so that only the course of all counts.

    The signal ``picture_motion`` then tells that course best, see `cuebook.motion.with_picture_motion`.
    """
    signal = motion.signals.get(movement.driver.signal)
    return signal is not None and (movement.family == "side-lying" or not _any(signal))


def driver_doubted(motion: Motion, movement: Movement) -> bool:
    """Return whether a good part of a sided driver lies in doubtful stretches, so that the picture counts better."""
    working = _working(motion, movement, in_place(motion, movement))
    return bool(working) and max(share for _, share in working) < LEAST_TRUSTED


def _unsure(motion: Motion, movement: Movement, place: NDArray[np.bool_]) -> bool:
    """Whether the driver is so unsure that the course of the body, or of the picture, counts better."""
    working = _working(motion, movement, place)
    if not any(share > 0 for _, share in working) or movement.driver.second_signal is not None:
        return False
    doubted = max(share for _, share in working) < LEAST_TRUSTED and "picture_motion" in motion.signals
    return doubted or min(spread for spread, _ in working) > UNSURE_SHARE * movement.driver.min_swing


def _working(motion: Motion, movement: Movement, place: NDArray[np.bool_]) -> list[tuple[float, float]]:
    """Return for the limbs that drive a movement of both limbs, or of a known one, shared spread and trusted share."""
    driver = movement.driver
    if driver.signal in motion.signals or movement.sides == "alternating" or not place.any():
        return []
    sides = ("left", "right") if movement.sides == "both" else tuple(filter(None, [_leading(motion, place)]))
    out = []
    for signal in (motion.signals[f"{s}_{driver.signal}"] for s in sides):
        known = place & signal.trusted
        out.append((float(np.median(signal.shared[known])) if known.any() else np.inf, known.sum() / place.sum()))
    return out


def _leading(motion: Motion, place: NDArray[np.bool_]) -> str | None:
    """Return the leg that stands in front for most of the set, None where that changes."""
    if "front_leg" not in motion.signals:
        return None
    lead = motion.signals["front_leg"].values
    lead = lead[place & np.isfinite(lead)]
    share = float(np.mean(lead > 0)) if lead.size else 0.5
    return "left" if share > 0.8 else "right" if share < 0.2 else None


def _any(signal: Signal) -> bool:
    return bool(signal.trusted.sum() > 10)


def _both(left: Signal, right: Signal, place: NDArray[np.bool_], sign: float) -> DriverSeries:
    """Weigh both limbs by their uncertainty; a limb not measured in a frame leaves the other alone."""
    sigma = [float(np.nanmedian(x.sigma)) if _any(x) else np.inf for x in (left, right)]
    if min(sigma) < 0.75 * max(sigma):
        best = (left, right)[int(np.argmin(sigma))]
        values, noise, names = np.where(best.trusted, best.values, np.nan), best.noise, (best.name,)
    else:
        values = np.where(left.trusted & right.trusted, (left.values + right.values) / 2, np.nan)
        values = np.where(left.trusted & ~right.trusted, left.values, values)
        values = np.where(right.trusted & ~left.trusted, right.values, values)
        noise = np.hypot(left.noise, right.noise) / 2
        names = (left.name, right.name)
    return DriverSeries(side="both", values=np.where(place, sign * values, np.nan), noise=noise, signals=names)


def _signed(signal: Signal, movement: Movement, place: NDArray[np.bool_]) -> list[DriverSeries]:
    """Split a signed driver at its neutral into an excursion to the left and one to the right."""
    if not _any(signal):
        return []
    values = np.where(place & signal.trusted, signal.values, np.nan)
    neutral = 0.0
    out = []
    for side, sign in (("left", 1.0), ("right", -1.0)):
        turned = np.where(np.isfinite(values), np.maximum(sign * (values - neutral), 0.0), np.nan)
        out.append(DriverSeries(side=side, values=turned, noise=signal.noise, signals=(signal.name,),
                                neutral=neutral))  # fmt: skip
    return out


def _signed_course(motion: Motion, movement: Movement, signal: Signal, place: NDArray[np.bool_]) -> list[DriverSeries]:
    """Follow the course of the body where a signed driver is too unsure; the driver still tells the side of each way.

    Returns nothing where the driver is sure enough, or moves too little on a way to tell its side.
    """
    known = place & signal.trusted
    if not known.any() or np.median(signal.shared[known]) < SIGNED_UNSURE_SHARE * movement.driver.min_swing:
        return []
    course = _by_course(motion, movement, place)
    if not course:
        return []
    way = course[0].values / course[0].scale
    rest = known & (way < 0.15)
    turned = signal.values - (float(np.median(signal.values[rest])) if rest.any() else 0.0)
    far = np.flatnonzero(known & (way > 0.25))
    ways = [w for w in np.split(far, np.flatnonzero(np.diff(far) > 1) + 1) if w.size]
    mean = np.array([float(np.mean(turned[w][way[w] >= 0.7 * way[w].max()])) for w in ways])
    if not len(mean):
        return []
    enough = 0.25 * float(np.percentile(np.abs(mean), 75))
    out = []
    for side, sign in (("left", 1.0), ("right", -1.0)):
        values = course[0].values.copy()
        for w, m in zip(ways, mean, strict=True):
            if sign * m < enough:
                values[w] = np.minimum(values[w], 0.25 * course[0].scale)
        out.append(replace(course[0], side=side, values=values))
    return out


def _front_leg(
    motion: Motion, left: Signal, right: Signal, place: NDArray[np.bool_], sign: float
) -> list[DriverSeries]:
    """Follow the knee of the leg that stands in front; the other one bends too and is no repetition of its own."""
    lead = motion.signals["front_leg"].values
    step = float(np.median(np.diff(motion.times_s)))
    width = max(3, round(1.5 / step))
    filled = np.where(np.isfinite(lead) & place, lead, 0.0)
    steady = np.convolve(filled, np.ones(width) / width, mode="same")
    out = []
    for side, x, front in (("left", left, steady > 0), ("right", right, steady < 0)):
        if _any(x) and (front & place).sum() > 10:
            values = np.where(place & front & x.trusted, sign * x.values, np.nan)
            out.append(DriverSeries(side=side, values=values, noise=x.noise, signals=(x.name,)))
    return out


def _by_course(motion: Motion, movement: Movement, place: NDArray[np.bool_]) -> list[DriverSeries]:
    """Follow how far the whole movement has gone along its own way: it counts and times, and is never judged.

    A way counts from a share of the set's usual one. The picture tells the course where there is one; lying, the
    place cannot be told from landmarks that fail.
    """
    signal = motion.signals.get("picture_motion", motion.signals.get("body_motion"))
    if signal is None or not _any(signal):
        return []
    side = "both" if movement.sides == "both" else _shown_side(motion, movement)
    if "lunge" in movement.patterns:
        side = _leading(motion, place) or side
    scale = movement.driver.min_swing / COUNTED_SHARE
    there = np.ones_like(place) if signal.name == "picture_motion" and movement.family != "standing" else place
    return [DriverSeries(side=side, values=np.where(there, scale * signal.values, np.nan), noise=scale * signal.noise,
                         signals=(signal.name,), scale=scale, edge_u_s=COURSE_EDGE_U_S)]  # fmt: skip


def _shown_side(motion: Motion, movement: Movement) -> str:
    """Return the side that works when the driver does not tell: lying on the other side, or towards the camera.

    Where neither can be told it is ``both``: a side is never guessed.
    """
    if movement.family == "side-lying":
        above = motion.signals["upper_side"].values
        above = above[np.isfinite(above)]
        share = float(np.mean(above > 0)) if above.size else 0.5
        return "left" if share >= UPPER_SHARE else "right" if share <= 1.0 - UPPER_SHARE else "both"
    return motion.view.facing if motion.view.facing in ("left", "right") else "both"
