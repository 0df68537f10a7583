"""What the pose model reads wrongly on average, per joint, position, view and limb, and how much that varies.

The table is learnt on rendered bodies and cameras that no test uses. Its spread is never smaller than the one published
for real people, so that the good behaviour of rendered figures does not pass for the accuracy on a phone clip.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Movement

Array = NDArray[np.float64]

VIEW_BINS: tuple[tuple[str, float], ...] = (("side", 22.0), ("slant", 42.0), ("oblique", 65.0), ("across", 91.0))
"""Names and upper ends of the ranges of degrees off the side view."""
LEVELS_DEG = (30.0, 75.0)
"""The spread is kept apart below, between and above these corrected angles."""
PUBLISHED_SPREAD_DEG = {
    "knee_flexion": 3.5,
    "hip_flexion": 3.5,
    "elbow_flexion": 6.4,
    "shoulder_flexion": 6.4,
    "body_line": 3.5,
}
"""Smallest standard uncertainty for a person in close-fitting clothes seen from the side.

Cosoli, Arnesano & Scalise 2026 (metrological characterisation of a single-camera pose model, squat, against inertial
sensors): 1.6 +- 3.5 deg for the knee in the side view with tight trousers, -2.3 +- 6.4 deg over all clothing. No such
figure was found for the other joints: the hip borrows the first, arms, which hide in sleeves and before the trunk,
the second.
"""
IDLE_ARM_SPREAD_DEG = {
    "elbow_flexion": {"side": 15.0, "slant": 15.0, "oblique": 15.0, "across": 15.0},
    "shoulder_flexion": {"side": 6.4, "slant": 7.5, "oblique": 9.0, "across": 15.0},
}
"""Smallest standard uncertainty of arms that have no task, by range of views: they may be held in more ways than any
table has seen, and from the front an arm lifted forwards points at the camera."""
LARGEST_CORRECTION_DEG = 35.0
AHEAD_DEG, FURTHEST_AHEAD = 20.0, 2.25
"""The signed angle off the side view enters the correction in this unit, up to the second number of them."""
SMALL_SAMPLE, FOLDED_SAMPLE = 4.0, 1.0
"""A spread that rests on n bodies is widened by the square root of 1 + 4/n, as the 95 % point of Student's t with n - 1
degrees of freedom is wider than the normal one from five bodies on (JCGM 100:2008, table G.2: 1.42 for 5, 1.15 for 10,
1.09 for 15). Clips of one body err together and count once. A quarter of it where a leg is read from its length: what
bodies yet unseen may differ by is in the uncertainty of that length already (`folding.LENGTH_SHARE`); with so much, on
five bodies drawn anew, those intervals held 99.6 % of the frames."""
WIDER = {"hip_flexion": 1.1}
"""Bodies unlike those of the table: on practice clips of ten others the 95 % point of the error at the turn was 1.08
times what was stated for hips from the side, 0.8 or less for knees and elbows, which stay as they are."""
FEWEST_CLIPS = 3
"""A row learnt from fewer clips gives way to a wider one."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BiasRow:
    """One row of the table.

    Attributes
    ----------
    weight : float
        Share of the picture-plane reading in the starting value, the rest is the model's 3D.
    coefficients : ndarray, shape (8,)
        Correction, one number for each of `features`.
    spread : ndarray, shape (3,)
        Standard uncertainty of what remains, below, between and above `LEVELS_DEG`.
    clips, bodies : int
        Number of clips behind the row, and of different bodies in them.
    """

    weight: float
    coefficients: Array
    spread: Array
    clips: int
    bodies: int


def view_bin(off_side_deg: float) -> str:
    """Return the name of the range that holds so many degrees off the side view."""
    return next(name for name, top in VIEW_BINS if off_side_deg < top)


def features(plane: Array, space: Array, ahead_deg: float = 0.0) -> Array:
    """Return the terms of the correction, shape (F, 8).

    Parameters
    ----------
    plane, space : ndarray, shape (F,)
        Both readings in degrees.
    ahead_deg : float
        How far the camera stands off the side view, towards the front (standing), the head (prone) or the feet
        (supine) positive. Thighs and upper arms point outwards, so that a camera ahead of them shortens what one behind
        them does not.

    Returns
    -------
    ndarray
        Constant, plane, space, their squares, their product, ahead, ahead times plane; angles in hundreds of degrees,
        `ahead_deg` in units of `AHEAD_DEG`.
    """
    p, s = np.clip(plane, -60, 200) / 100.0, np.clip(space, 0, 180) / 100.0
    ahead = np.full_like(p, np.clip(ahead_deg / AHEAD_DEG, -FURTHEST_AHEAD, FURTHEST_AHEAD))
    return np.stack([np.ones_like(p), p, s, p * p, s * s, p * s, ahead, ahead * p], axis=-1)


def start_weight(view: str, joint: str, limb: str = "near") -> float:
    """Return the share of the first reading before any correction.

    From the side it is all of it, from the front none, but for knees of standing legs, whose first reading there is the
    shortening of the leg.
    """
    knee = joint == "knee_flexion" and limb != "raised"
    leg = joint in ("knee_flexion", "hip_flexion")
    oblique, across = (1.0, 1.0) if knee else (0.25, 0.0)
    return {"side": 1.0, "slant": 1.0 if leg else 0.6, "oblique": oblique, "across": across}[view]


@lru_cache(maxsize=1)
def _table() -> dict[str, BiasRow]:
    text = files("cuebook.motion").joinpath("bias_table.json").read_text(encoding="utf-8")
    return {
        key: BiasRow(
            weight=row["weight"],
            coefficients=np.array(row["coefficients"]),
            spread=np.array(row["spread"]),
            clips=row["clips"],
            bodies=row["bodies"],
        )
        for key, row in json.loads(text)["rows"].items()
    }


def movement_keys(movement: Movement) -> tuple[str, ...]:
    """Return the names under which a movement's rows stand, the narrowest first.

    Parameters
    ----------
    movement : Movement
        Its name, its position with its first pattern, and its position alone: a movement of a coach's own finds the
        last two.
    """
    return (movement.name, f"{movement.family}-{movement.patterns[0]}", movement.family, "any")


def bias_row(joint: str, movement: Movement, view: str, limb: str) -> BiasRow | None:
    """Return the row for a joint, movement, view range and limb, or the nearest wider one.

    Parameters
    ----------
    joint : str
        ``knee_flexion`` and so on.
    movement : Movement
        Decides the rows by :func:`movement_keys`.
    view : str
        Name from :func:`view_bin`.
    limb : {"near", "far", "raised"}
        Whether the limb is on the camera's side, or a leg whose foot rests on a box.

    Returns
    -------
    BiasRow or None
        None where no clip like that was learnt from.
    """
    table = _table()
    keys = (f"{joint}/{name}/{view}/{limb}" for name in movement_keys(movement))
    return next((table[key] for key in keys if key in table and table[key].clips >= FEWEST_CLIPS), None)


def corrected(
    row: BiasRow,
    plane: Array,
    space: Array,
    joint: str,
    *,
    ahead_deg: float = 0.0,
    arms_work: bool = True,
    by_length: bool = False,
) -> tuple[Array, Array]:
    """Apply one row to both readings of an angle.

    Parameters
    ----------
    row : BiasRow
        From :func:`bias_row`.
    plane, space : ndarray, shape (F,)
        Degrees.
    joint : str
        For the published spread.
    ahead_deg : float
        See :func:`features`.
    arms_work : bool
        Whether the movement gives the arms a task.
    by_length : bool
        Whether the reading comes from how much a limb shortens, whose own uncertainty stands beside this one.

    Returns
    -------
    value, spread : ndarray, shape (F,)
        Corrected angle and the standard uncertainty that remains, degrees.
    """
    start = row.weight * plane + (1.0 - row.weight) * space
    correction = features(plane, space, ahead_deg) @ row.coefficients
    value = start + np.clip(correction, -LARGEST_CORRECTION_DEG, LARGEST_CORRECTION_DEG)
    sample = FOLDED_SAMPLE if by_length else SMALL_SAMPLE
    wider = WIDER.get(joint, 1.0) * np.sqrt(1.0 + sample / max(1, row.bodies))
    spread = wider * np.interp(value, [15.0, 50.0, 100.0], row.spread)
    idle = {} if arms_work else IDLE_ARM_SPREAD_DEG.get(joint, {})
    floor = idle.get(view_bin(min(90.0, abs(ahead_deg))), PUBLISHED_SPREAD_DEG[joint])
    return value, np.maximum(spread, floor)
