"""Which movement of the library a clip looks like, with a chance, and 'not sure' rather than wrong."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from math import lgamma, log, pi
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Track

from .features import FEATURES, movement_features
from .guess import Guess

Array = NDArray[np.float64]

LEARNT = Path(__file__).with_name("recognition.json")
"""What movements look like: written by ``tests/accuracy/learn_recognition.py``."""

SURE = 0.90
"""Chance from which a movement is said: the same as for an outcome that is met (house choice)."""

UNLIKELY = 0.02
"""Below this chance of the movement that was named, another one that is sure is said in a review (house choice: none of
120 rendered clips, faults and slanted views among them, had another movement likelier than its own)."""

NOTHING_SEEN = Guess(movement="", chance=0.0, sure=False, why="nobody is seen for long enough")

_DEGREES = 4.0
"""Degrees of freedom of the t distributions: one strange figure of thirty must not decide."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pattern:
    """What movements look like.

    Attributes
    ----------
    movements : tuple of str
        In order of name.
    centre, spread : ndarray, shape (M + 1, N)
        Usual value and spread of every figure in `FEATURES`; the last row stands for anything else.
    least, most : ndarray, shape (M, N)
        Range within which every figure must lie; infinite for figures that are no swing.
    temperature : float
        Divides the sum of the log densities, since the figures depend on each other.
    """

    movements: tuple[str, ...]
    centre: Array
    spread: Array
    least: Array
    most: Array
    temperature: float


def recognise(track: Track, pattern: Pattern | None = None) -> Guess:
    """Say which movement a track looks like.

    Parameters
    ----------
    track : Track
        Raw landmarks.
    pattern : Pattern, optional
        What movements look like; default: what was learnt.

    Returns
    -------
    Guess
        Not sure where nobody is seen, where two movements are near, and where it resembles none of them: somebody
        standing around, a coach's own movement.
    """
    figures = movement_features(track)
    if figures is None:
        return NOTHING_SEEN
    return _guess(figures, pattern or learnt())


def _guess(figures: Array, known: Pattern) -> Guess:
    best = int(np.argmax(log_densities(figures, known)[:-1].sum(axis=1)))
    chances = movement_chances(figures, known)
    chance = float(chances[best])
    return Guess(
        movement=known.movements[best],
        chance=round(chance, 4),
        sure=chance >= SURE,
        why=_why(figures, known, best, chances),
    )


def another_movement(track: Track, name: str) -> Guess | None:
    """Return which other movement a clip surely shows, None where it may well be the one that was named.

    Parameters
    ----------
    track : Track
        Raw landmarks.
    name : str
        The movement that was named; one that was never learnt, such as a coach's own, has no other.
    """
    known = learnt()
    figures = movement_features(track) if name in known.movements else None
    if figures is None:
        return None
    guess = _guess(figures, known)
    own = movement_chances(figures, known)[known.movements.index(name)]
    return guess if guess.sure and guess.movement != name and own <= UNLIKELY else None


def movement_chances(figures: Array, pattern: Pattern) -> Array:
    """Return the chance of every movement and, last, of none of them, shape (M + 1,).

    Parameters
    ----------
    figures : ndarray, shape (N,)
        From `movement_features`.
    pattern : Pattern
        What movements look like.

    Notes
    -----
    Every figure is taken as drawn from a t distribution about the movement's usual value, independently of the others;
    the sum of the log densities is divided by a temperature so that the chances keep what they promise. A movement
    whose own limbs move far too little, or one of whose still limbs moves far too much, gives its chance to none: that
    is how somebody standing around or curling an arm is told from a turn of the trunk in the same posture.
    """
    total = log_densities(figures, pattern).sum(axis=1) / pattern.temperature
    shares = np.exp(total - total.max())
    shares /= shares.sum()
    fits = ((figures >= pattern.least) & (figures <= pattern.most)).all(axis=1)
    return np.append(np.where(fits, shares[:-1], 0.0), 1.0 - shares[:-1][fits].sum())


def log_densities(figures: Array, pattern: Pattern) -> Array:
    """Return the log density of every figure under every movement and anything else, shape (M + 1, N)."""
    constant = lgamma((_DEGREES + 1) / 2) - lgamma(_DEGREES / 2) - 0.5 * log(_DEGREES * pi)
    off = (figures - pattern.centre) / pattern.spread
    return constant - np.log(pattern.spread) - (_DEGREES + 1) / 2 * np.log1p(off**2 / _DEGREES)


@cache
def learnt() -> Pattern:
    """Return what was learnt from rendered clips and drawn landmarks."""
    stored = json.loads(LEARNT.read_text(encoding="utf-8"))
    rows = [*stored["movements"].values(), stored["anything_else"]]
    return Pattern(
        movements=tuple(stored["movements"]),
        centre=np.array([[row[name][0] for name in FEATURES] for row in rows]),
        spread=np.array([[row[name][1] for name in FEATURES] for row in rows]),
        least=_column(stored, 2, -np.inf),
        most=_column(stored, 3, np.inf),
        temperature=stored["temperature"],
    )


def _column(stored: dict, place: int, without: float) -> Array:
    rows = stored["movements"].values()
    return np.array([[row[name][place] if len(row[name]) > place else without for name in FEATURES] for row in rows])


def _why(figures: Array, pattern: Pattern, best: int, chances: Array) -> str:
    """Name the three figures that speak most for the likeliest movement against the next, or against it."""
    order = np.argsort(chances)[::-1]
    other = int(order[0] if order[0] != best else order[1])
    density = log_densities(figures, pattern)
    gain = density[best] - density[other]
    if order[0] != best:
        gain = -gain
    names = list(FEATURES.values())
    return ", ".join(names[i] for i in np.argsort(gain)[::-1][:3])
