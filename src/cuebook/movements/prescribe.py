"""What is asked for in one set, checked against the movement."""

from __future__ import annotations

from typing import Literal

from cuebook.errors import ModelError
from cuebook.model import Movement, Prescription, Tempo

from .tempo import parse_tempo


def prescribe(
    movement: Movement,
    *,
    tempo: str | Tempo | None = None,
    repetitions: int | None = None,
    side: Literal["left", "right"] | None = None,
) -> Prescription:
    """Return a prescription that fits the movement.

    Parameters
    ----------
    movement : Movement
        What is done.
    tempo : str, Tempo or None
        As text such as ``3-1-1-0``, or read already.
    repetitions : int or None
        How many, per side where the movement has sides.
    side : {"left", "right"} or None
        The side asked for, as the athlete calls it.

    Raises
    ------
    TempoError
        If the tempo cannot be read.
    ModelError
        If a side is asked for in a movement of both sides, or there are less than one repetition.
    """
    if side is not None and movement.sides == "both":
        raise ModelError(f"{movement.title} works both sides at once: leave the side out.")
    if side not in (None, "left", "right"):
        raise ModelError(f"The side is left or right, but '{side}' was given.")
    if repetitions is not None and repetitions < 1:
        raise ModelError(f"A set has at least one repetition, but {repetitions} were asked for.")
    read = parse_tempo(tempo) if isinstance(tempo, str) else tempo
    return Prescription(tempo=read, repetitions=repetitions, side=side)
