"""Lean and axial rotation of the trunk at an event of the repetition.

Lean is the trunk line against the vertical of the picture, forwards positive. Rotation is that of the shoulder line
against the hip line, counted towards the working side (common practice for a turn to a named side).
"""

from __future__ import annotations

from .registry import Measure, Occasion, Result
from .sampling import read_angle

EVENTS = ("start", "turn", "second_turn", "end")


def _lean(occasion: Occasion) -> Result:
    return read_angle(occasion, "trunk_inclination", name="trunk_inclination")


def _rotation(occasion: Occasion) -> Result:
    sign = -1.0 if occasion.repetition.side == "right" else 1.0
    return read_angle(occasion, "trunk_rotation", name="trunk_rotation", sign=sign)


MEASURES = (
    Measure(name="trunk_inclination", unit="deg", events=EVENTS, sided=False, take=_lean),
    Measure(name="trunk_rotation", unit="deg", events=EVENTS, sided=False, take=_rotation),
)
