"""Getting into place and out of it: walking, kneeling on all fours, sitting on the floor, raising a hand."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..posture import SIDES, Poses, Posture, mixed
from ..skeleton import INDEX, Rig, joints, turn
from .floor import arm_length_m, back_height_m, bridge_top, middle_m
from .plank import flat_hand, hand_place_m
from .standing import ankle_height_m, smooth

STRIDE_M = 1.35
"""Way of a double step."""


def walking(rig: Rig, way_m: NDArray[np.float64], heading_deg: float) -> Poses:
    """Walk along a heading; `way_m` (T,) is the way covered, 0 where the walk ends."""
    count = len(way_m)
    posture = Posture(rig, count)
    phase = 2.0 * np.pi * way_m / STRIDE_M
    posture.trunk(turn("z", heading_deg + 4.0 * np.sin(phase)) @ turn("y", 3.0))
    for side, sign in SIDES.items():
        own = phase + (0.0 if sign > 0 else np.pi)
        posture.arm(side, flexion_deg=-24.0 * np.sin(own), out_deg=8.0, elbow_deg=18.0 - 10.0 * np.sin(own))
        thigh = posture["pelvis"] @ turn("y", -(6.0 + 25.0 * np.sin(own)))
        posture.leg(side, thigh, 8.0 + 48.0 * np.clip(np.cos(own - 0.35), 0.0, 1.0) ** 2, foot_deg=-4.0)
    heading = np.radians(heading_deg)
    posture.root_m[:, 0], posture.root_m[:, 1] = way_m * np.cos(heading), way_m * np.sin(heading)
    lowest = joints(rig, posture.rotations, posture.root_m)[:, [INDEX["left_toes"], INDEX["right_toes"]], 2].min(1)
    posture.root_m[:, 2] = rig.heads_m[INDEX["left_toes"], 2] - lowest
    return posture.finish()


def on_all_fours(rig: Rig) -> Poses:
    """Knees and hands on the floor, hands where the push-up has them."""
    posture = Posture(rig, 1)
    thigh, _ = posture.legs_m("left")
    hands = hand_place_m(rig)
    trunk = float(np.linalg.norm(middle_m(rig, "upper_arm") - rig.heads_m[0]))
    posture.trunk(turn("y", 78.0), look=turn("y", 60.0))
    posture.root_m[0] = [hands[0] - trunk * 0.92, 0.0, thigh + 0.07]
    for side, s in SIDES.items():
        posture.arm_to(side, hands * np.array([1.0, s, 1.0]), pole=[-0.75, s * 0.55, 0.3], hand=flat_hand(s))
        posture.leg(side, turn("y", 0.0), 84.0, foot_deg=60.0)
    return posture.finish()


def sitting(rig: Rig) -> Poses:
    """Sitting on the floor with bent knees, feet where the bridge has them, hands behind."""
    posture = Posture(rig, 1)
    thigh, shank = posture.legs_m("left")
    trunk = float(np.linalg.norm((middle_m(rig, "upper_arm") - middle_m(rig, "thigh"))[[0, 2]]))
    ankle_z = ankle_height_m(rig, "left")
    _, foot_x = bridge_top(trunk=trunk, thigh=thigh, shank=shank, rise=ankle_z - back_height_m(rig))
    posture.trunk(turn("y", -24.0), bend_deg=10.0, look=turn("y", -6.0))
    posture.root_m[0] = [trunk * 0.98, 0.0, 0.14]
    for side, s in SIDES.items():
        y = s * abs(rig.heads_m[INDEX["left_thigh"], 1])
        posture.leg_to(side, [foot_x, y, ankle_z], pole=[0.0, s * 0.05, 1.0], foot=turn("z", s * 2.0))
        back = trunk * 0.98 - 0.62 * arm_length_m(rig)
        posture.arm_to(
            side, [back, s * 0.28, 0.06], pole=[-0.8, s * 0.4, 0.0], hand=turn("z", s * 120.0) @ turn("y", -85.0)
        )
    return posture.finish()


def sitting_sideways(rig: Rig, side: float) -> Poses:
    """Sitting with both bent legs lying to one side, before lying down on it; `side` is +1 when the left arm opens."""
    posture = Posture(rig, 1)
    posture.trunk(turn("x", side * 24.0) @ turn("y", 4.0), look=turn("x", side * 6.0))
    posture.root_m[0] = [0.0, 0.0, 0.100 * float(rig.heads_m[INDEX["head"], 2])]
    legs = turn("x", side * 84.0) @ turn("y", -88.0)
    for name in SIDES:
        posture.arm(name, flexion_deg=30.0, out_deg=12.0, elbow_deg=25.0)
        posture.leg(name, legs, 88.0, foot_deg=20.0)
    return posture.finish()


def with_raised_hand(rig: Rig, poses: Poses, share: NDArray[np.float64], side: str) -> Poses:
    """Raise one hand above the head by a share (T,) of 0 to 1."""
    raised = Posture(rig, len(share))
    raised.rotations[:] = poses.rotations
    raised.root_m[:] = poses.root_m
    raised.arm(side, flexion_deg=158.0, out_deg=8.0, elbow_deg=14.0)
    return mixed(poses, raised.finish(), share)


def eased(times_s: NDArray[np.float64], start_s: float, end_s: float) -> NDArray[np.float64]:
    """Return a share that rises from 0 at `start_s` to 1 at `end_s` and eases at both ends, (T,)."""
    return smooth((times_s - start_s) / max(end_s - start_s, 1e-6))
