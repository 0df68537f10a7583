"""Push-ups: hands and toes planted, the body laid over them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..posture import SIDES, Poses, Posture
from ..skeleton import INDEX, Rig, Rotations, joints, reach_length_m, turn
from .drive import Drive
from .floor import arm_length_m
from .standing import meet, smooth

_FLAT_DEG, _V_DEG = -3.0, 87.0
"""Bend of the thigh against the pelvis with the body in one line, and in the inverted V."""
_WRIST_M = 0.055
_ROUNDS = 12


def push_up(rig: Rig, drive: Drive) -> Poses:
    """Bend the elbows to the control angle over planted hands and toes; the second part lifts the hips to a V.

    The shoulders move with the girdle, and the girdle with the arms: the body is laid over hands and toes again with
    the shoulders it had, until the elbows hold their angle.
    """
    v = smooth(drive.second)
    hip_deg = _FLAT_DEG + (_V_DEG - _FLAT_DEG) * v - drive.lean_deg * (1.0 - v)
    foot = turn("y", 78.0 - 34.0 * v)
    thigh = turn("y", -hip_deg)
    start = Posture(rig, drive.count)
    start.trunk(np.eye(3))
    for side in SIDES:
        start.arm(side, flexion_deg=75.0, out_deg=10.0)
        start.leg(side, thigh, 3.0)
    shape = joints(rig, start.rotations, start.root_m)
    for _ in range(_ROUNDS):
        posture = _laid(rig, drive, shape, thigh=thigh, foot=foot, v=v)
        placed = joints(rig, posture.rotations, posture.root_m) - posture.root_m[:, None]
        upright = np.einsum("tji,tsj->tsi", posture["pelvis"], placed)
        shape = 0.35 * shape + 0.65 * upright
    return posture.finish()


def _laid(
    rig: Rig, drive: Drive, shape: NDArray[np.float64], *, thigh: Rotations, foot: Rotations, v: NDArray[np.float64]
) -> Posture:
    """Lay an upright body, given by its joints (T, 24, 3) about the pelvis, over hands and toes."""
    posture = Posture(rig, drive.count)
    shoulder = 0.5 * (shape[:, INDEX["left_upper_arm"]] + shape[:, INDEX["right_upper_arm"]])
    ankle = 0.5 * (shape[:, INDEX["left_foot"]] + shape[:, INDEX["right_foot"]])
    lift = foot @ rig.offset_m("left_toes")
    fixed = np.stack([-lift[:, 0], rig.heads_m[INDEX["left_toes"], 2] - lift[:, 2]], axis=-1)
    hands = hand_place_m(rig)
    aside = hands[1] - np.abs(shape[:, INDEX["left_upper_arm"], 1])
    bones = posture.length("left", "upper_arm", "forearm"), posture.length("left", "forearm", "hand")
    arm = np.sqrt(np.maximum(reach_length_m(bones, drive.angle_deg) ** 2 - aside**2, 1e-6))
    body = (shoulder - ankle)[:, [0, 2]]
    at = meet(fixed, np.linalg.norm(body, axis=-1), np.broadcast_to(hands[[0, 2]], fixed.shape), arm)
    pitch = np.degrees(np.arctan2(body[:, 1], body[:, 0]) - np.arctan2(*(at - fixed).T[::-1]))
    pelvis = turn("y", pitch)
    posture.root_m[:, [0, 2]] = at - np.einsum("tij,tj->ti", pelvis, shoulder)[:, [0, 2]]
    posture.trunk(pelvis, look=turn("y", pitch - 12.0 * (1.0 - v) + 6.0 * v))
    for side, s in SIDES.items():
        place = hands * np.array([1.0, s, 1.0])
        posture.arm_to(side, place, pole=[-0.75, s * 0.55, 0.45], hand=flat_hand(s))
        posture.leg(side, pelvis @ thigh, 3.0)
        posture[f"{side}_foot"] = foot
        posture[f"{side}_toes"] = np.broadcast_to(np.eye(3), foot.shape)
    return posture


def hand_place_m(rig: Rig) -> NDArray[np.float64]:
    """Return where the left wrist stands in a push-up, from the toes, (3,)."""
    leg = rig.length_m("left_thigh", "left_shank") + rig.length_m("left_shank", "left_foot")
    trunk = rig.heads_m[INDEX["left_upper_arm"], 2] - rig.heads_m[INDEX["left_thigh"], 2]
    height = arm_length_m(rig) - 0.13
    along = np.sqrt((leg + trunk) ** 2 - height**2)
    return np.array([along - 0.01, abs(rig.heads_m[INDEX["left_upper_arm"], 1]) + 0.06, _WRIST_M])


def flat_hand(sign: float) -> Rotations:
    """Return the rotation of a hand that lies palm down with the fingers forward."""
    return turn("z", sign * 6.0) @ turn("y", -80.0) @ turn("z", sign * -60.0)
