"""What the coach asked for: tempo, repetitions and side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

PHASES: tuple[str, ...] = ("eccentric", "long_hold", "concentric", "short_hold")
"""The four phases in the order in which a tempo is written."""

Slot = float | Literal["X"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tempo:
    """A prescribed tempo, seconds per phase; a moving phase may be ``"X"``: as fast as control allows."""

    eccentric: Slot
    long_hold: float
    concentric: Slot
    short_hold: float

    def slot(self, phase: str) -> Slot:
        """Return the prescription of one phase, seconds or ``"X"``."""
        return getattr(self, phase)

    def __str__(self) -> str:
        return "-".join(v if isinstance(v, str) else f"{v:g}" for v in map(self.slot, PHASES))


@dataclass(frozen=True, slots=True, kw_only=True)
class Prescription:
    """What was asked for in one set.

    Attributes
    ----------
    tempo : Tempo or None
        Prescribed tempo.
    repetitions : int or None
        Number of repetitions, per side where the movement has sides.
    side : {"left", "right"} or None
        The side that was asked for.
    """

    tempo: Tempo | None = None
    repetitions: int | None = None
    side: Literal["left", "right"] | None = None
