"""The course of one repetition, 0 at its start end and 1 at its turn, joined from all signals that keep time with it.

A driver may be read flat near its ends (a knee seen from the front, a trunk near neutral); the pelvis, the head or an
elbow that travels along is not. Which signals are joined, with what weights, and how each of them runs against the
true driver (its link) is learnt per movement and view on rendered clips; signals that do not move with the driver in
the clip at hand are left out.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Motion, Movement, View

from .curve import Link

Array = NDArray[np.float64]

FRONT_DEG = 20.0
"""A turn of the trunk filmed from within this of the front goes neither towards the camera nor away from it."""
SLANTS_DEG = (30.0, 60.0)
"""Degrees off the side view at which the class of views changes (house choice)."""
LEAST_SIZE = 0.3
"""A signal that moves less than this share of what it usually does is left out (house choice)."""
LEAST_AGREEMENT = 0.85
"""A signal less correlated with the driver than this is left out (house choice)."""
LEAST_WEIGHT = 0.35
"""Share of the learnt weights that must be left (house choice)."""
BEST_PERCENTILE = 90
"""The better repetitions of a set are those from this percentile of their sizes on."""
BESIDE_S = 0.6
"""How much of the stays beside a repetition tells the level at its start end."""
INWARD_PHASE_S, INWARD_POWER, MOST_LOST = 1.5, 0.5, 0.25
"""What is read too short grows faster than the phase itself, but is never more than a quarter of it (house choice; the
power lies between those of the practice sets)."""
LEAST_KNOWN = 0.95
"""Share of a repetition's frames in which a signal must be known (house choice)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CourseRow:
    """What was learnt about one movement in one class of views.

    Attributes
    ----------
    channels : tuple of str
        Names of signals, none where the driver or a course of the picture tells the time alone; ``W_`` and ``O_``
        stand for the working and the other side, ``N_`` and ``F_`` for the side towards the camera and the far one.
    weights : ndarray, shape (C,)
        Add up to 1.
    sizes : ndarray, shape (C,)
        How far each usually moves, in its unit.
    links : ndarray, shape (C, K)
        Value of each, 0 at the start end and 1 at the turn, where the true driver has come the share `Link.knots`.
    spread : tuple of float
        Standard uncertainty of an end at the start end and of one at the turn, in shares of the phase, on clips apart
        from those the row was learnt on.
    inward : tuple of float
        How far inside the phase the same ends are read, in shares of a phase of `INWARD_PHASE_S`; what begins slowly
        is seen late. Longer phases lose more, see :func:`lost_s`.
    clips : int
        Number of clips behind the row.
    """

    channels: tuple[str, ...]
    weights: Array
    sizes: Array
    links: Array
    spread: tuple[float, float]
    inward: tuple[float, float]
    clips: int


def lost_s(inward: tuple[float, float], way_s: float) -> tuple[float, float]:
    """Return what a phase read as `way_s` seconds long has lost at the start end and at the turn, seconds."""
    longer = way_s * (way_s / INWARD_PHASE_S) ** INWARD_POWER
    return tuple(float(np.clip(share * longer, -MOST_LOST * way_s, MOST_LOST * way_s)) for share in inward)


@lru_cache(maxsize=1)
def _table() -> dict[str, CourseRow]:
    text = files("cuebook.repetitions").joinpath("course_table.json").read_text(encoding="utf-8")
    return {
        key: CourseRow(
            channels=tuple(row["channels"]),
            weights=np.array(row["weights"]),
            sizes=np.array(row["sizes"]),
            links=np.array(row["links"]),
            spread=tuple(row["spread"]),
            inward=tuple(row.get("inward", (0.0, 0.0))),
            clips=row["clips"],
        )
        for key, row in json.loads(text)["rows"].items()
    }


def forget_table() -> None:
    """Read the table anew at the next use: for those who learn it."""
    _table.cache_clear()


def view_class(movement: Movement, view: View, side: str) -> str:
    """Return the class of views in which signals keep the same time with a driver.

    Parameters
    ----------
    movement : Movement
        Turns of the trunk have the classes ``near`` (turned to the side that faces the camera), ``far`` and ``front``;
        all others ``side``, ``slant`` and ``across``.
    view : View
        View of the clip.
    side : {"left", "right", "both"}
        Working side.
    """
    if movement.driver.signal == "trunk_rotation":
        if abs(view.azimuth_deg) < FRONT_DEG:
            return "front"
        return "near" if (view.azimuth_deg > 0) == (side == "left") else "far"
    off = abs(90.0 - abs(view.azimuth_deg))
    return "side" if off < SLANTS_DEG[0] else "slant" if off < SLANTS_DEG[1] else "across"


def course_row(movement: Movement, view: View, side: str) -> CourseRow | None:
    """Return what was learnt about a movement, view and side; None where nothing was."""
    return _table().get(f"{movement.name}/{view_class(movement, view, side)}")


def signal_name(channel: str, view: View, side: str) -> str:
    """Return the name of the signal that a channel stands for in a clip."""
    prefix, _, rest = channel.partition("_")
    own = side if side in ("left", "right") else view.facing if view.facing in ("left", "right") else "left"
    other = "right" if own == "left" else "left"
    return {"W": f"{own}_{rest}", "N": f"{own}_{rest}", "O": f"{other}_{rest}", "F": f"{other}_{rest}"}.get(
        prefix, channel
    )


def ends_levels(times: Array, values: Array, edges_s: tuple[float, ...] | Array) -> tuple[float, float] | None:
    """Return the level of a signal at the start end and at the turn, None where either cannot be told.

    Parameters
    ----------
    times, values : ndarray, shape (N,)
        The signal over one repetition with some of the stays beside it.
    edges_s : four floats
        Ends of the moving phases.
    """
    rest = (times <= edges_s[0] + 0.03) | (times >= edges_s[3] - 0.03)
    turn = (times >= edges_s[1] - 0.07) & (times <= edges_s[2] + 0.07)
    if not rest.any() or not turn.any():
        return None
    return float(np.nanmedian(values[rest])), float(np.nanmedian(values[turn]))


def joined_course(
    motion: Motion,
    row: CourseRow,
    side: str,
    *,
    times: Array,
    known_s: Array,
    driver: Array,
    edges_s: tuple[float, ...] | Array,
) -> tuple[Array, Link] | None:
    """Join the signals of one repetition to a course from 0 to 1.

    Parameters
    ----------
    motion : Motion
        All signals.
    row : CourseRow
        Which to join and how.
    side : {"left", "right", "both"}
        Working side.
    times : ndarray, shape (N,)
        Instants of one repetition with some of the stays beside it.
    known_s, driver : ndarray, shape (M,)
        Instants at which the driver is known, and the driver there, its turn high.
    edges_s : four floats
        First estimate of the ends of the moving phases.

    Returns
    -------
    tuple of ndarray, shape (N,), and Link, or None
        The course and how it runs against the true driver; None where too few signals move with the driver.
    """
    both = known_s[(known_s >= times[0]) & (known_s <= times[-1])]
    there = np.interp(both, known_s, driver)
    total, weight, link = np.zeros(len(times)), 0.0, np.zeros(len(Link.knots))
    for channel, share, usual, runs in zip(row.channels, row.weights, row.sizes, row.links, strict=True):
        signal = motion.signals.get(signal_name(channel, motion.view, side))
        values = None if signal is None else _at(signal.times_s, signal.values, times)
        levels = None if values is None else ends_levels(times, values, edges_s)
        if values is None or levels is None or abs(levels[1] - levels[0]) < LEAST_SIZE * usual:
            continue
        course = (values - levels[0]) / (levels[1] - levels[0])
        if np.corrcoef(np.interp(both, times, course), there)[0, 1] < LEAST_AGREEMENT:
            continue
        total, weight, link = total + share * course, weight + share, link + share * runs
    if weight < LEAST_WEIGHT:
        return None
    return total / weight, Link(link / weight)


def _at(times_s: Array, values: Array, wanted_s: Array) -> Array | None:
    """Read a signal at some instants, None where too many of them fall on frames without a value."""
    inside = (times_s >= wanted_s[0] - 1e-6) & (times_s <= wanted_s[-1] + 1e-6)
    known = inside & np.isfinite(values)
    if known.sum() < LEAST_KNOWN * inside.sum() or known.sum() < 12:
        return None
    return np.interp(wanted_s, times_s[known], values[known])


def course_sizes(
    motion: Motion, row: CourseRow, side: str, edges_s: tuple[float, ...] | Array
) -> dict[str, tuple[float, float, Link]]:
    """Return how far each joined signal goes in one repetition.

    Parameters
    ----------
    motion, row, side, edges_s
        As in :func:`joined_course`.

    Returns
    -------
    dict of str to tuple
        By channel: its weight, its size in shares of its usual one, and its link. The size is that of the smaller of
        its two ways: the other may begin where the body still comes back from elsewhere.
    """
    inside = (motion.times_s >= edges_s[0] - BESIDE_S) & (motion.times_s <= edges_s[3] + BESIDE_S)
    times, out = motion.times_s[inside], {}
    for channel, weight, usual, runs in zip(row.channels, row.weights, row.sizes, row.links, strict=True):
        signal = motion.signals.get(signal_name(channel, motion.view, side))
        values = None if signal is None or len(times) < 12 else _at(signal.times_s, signal.values, times)
        if values is None:
            continue
        middle = (edges_s[1] + edges_s[2]) / 2
        parts = times <= middle, times >= middle
        levels = [found for part in parts if (found := ends_levels(times[part], values[part], edges_s)) is not None]
        if levels:
            out[channel] = (float(weight), min(abs(turn - rest) for rest, turn in levels) / float(usual), Link(runs))
    return out


def shares_of_best(sizes: list[dict[str, tuple[float, float, Link]]]) -> list[float | None]:
    """Return how far the driver goes in each repetition as a share of the set's better ones, by the joined signals.

    Parameters
    ----------
    sizes : list of dict
        Of each repetition, from :func:`course_sizes`; empty where nothing is known of it.

    Returns
    -------
    list of float or None
        Each signal's size is read back through its link, so that one that is flat near rest is not taken for small.
    """
    channels = {c for rep in sizes for c in rep}
    best = {c: float(np.percentile([rep[c][1] for rep in sizes if c in rep], BEST_PERCENTILE)) for c in channels}
    out: list[float | None] = []
    for rep in sizes:
        known = [(w, link.driver_share(min(1.0, size / max(best[c], 1e-9)))) for c, (w, size, link) in rep.items()]
        total = sum(w for w, _ in known)
        out.append(sum(w * share for w, share in known) / total if total >= LEAST_WEIGHT else None)
    return out
