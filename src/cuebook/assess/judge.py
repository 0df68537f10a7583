"""The one decision rule: the chance that a limit holds, given a value and its uncertainty."""

from __future__ import annotations

from math import erf, inf, sqrt

import numpy as np

from cuebook.model import Limit, Measurement, Outcome, Settings


def normal_share(z: float) -> float:
    """Return the share of a normal distribution below `z` standard deviations."""
    if z in (inf, -inf):
        return 1.0 if z > 0 else 0.0
    return 0.5 * (1.0 + erf(z / sqrt(2.0)))


def chance_within(limit: Limit, value: float, uncertainty: float) -> float:
    """Return the chance that the true value lies within a limit.

    Parameters
    ----------
    limit : Limit
        The band; either end may be open.
    value, uncertainty : float
        Measured value and its standard uncertainty, in the unit of the limit. An uncertainty of 0 gives 0 or 1.

    Returns
    -------
    float
        Between 0 and 1.

    References
    ----------
    JCGM 106:2012, section 7 (conformance probability): Phi((T_U - y)/u) - Phi((T_L - y)/u).
    """
    low, high = limit.ends
    if uncertainty <= 0:
        return 1.0 if low <= value <= high else 0.0
    return normal_share((high - value) / uncertainty) - normal_share((low - value) / uncertainty)


def outcome_of(chance: float, settings: Settings) -> Outcome:
    """Return met, near or not_met for a chance.

    Parameters
    ----------
    chance : float
        Chance that the limit holds.
    settings : Settings
        Holds both deciding chances.
    """
    if chance >= settings.met_at:
        return "met"
    return "not_met" if chance <= settings.not_met_at else "near"


def pooled(measurements: list[Measurement]) -> tuple[float, float]:
    """Return the median of several measurements and its standard uncertainty.

    Parameters
    ----------
    measurements : list of Measurement
        At least one, of one measure and side.

    Returns
    -------
    value, uncertainty : float
        The part that differs between repetitions, their own noise and the spread that is seen, shrinks with the square
        root of their number; the part they share stays whole.
    """
    values = np.array([m.value for m in measurements])
    noise = float(np.sqrt(np.mean([m.noise**2 for m in measurements])))
    shared = float(np.sqrt(np.mean([m.shared**2 for m in measurements])))
    spread = float(np.std(values, ddof=1)) if len(values) > 1 else 0.0
    random = np.hypot(noise, spread) / np.sqrt(len(values))
    return float(np.median(values)), float(np.hypot(random, shared))


def count_chance(chances: list[float], wanted: int) -> float:
    """Return the chance that at least `wanted` of several doubtful repetitions count.

    Parameters
    ----------
    chances : list of float
        Chance of each repetition to count, taken as independent.
    wanted : int
        Prescribed number.

    Returns
    -------
    float
        Upper tail of the Poisson binomial distribution.
    """
    share = np.array([1.0])
    for p in chances:
        share = np.convolve(share, [1.0 - p, p])
    return float(min(1.0, share[wanted:].sum())) if wanted < len(share) else 0.0
