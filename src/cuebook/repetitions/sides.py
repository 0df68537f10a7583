"""Which swings belong to the set: of two limbs that move together one, and none of the second part of a movement."""

from __future__ import annotations

import numpy as np

from cuebook.model import Motion, Movement, Signal

from .drivers import DriverSeries
from .edges import Found

SURER_SHARE = 0.7
"""A limb seen twice as surely as the other one works if it swings at least this share of it (house choice)."""


def without_shadows(found: list[Found], movement: Movement, spread: dict[str, float]) -> list[Found]:
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


def usual_spread(motion: Motion, series: DriverSeries) -> float:
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


def within_second(found: list[Found], motion: Motion, movement: Movement) -> list[Found]:
    """Drop swings of the driver while the second driver is well on its way: they belong to that part."""
    driver = movement.driver
    if driver.second_signal is None:
        return found
    second = better(motion, driver.second_signal)
    known = second.trusted
    if not known.any():
        return found
    low, high = np.percentile(second.values[known], [10, 98])
    limit = low + 0.5 * (high - low)
    at = [float(np.interp(float(np.mean(f.edges[1:3])), second.times_s[known], second.values[known])) for f in found]
    raised = high - low >= (driver.second_min_swing or 0.0)
    return [f for f, value in zip(found, at, strict=True) if not (raised and value > limit)]


def better(motion: Motion, name: str) -> Signal:
    """Return the left or right signal of that name with the smaller uncertainty."""

    def spread(signal: Signal) -> float:
        return float(np.nanmedian(signal.sigma)) if np.isfinite(signal.sigma).any() else np.inf

    return min((motion.signals[f"{s}_{name}"] for s in ("left", "right")), key=spread)
