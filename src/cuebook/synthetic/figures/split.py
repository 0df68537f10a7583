"""Movements in a long stance: split squat, and the same with the rear foot raised and a turn of the trunk."""

from __future__ import annotations

import numpy as np

from ..posture import SIDES, Poses, Posture
from ..skeleton import INDEX, Rig, reach_length_m, turn
from .drive import Drive
from .standing import ankle_height_m, set_arms, smooth

BOX_SHARE = 0.40
"""Height of the box under the rear foot as a share of the leg's length."""


def split_squat(rig: Rig, drive: Drive) -> Poses:
    """Bend the front knee to the control angle; the rear foot stays on its ball on the floor."""
    return _long_stance(rig, drive, raised=False)


def rear_foot_elevated(rig: Rig, drive: Drive) -> Poses:
    """Do a split squat with the rear foot on a box; the second part turns the trunk towards the front leg."""
    return _long_stance(rig, drive, raised=True)


def box_top_m(rig: Rig) -> float:
    """Return the height of the box, metres."""
    return BOX_SHARE * (rig.length_m("left_thigh", "left_shank") + rig.length_m("left_shank", "left_foot"))


def _long_stance(rig: Rig, drive: Drive, *, raised: bool) -> Poses:
    posture = Posture(rig, drive.count)
    front, rear = ("left", "right") if drive.side[0] > 0 else ("right", "left")
    thigh, shank = posture.legs_m(front)
    leg = thigh + shank
    depth = np.clip(drive.depth, 0.0, 1.2)
    lean = (6.0 + 8.0 * depth if raised else 3.0 + 4.0 * depth) + drive.lean_deg
    twist = SIDES[front] * 30.0 * drive.second
    look = turn("z", 0.9 * twist) @ turn("y", 0.3 * lean)
    posture.trunk(turn("z", 0.1 * twist) @ turn("y", lean), bend_deg=2.0, twist_deg=twist, look=look)
    hip = posture["pelvis"] @ rig.offset_m(f"{front}_thigh")
    half = abs(rig.heads_m[INDEX["left_thigh"], 1])
    ankle = np.array([0.27 * leg, SIDES[front] * half, ankle_height_m(rig, front)])
    forward = (0.02 + 0.07 * smooth(depth)) * leg if not raised else (0.03 + 0.04 * smooth(depth)) * leg
    length = reach_length_m((thigh, shank), drive.angle_deg)
    dx, dy = ankle[0] - forward, hip[:, 1] - ankle[1]
    posture.root_m[:, 0] = forward - hip[:, 0]
    posture.root_m[:, 2] = ankle[2] + np.sqrt(np.maximum(length**2 - dx**2 - dy**2, 1e-6)) - hip[:, 2]
    posture.leg_to(front, ankle, pole=[1.0, SIDES[front] * 0.10, 0.0], foot=turn("z", SIDES[front] * 2.0))
    _rear_leg(posture, rear, depth, leg=leg, half=half, raised=raised)
    set_arms(posture, drive)
    return posture.finish()


def _rear_leg(posture: Posture, side: str, depth: np.ndarray, *, leg: float, half: float, raised: bool) -> None:
    """Stand the rear foot on its ball behind, on the floor or on the box, heel rising with the depth."""
    rig = posture.rig
    ball = rig.heads_m[INDEX[f"{side}_toes"], 2]
    pitch = 62.0 + 10.0 * depth if raised else 38.0 + 32.0 * smooth(depth)
    foot = turn("y", pitch)
    place = np.array(
        [-0.62 * leg if raised else -0.33 * leg, SIDES[side] * half, ball + (box_top_m(rig) if raised else 0.0)]
    )
    ankle = place - foot @ rig.offset_m(f"{side}_toes")
    posture.leg_to(side, ankle, pole=[1.0, SIDES[side] * 0.05, -0.35 if raised else 0.0], foot=foot, toes=np.eye(3))
