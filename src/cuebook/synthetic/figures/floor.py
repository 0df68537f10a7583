"""Floor work: push-ups, bridge, and the turn of the chest lying on one side."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..posture import SIDES, Poses, Posture
from ..skeleton import INDEX, Rig, turn
from .drive import Drive
from .standing import ankle_height_m

_TILT_DEG = 8.0
"""How much the trunk rises towards the shoulders when lying on the side: they are wider than the hips."""


def bridge(rig: Rig, drive: Drive) -> Poses:
    """Lying on the back, feet flat: the hips rise until shoulder, hip and knee form a line (depth 1)."""
    posture = Posture(rig, drive.count)
    thigh, shank = posture.legs_m("left")
    back = back_height_m(rig)
    trunk = float(np.linalg.norm((middle_m(rig, "upper_arm") - middle_m(rig, "thigh"))[[0, 2]]))
    slope = np.degrees(np.arctan2(*(middle_m(rig, "upper_arm") - middle_m(rig, "thigh"))[[0, 2]]))
    ankle_z = ankle_height_m(rig, "left")
    arm = arm_length_m(rig)
    full, foot_x = bridge_top(trunk=trunk, thigh=thigh, shank=shank, rise=ankle_z - back)
    low = np.degrees(np.arcsin((0.105 - back) / trunk))
    raised = low + (full - low) * drive.depth
    pelvis = turn("y", -(90.0 + raised) - slope)
    shoulder = np.array([0.0, 0.0, back])
    posture.root_m[:] = shoulder - np.einsum("tij,j->ti", pelvis, middle_m(rig, "upper_arm") - rig.heads_m[0])
    posture.trunk(pelvis, look=turn("y", -84.0))
    for side, s in SIDES.items():
        y = s * abs(rig.heads_m[INDEX["left_thigh"], 1])
        posture.leg_to(side, [foot_x, y, ankle_z], pole=[0.0, s * 0.05, 1.0], foot=turn("z", s * 2.0))
        posture.arm_to(
            side,
            [0.88 * arm, s * (0.20 + 0.28 * arm), 0.05],
            pole=[-0.2, s * 1.0, -0.1],
            hand=turn("y", -90.0) @ turn("z", s * 180.0) @ turn("y", 180.0),
        )
    return posture.finish()


def arm_length_m(rig: Rig) -> float:
    """Return the length of a straight arm to the wrist, metres."""
    return rig.length_m("left_upper_arm", "left_forearm") + rig.length_m("left_forearm", "left_hand")


def middle_m(rig: Rig, part: str) -> NDArray[np.float64]:
    """Return the resting point (3,) half way between the left and the right beginning of a segment."""
    return 0.5 * (rig.heads_m[INDEX[f"left_{part}"]] + rig.heads_m[INDEX[f"right_{part}"]])


def back_height_m(rig: Rig) -> float:
    """Return how high the shoulder joints lie above the floor when lying on the back, metres."""
    return 0.062 * float(rig.heads_m[INDEX["head"], 2])


def bridge_top(*, trunk: float, thigh: float, shank: float, rise: float, knee_deg: float = 93.0) -> tuple[float, float]:
    """Return the slope of the straight body at the top, degrees, and how far the ankles stand from the shoulders."""
    slope = 20.0
    for _ in range(40):
        tilt = np.radians(90.0 + slope - knee_deg)
        slope = float(np.degrees(np.arcsin((shank * np.cos(tilt) + rise) / (trunk + thigh))))
    tilt = np.radians(90.0 + slope - knee_deg)
    return slope, float((trunk + thigh) * np.cos(np.radians(slope)) + shank * np.sin(tilt))


def side_lying(rig: Rig, drive: Drive) -> Poses:
    """Lying on one side with bent legs: the upper arm and the chest open backwards by the control angle."""
    posture = Posture(rig, drive.count)
    s = 1.0 if drive.side[0] > 0 else -1.0
    top, bottom = ("left", "right") if s > 0 else ("right", "left")
    opening = drive.angle_deg
    pelvis = turn("x", s * (90.0 - _TILT_DEG)) @ turn("z", s * 0.05 * opening)
    posture.root_m[:, 2] = 0.103 * float(rig.heads_m[INDEX["head"], 2])
    posture.trunk(pelvis, twist_deg=s * opening, look=turn("x", s * 101.0) @ turn("z", s * 0.7 * opening))
    share = np.clip(drive.depth, 0.0, 1.2)
    posture.arm(top, flexion_deg=88.0, out_deg=0.0, across_deg=-12.0 + 92.0 * share, elbow_deg=6.0 + 6.0 * share)
    shoulder = posture.point(f"{bottom}_upper_arm")
    length = 0.97 * arm_length_m(rig)
    hand = shoulder + np.array([0.0, 0.0, 1.0]) * (0.06 - shoulder[:, 2:])
    hand[:, 0] += np.sqrt(length**2 - (hand - shoulder)[:, 2] ** 2)
    posture.arm_to(bottom, hand, pole=[0.0, s, -0.3])
    for side in SIDES:
        stack = turn("y", -88.0) @ turn("x", SIDES[side] * -4.0)
        posture.leg(side, turn("x", s * _TILT_DEG) @ pelvis @ stack, 88.0, foot_deg=20.0)
    return posture.finish()
