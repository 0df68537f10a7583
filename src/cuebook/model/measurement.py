"""A measured value with its uncertainty, or the reason why there is none."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, isfinite
from typing import Literal

from cuebook.errors import ModelError

from .motion import Side

Unit = Literal["deg", "s", "1", "ratio"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """One value of one repetition.

    Attributes
    ----------
    measure : str
        Name with the event, for example ``knee_flexion_at_turn``.
    value : float
        In `unit`.
    noise : float
        Standard uncertainty of the part that is independent between repetitions.
    shared : float
        Standard uncertainty of the part common to the whole clip; averaging does not shrink it.
    unit : {"deg", "s", "1", "ratio"}
        Unit of the value and of both uncertainties.
    side : {"left", "right", "both"}
        Whose limb it is.
    at_s : float or None
        When, in seconds.
    method : str
        How it was measured, in words.
    flip : float
        Chance that the value belongs to the other reading of a threshold (a short pause that may be none).
    """

    measure: str
    value: float
    noise: float
    shared: float
    unit: Unit
    side: Side
    at_s: float | None
    method: str
    flip: float = 0.0

    def __post_init__(self) -> None:
        if not (isfinite(self.value) and isfinite(self.noise) and isfinite(self.shared)):
            raise ModelError(f"{self.measure} must be finite, but it is {self.value} with {self.noise}, {self.shared}.")
        if self.noise < 0 or self.shared < 0:
            raise ModelError(f"{self.measure} has a negative uncertainty ({self.noise}, {self.shared}).")

    @property
    def uncertainty(self) -> float:
        """Combined standard uncertainty, same unit as the value."""
        return hypot(self.noise, self.shared)

    def __str__(self) -> str:
        unit = "" if self.unit in ("1", "ratio") else f" {self.unit}"
        places = 2 if self.unit in ("s", "ratio") else 0
        return f"{self.value:.{places}f} ± {self.uncertainty:.{places}f}{unit}"


@dataclass(frozen=True, slots=True, kw_only=True)
class NotMeasurable:
    """A measure that the clip cannot show.

    Attributes
    ----------
    measure : str
        Name with the event.
    unit : {"deg", "s", "1", "ratio"}
        Unit it would have had.
    side : {"left", "right", "both"}
        Whose limb.
    reason : str
        Why, as a phrase an athlete understands.
    refilm : str
        How to film it so that it can be measured.
    """

    measure: str
    unit: Unit
    side: Side
    reason: str
    refilm: str
