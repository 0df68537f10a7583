"""Floor work: push-ups, bridge, and the turn of the chest lying on one side."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..posture import SIDES, Poses, Posture
from ..skeleton import INDEX, Rig, Rotations, joints, reach_length_m, turn
from .drive import Drive
from .standing import ankle_height_m, meet, smooth

_V_DEG = 87.0
_WRIST_M = 0.055
_TILT_DEG = 8.0
"""How much the trunk rises towards the shoulders when lying on the side: they are wider than the hips."""


def push_up(rig: Rig, drive: Drive) -> Poses:
    """Hands and toes stay; the elbows bend to the control angle; the second part lifts the hips to an inverted V."""
    v = smooth(drive.second)
    hip_deg = 3.0 + (_V_DEG - 3.0) * v - drive.lean_deg * (1.0 - v)
    pitch = 78.0 - 34.0 * v
    posture = Posture(rig, drive.count)
    thigh = turn("y", -hip_deg)
    body = _plank_shape(rig, drive.count, thigh)
    shoulder = 0.5 * (body[:, INDEX["left_upper_arm"]] + body[:, INDEX["right_upper_arm"]])
    ankle = 0.5 * (body[:, INDEX["left_foot"]] + body[:, INDEX["right_foot"]])
    toes_z = rig.heads_m[INDEX["left_toes"], 2]
    foot_now = turn("y", pitch)
    fixed = np.zeros((drive.count, 2))
    lift = foot_now @ rig.offset_m("left_toes")
    fixed[:, 0], fixed[:, 1] = -lift[:, 0], toes_z - lift[:, 2]
    hands = hand_place_m(rig)
    width = np.abs(body[:, INDEX["left_upper_arm"], 1])
    arm = reach_length_m(
        (posture.length("left", "upper_arm", "forearm"), posture.length("left", "forearm", "hand")), drive.angle_deg
    )
    reach_m = np.sqrt(np.maximum(arm**2 - (hands[1] - width) ** 2, 1e-6))
    span = np.linalg.norm((shoulder - ankle)[:, [0, 2]], axis=-1)
    at = meet(fixed, span, np.broadcast_to(hands[[0, 2]], fixed.shape), reach_m)
    now = np.arctan2(*(shoulder - ankle)[:, [0, 2]].T[::-1])
    wanted = np.arctan2(at[:, 1] - fixed[:, 1], at[:, 0] - fixed[:, 0])
    pelvis = turn("y", np.degrees(now - wanted))
    placed = np.einsum("tij,tj->ti", pelvis, shoulder)
    posture.root_m[:, 0], posture.root_m[:, 2] = at[:, 0] - placed[:, 0], at[:, 1] - placed[:, 2]
    chest_pitch = np.degrees(now - wanted)
    posture.trunk(pelvis, look=turn("y", chest_pitch - 12.0 * (1 - v) + 6.0 * v))
    _plant_hands(posture, hands)
    for side in SIDES:
        posture.leg(side, pelvis @ thigh, 3.0)
        posture[f"{side}_foot"] = foot_now
        posture[f"{side}_toes"] = turn("y", np.zeros(drive.count))
    return posture.finish()


def _plank_shape(rig: Rig, count: int, thigh: Rotations) -> NDArray[np.float64]:
    """Return the joints (T, 24, 3) of an upright body with bent hips, before it is laid over hands and toes."""
    shape = Posture(rig, count)
    shape.trunk(np.eye(3))
    for side in SIDES:
        shape.arm(side, flexion_deg=75.0, out_deg=10.0)
        shape.leg(side, thigh, 3.0)
    return joints(rig, shape.rotations, shape.root_m)


def hand_place_m(rig: Rig) -> NDArray[np.float64]:
    """Return where the left wrist stands in a push-up, from the toes, (3,)."""
    leg = rig.length_m("left_thigh", "left_shank") + rig.length_m("left_shank", "left_foot")
    trunk = rig.heads_m[INDEX["left_upper_arm"], 2] - rig.heads_m[INDEX["left_thigh"], 2]
    height = arm_length_m(rig) - 0.13
    along = np.sqrt((leg + trunk) ** 2 - height**2)
    return np.array([along - 0.01, abs(rig.heads_m[INDEX["left_upper_arm"], 1]) + 0.06, _WRIST_M])


def _plant_hands(posture: Posture, left_wrist: NDArray[np.float64]) -> None:
    for side, s in SIDES.items():
        place = left_wrist * np.array([1.0, s, 1.0])
        posture.arm_to(side, place, pole=[-0.75, s * 0.55, 0.45], hand=flat_hand(s))


def flat_hand(sign: float) -> Rotations:
    """Return the rotation of a hand that lies palm down with the fingers forward."""
    return turn("z", sign * 6.0) @ turn("y", -80.0) @ turn("z", sign * -60.0)


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
