"""The shape of one repetition, fitted as a whole, so that one noisy frame cannot decide when a phase begins or ends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .curve import SIZE, Link, edges_of_curve, fallen, levels_of, seen, split, step, step_slopes

Array = NDArray[np.float64]

EXPONENT_RANGE = (1.0, 6.0)
LONGEST_FIT = 140
"""More samples than this per repetition are averaged in pairs and so on: neighbours are correlated anyway."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shape:
    """Ends of the two moving phases of one repetition.

    Attributes
    ----------
    edges_s : ndarray, shape (4,)
        Start and end of the way out, start and end of the way back, seconds.
    edges_u_s : ndarray, shape (4,)
        Standard uncertainty of each, seconds.
    levels : ndarray, shape (3,)
        Level before, at the turn and after, in the driver's unit.
    levels_u : ndarray, shape (3,)
        Standard uncertainty of each.
    exponents : ndarray, shape (4,)
        Ease-in and ease-out of the way out and of the way back.
    residual : float
        Root mean square of driver less fit.
    parts : int
        Number of beta curves per phase.
    params : ndarray
        All fitted numbers, to start a second fit from.
    """

    edges_s: Array
    edges_u_s: Array
    levels: Array
    levels_u: Array
    exponents: Array
    residual: float
    parts: int
    params: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ExponentPrior:
    """What is known of the four exponents before the fit, on a logarithmic scale."""

    mean: Array
    width: float


WIDE_PRIOR = ExponentPrior(mean=np.full(4, np.log(2.4)), width=0.55)
"""Weak preference for human-like ease-in and ease-out; wide enough to reach constant speed and minimum jerk."""


def fit_shape(
    times_s: Array,
    values: Array,
    *,
    guess_s: tuple[float, float, float, float],
    noise: float | Array,
    correlation_s: float,
    prior: ExponentPrior = WIDE_PRIOR,
    link: Link | None = None,
) -> Shape | None:
    """Fit the way out and the way back of one repetition, the turn being high.

    Parameters
    ----------
    times_s, values : ndarray, shape (N,)
        Driver over the repetition with some of the stay on both sides, finite.
    guess_s : tuple of float
        Rough start and end of the way out, start and end of the way back, seconds.
    noise : float or ndarray, shape (N,)
        Standard deviation of the driver's noise, in its unit; where it differs, surer samples weigh more.
    correlation_s : float
        Time over which the noise is correlated; samples nearer than that do not count as independent.
    prior : ExponentPrior
        What the other repetitions of the set say about the exponents.
    link : Link, optional
        How the values run while the true driver goes from its start end to its turn; without it they are the driver.

    Returns
    -------
    Shape or None
        None where there are too few samples.
    """
    t, y = _thin(times_s, values)
    _, sigma = _thin(times_s, np.broadcast_to(noise, np.shape(values)))
    if len(t) < 12:
        return None
    noise = float(np.sqrt(1.0 / np.mean(1.0 / sigma**2)))
    weight = np.sqrt(max(1.0, correlation_s / float(np.median(np.diff(t)))))
    best = _solve(t, y, guess_s, sigma * weight, prior, link, parts=1)
    if best.rms > 1.4 * noise:
        two = _solve(t, y, guess_s, sigma * weight, prior, link, parts=2, start=best.params)
        if two.rms < 0.75 * best.rms:
            best = two
    edges = edges_of_curve(best.params, best.parts)
    draws = _draw(best, max(1.0, (best.rms / max(noise, 1e-9)) ** 2))
    spread = np.std([edges_of_curve(d, best.parts) for d in draws], axis=0) if len(draws) else np.full(4, 0.1)
    levels = levels_of(best.params)
    level_spread = np.std([levels_of(d) for d in draws], axis=0) if len(draws) else np.full(3, noise)
    n = SIZE[best.parts]
    return Shape(edges_s=edges, edges_u_s=spread, levels=levels, levels_u=level_spread, residual=best.rms,
                 parts=best.parts, params=best.params,
                 exponents=best.params[[5, 6, 5 + n, 6 + n]])  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class _Fit:
    params: Array
    jac: Array
    rms: float
    parts: int


def _thin(t: Array, y: Array) -> tuple[Array, Array]:
    """Average neighbours until there are at most `LONGEST_FIT` samples."""
    k = int(np.ceil(len(t) / LONGEST_FIT))
    if k <= 1:
        return t, y
    n = len(t) // k * k
    return t[:n].reshape(-1, k).mean(axis=1), y[:n].reshape(-1, k).mean(axis=1)


def _solve(
    t: Array,
    y: Array,
    guess: tuple,
    noise: Array,
    prior: ExponentPrior,
    link: Link | None,
    *,
    parts: int,
    start: Array | None = None,
) -> _Fit:
    """Least squares with a prior on the exponents."""
    from scipy.optimize import least_squares

    low, high, x0 = _box(t, y, guess, parts, start)
    n = SIZE[parts]
    places = np.array([5, 6, 5 + n, 6 + n])
    means = prior.mean
    if parts == 2:
        places = np.concatenate([places, [7, 8, 7 + n, 8 + n]])
        means = np.concatenate([means, WIDE_PRIOR.mean])

    def residuals(x: Array) -> Array:
        levels, out, back = split(x, parts)
        fit = levels[0] + levels[1] * seen(link, step(t, out)) - levels[2] * fallen(link, step(t, back))
        return np.concatenate([(fit - y) / noise, (np.log(x[places]) - means) / prior.width])

    def jacobian(x: Array) -> Array:
        levels, out, back = split(x, parts)
        rise, fall = step(t, out), step(t, back)
        by_out, by_back = step_slopes(t, out, rise), step_slopes(t, back, fall)
        if link is not None:
            by_out *= link.slope(rise)[:, None]
            by_back *= link.slope(1.0 - fall)[:, None]
        rise, fall = seen(link, rise), fallen(link, fall)
        full = np.zeros((len(t) + len(places), len(x)))
        top = full[: len(t)]
        top[:, 0], top[:, 1], top[:, 2] = 1.0, rise, -fall
        top[:, 3 : 3 + n] = levels[1] * by_out
        top[:, 3 + n :] = -levels[2] * by_back
        top[:, 3] -= levels[2] * by_back[:, 0]
        top[:, 4] -= levels[2] * by_back[:, 0]
        top /= noise[:, None]
        full[len(t) + np.arange(len(places)), places] = 1.0 / (x[places] * prior.width)
        return full

    result = least_squares(residuals, x0, jac=jacobian, bounds=(low, high), x_scale=np.maximum(np.abs(x0), 0.1),
                           max_nfev=25 if parts == 1 else 40, ftol=1e-4, xtol=1e-4)  # fmt: skip
    typical = float(np.sqrt(1.0 / np.mean(1.0 / noise**2)))
    rms = float(np.sqrt(np.mean(residuals(result.x)[: len(t)] ** 2))) * typical
    return _Fit(result.x, jacobian(result.x), rms, parts)


def _box(t: Array, y: Array, guess: tuple, parts: int, start: Array | None) -> tuple[Array, Array, Array]:
    """Return lower and upper bounds and a starting point."""
    swing, span = max(float(np.ptp(y)), 1e-6), t[-1] - t[0]
    base, top = float(np.percentile(y, 5)), float(np.percentile(y, 98))
    if start is None:
        g = np.asarray(guess, float)
        x0 = [base, top - base, top - base, g[0], max(g[1] - g[0], 0.1), 2.4, 2.4]
        x0 += [max(g[2] - g[1], 0.01), max(g[3] - g[2], 0.1), 2.4, 2.4]
    else:
        inner = [2.4, 2.4, 0.6, 0.6, 0.5]
        x0 = [*start[:7], *inner, *start[7:11], *inner]
    e = EXPONENT_RANGE
    extra = ([e[0], e[0], 0.15, 0.15, 0.12], [e[1], e[1], 1.0, 1.0, 0.88]) if parts == 2 else ([], [])
    low = [
        base - swing,
        0.05 * swing,
        0.05 * swing,
        t[0] - 0.3,
        0.08,
        e[0],
        e[0],
        *extra[0],
        0.0,
        0.08,
        e[0],
        e[0],
        *extra[0],
    ]
    high = [
        top + swing,
        2 * swing,
        2 * swing,
        t[-1],
        span,
        e[1],
        e[1],
        *extra[1],
        span,
        span + 0.3,
        e[1],
        e[1],
        *extra[1],
    ]
    seen = float(y.max()) - float(y[t >= min(guess[2], t[-1])].min())
    high[2] = max(1.1 * seen, 0.1 * swing)
    bounds = np.array(low), np.array(high)
    room = bounds[1] - bounds[0]
    return *bounds, np.clip(np.array(x0, float), bounds[0] + 1e-6 * room, bounds[1] - 1e-6 * room)


def _draw(fit: _Fit, inflate: float, count: int = 24) -> list[Array]:
    """Draw parameter sets from the fit's covariance; seeded, so repeatable."""
    information = fit.jac.T @ fit.jac / inflate
    ridge = np.diag(np.maximum(np.diag(information), 1e-9)) * 1e-6
    try:
        root = np.linalg.cholesky(np.linalg.inv(information + ridge))
    except np.linalg.LinAlgError:
        return []
    n = SIZE[fit.parts]
    low = np.full(len(fit.params), -np.inf)
    high = np.full(len(fit.params), np.inf)
    for k in (3, 3 + n):
        low[k + 1] = 0.05
        low[k + 2 : k + 4], high[k + 2 : k + 4] = EXPONENT_RANGE
        if fit.parts == 2:
            low[k + 4 : k + 6], high[k + 4 : k + 6] = EXPONENT_RANGE
            low[k + 6 : k + 9], high[k + 6 : k + 9] = 0.1, (1.0, 1.0, 0.9)
    low[3 + n] = 0.0
    steps = np.random.default_rng(7).standard_normal((count, len(fit.params))) @ root.T
    return [fit.params + _largest(fit.params, step, low, high) * step for step in steps]


def _largest(start: Array, step: Array, low: Array, high: Array) -> float:
    """Share of a step, at most 1, that stays inside the bounds; a step off a bound is turned round instead."""
    with np.errstate(divide="ignore", invalid="ignore"):
        room = np.where(step > 0, (high - start) / step, np.where(step < 0, (low - start) / step, np.inf))
        other = np.where(step < 0, (high - start) / -step, np.where(step > 0, (start - low) / step, np.inf))
    ahead, behind = float(np.min(room)), float(np.min(other))
    return min(1.0, ahead) if ahead >= behind else -min(1.0, behind)
