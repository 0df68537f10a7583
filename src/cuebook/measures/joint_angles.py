"""Flexion of knee, hip, elbow and shoulder, and the line of the body, at an event of the repetition.

Definitions: neutral-zero method (AAOS 1965; Norkin & White, Measurement of Joint Motion): 0 degrees in the anatomical
position, flexion counted up. Hip flexion is the angle between trunk and thigh; it contains movement of the low back.
"""

from __future__ import annotations

from functools import partial

from .registry import Measure, Occasion, Result
from .sampling import read_angle

EVENTS = ("start", "turn", "second_turn", "end")


def _take(occasion: Occasion, *, joint: str) -> Result:
    return read_angle(occasion, f"{occasion.side}_{joint}", name=joint)


MEASURES = tuple(
    Measure(name=joint, unit="deg", events=EVENTS, sided=True, take=partial(_take, joint=joint))
    for joint in ("knee_flexion", "hip_flexion", "elbow_flexion", "shoulder_flexion", "body_line", "shank_inclination")
)
