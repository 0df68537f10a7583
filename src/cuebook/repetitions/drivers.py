"""The driver of a movement, per side, and the part of the clip in which the athlete is in place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Motion, Movement, Signal

Array = NDArray[np.float64]

PLACE_TRUNKS = {"standing": 0.85, "prone": 0.9, "supine": 0.8, "side-lying": 0.8}
"""How far the pelvis may travel from its usual place, in trunk lengths, by position (house choice)."""
SCALE_BAND = (0.70, 1.40)
"""Apparent size of the body against the clip's median outside which the athlete walks to or from the phone."""
SHORTEST_SET_S = 1.0
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
    """

    side: str
    values: Array
    noise: Array
    signals: tuple[str, ...]
    neutral: float | None = None


def in_place(motion: Motion, movement: Movement) -> NDArray[np.bool_]:
    """Return the frames in which the athlete is where the set is done, neither getting there nor leaving.

    Parameters
    ----------
    motion : Motion
        Must hold the signals ``pelvis_across``, ``body_scale`` and ``trunk_tilt``.
    movement : Movement
        Its position decides how the trunk must lie.

    Returns
    -------
    ndarray of bool, shape (F,)
    """
    times = motion.times_s
    across, scale, tilt = (motion.signals[n].values for n in ("pelvis_across", "body_scale", "trunk_tilt"))
    known = np.isfinite(across) & np.isfinite(scale) & np.isfinite(tilt)
    if known.sum() < 5:
        return known
    centre, size = _mode(across[known]), float(np.median(scale[known]))
    fits = known & (np.abs(across - centre) < PLACE_TRUNKS[movement.family])
    fits &= (scale > SCALE_BAND[0] * size) & (scale < SCALE_BAND[1] * size)
    if movement.family == "standing":
        fits &= tilt < 75.0
    elif movement.name != "push-up-to-inverted-v" and not motion.view.name.endswith("-end"):
        fits &= tilt > 40.0
    return _longest(times, fits)


def _mode(values: Array) -> float:
    """Return the middle of the narrowest interval that holds half of the values."""
    v = np.sort(values)
    half = max(1, len(v) // 2)
    widths = v[half:] - v[: len(v) - half]
    k = int(np.argmin(widths))
    return float((v[k] + v[k + half]) / 2)


def _longest(times: Array, flags: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Keep the stretch that holds most frames, bridging breaks of up to one second."""
    out = np.zeros_like(flags)
    places = np.flatnonzero(flags)
    if places.size == 0:
        return out
    breaks = np.flatnonzero(np.diff(times[places]) > 1.0)
    groups = np.split(places, breaks + 1)
    best = max(groups, key=len)
    if times[best[-1]] - times[best[0]] >= SHORTEST_SET_S:
        out[best[0] : best[-1] + 1] = True
    return out


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
    if driver_hidden(motion, movement):
        return _by_main_motion(motion, movement, place)
    if driver.signal in motion.signals:
        return _signed(motion.signals[driver.signal], movement, place)
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


def _by_main_motion(motion: Motion, movement: Movement, place: NDArray[np.bool_]) -> list[DriverSeries]:
    """Follow what moves most, where the driver itself cannot be seen: it counts and times, and is never judged.

    Its usual swing is set to twice the movement's smallest one, and its side is the one that the movement asks for
    first.
    """
    if "picture_motion" in motion.signals:
        return [_by_picture(motion, movement, place)]
    signal = motion.signals.get("main_motion")
    if signal is None:
        return []
    values = np.where(place, signal.values, np.nan)
    known = np.flatnonzero(np.isfinite(values))
    if known.size < 15:
        return []
    start = float(np.median(values[known[: max(3, known.size // 20)]]))
    away = values - start
    high, low = np.nanpercentile(away, 97), np.nanpercentile(away, 3)
    away = away if high >= -low else -away
    size = max(float(high), float(-low), 1e-6)
    noise = np.full(len(values), 0.04 * movement.driver.min_swing)
    return [DriverSeries(side=_shown_side(motion, movement), values=2.0 * movement.driver.min_swing * away / size,
                         noise=noise, signals=("main_motion",))]  # fmt: skip


def _by_picture(motion: Motion, movement: Movement, place: NDArray[np.bool_]) -> DriverSeries:
    """Follow the course of the picture; lying, the place cannot be told from landmarks that fail."""
    signal = motion.signals["picture_motion"]
    scale = movement.driver.min_swing / COUNTED_SHARE
    there = place if movement.family == "standing" else np.ones_like(place)
    return DriverSeries(side=_shown_side(motion, movement), values=np.where(there, scale * signal.values, np.nan),
                        noise=scale * signal.noise, signals=(signal.name,))  # fmt: skip


def _shown_side(motion: Motion, movement: Movement) -> str:
    """Return the side that works when the driver does not tell: the one towards the camera, else the left."""
    return motion.view.facing if motion.view.facing in ("left", "right") else "left"
