"""What a clip looks like."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Guess:
    """Which movement a clip looks like.

    Attributes
    ----------
    movement : str
        The likeliest movement of the library, also where it is not sure; empty where nothing was recognised.
    chance : float
        Between 0 and 1.
    sure : bool
        Whether the chance is high enough to say so.
    why : str
        The features that spoke for it, in words.
    """

    movement: str
    chance: float
    sure: bool
    why: str
