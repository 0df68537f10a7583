"""Movements on both feet: squat, lateral lunge, knee raise, trunk rotation."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..posture import SIDES, Poses, Posture
from ..skeleton import INDEX, Rig, reach_length_m, turn
from .drive import Drive


def ankle_height_m(rig: Rig, side: str) -> float:
    """Return how high the ankle of a flat foot stands."""
    return float(rig.heads_m[INDEX[f"{side}_foot"], 2])


def smooth(share: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a share of 0 to 1 eased at both ends."""
    x = np.clip(share, 0.0, 1.0)
    return x * x * (3.0 - 2.0 * x)


def set_arms(posture: Posture, drive: Drive) -> None:
    """Set both arms in the way the drive asks for."""
    for side, s in SIDES.items():
        if drive.arms == "reach":
            lift = np.clip(drive.depth, 0.0, 1.2)
            posture.arm(side, flexion_deg=12.0 + 95.0 * lift, out_deg=9.0 - 4.0 * lift, elbow_deg=14.0 - 8.0 * lift)
        elif drive.arms == "hips":
            point = posture.point("pelvis") + np.einsum(
                "tij,j->ti", posture["pelvis"], np.array([0.03, s * 0.19, 0.10])
            )
            posture.arm_to(side, point, pole=posture["spine5"] @ np.array([-0.55, s * 1.0, 0.0]))
        elif drive.arms == "crossed":
            place = posture.in_chest(np.array([0.17 if s > 0 else 0.20, -s * 0.09, -0.09 if s > 0 else -0.12]))
            posture.arm_to(side, place, pole=posture["spine5"] @ np.array([0.35, s * 0.75, -0.6]))
        elif drive.arms == "side":
            posture.arm(side, flexion_deg=4.0, out_deg=9.0, elbow_deg=14.0)
        else:
            place = posture.in_chest(np.array([0.30, s * 0.035, -0.17]))
            posture.arm_to(side, place, pole=posture["spine5"] @ np.array([-0.1, s * 0.8, -0.6]))


def squat(rig: Rig, drive: Drive) -> Poses:
    """Both knees bend to the control angle; feet flat, hips back, trunk leaning so that the weight stays over them."""
    posture = Posture(rig, drive.count)
    thigh, shank = posture.legs_m("left")
    knee = drive.angle_deg
    shin = np.radians(0.34 * knee)
    lap = np.radians(knee) - shin
    back = shank * np.sin(shin) - thigh * np.sin(lap)
    trunk = rig.length_m("pelvis", "neck")
    lean = np.degrees(np.arcsin(np.clip((0.05 - back) / (0.95 * trunk), 0.0, 0.75))) - 4.0 + drive.lean_deg
    out = 17.0
    spread = 1.35 * abs(rig.heads_m[INDEX["left_thigh"], 1])
    posture.trunk(turn("y", lean), bend_deg=6.0 * drive.depth, look=turn("y", 0.25 * lean))
    hip = {s: posture["pelvis"] @ rig.offset_m(f"{s}_thigh") for s in SIDES}
    ankle = {s: np.array([0.0, sign * spread, ankle_height_m(rig, s)]) for s, sign in SIDES.items()}
    across = hip["left"][:, 1] - spread
    length = reach_length_m((thigh, shank), knee)
    height = np.sqrt(np.maximum(length**2 - back**2 - across**2, 1e-6))
    posture.root_m[:, 0] = back - hip["left"][:, 0]
    posture.root_m[:, 2] = ankle["left"][2] + height - hip["left"][:, 2]
    for side, sign in SIDES.items():
        yaw = np.radians(sign * out)
        posture.leg_to(side, ankle[side], pole=[np.cos(yaw), 1.25 * np.sin(yaw), 0.0], foot=turn("z", sign * out * 0.4))
    set_arms(posture, drive)
    return posture.finish()


def lateral_lunge(rig: Rig, drive: Drive) -> Poses:
    """Feet stay wide apart; the hips shift over the working foot while the other knee keeps its angle."""
    posture = Posture(rig, drive.count)
    thigh, shank = posture.legs_m("left")
    stance = 1.08 * (thigh + shank)
    depth = np.clip(drive.depth, 0.0, 1.3)
    lean = 4.0 + 32.0 * smooth(depth) * np.clip(depth, 0.3, 1.2) + drive.lean_deg
    posture.trunk(turn("y", lean), bend_deg=5.0 * depth, look=turn("y", 0.3 * lean))
    left_works = drive.side > 0
    bend = {s: np.where(left_works == (sign > 0), drive.angle_deg, drive.other_deg) for s, sign in SIDES.items()}
    hip = {s: posture["pelvis"] @ rig.offset_m(f"{s}_thigh") for s in SIDES}
    ankle = {s: np.array([0.0, sign * stance / 2, ankle_height_m(rig, s)]) for s, sign in SIDES.items()}
    back = -0.17 * smooth(depth)
    centre = {s: np.stack([(ankle[s] - hip[s])[:, 1], (ankle[s] - hip[s])[:, 2]], axis=-1) for s in SIDES}
    radius = {s: np.sqrt(np.maximum(reach_length_m((thigh, shank), bend[s]) ** 2 - back**2, 1e-6)) for s in SIDES}
    posture.root_m[:, 1:] = meet(centre["right"], radius["right"], centre["left"], radius["left"])
    posture.root_m[:, 0] = back - hip["left"][:, 0]
    for side, sign in SIDES.items():
        posture.leg_to(side, ankle[side], pole=[1.0, sign * 0.28, 0.0], foot=turn("z", sign * 6.0))
    set_arms(posture, drive)
    return posture.finish()


def meet(
    first: NDArray[np.float64],
    first_radius: NDArray[np.float64],
    second: NDArray[np.float64],
    second_radius: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return where two circles meet, (T, 2): the point on the left of the way from `first` to `second`."""
    line = second - first
    gap = np.linalg.norm(line, axis=-1)
    along = (first_radius**2 - second_radius**2 + gap**2) / (2.0 * gap)
    aside = np.sqrt(np.maximum(first_radius**2 - along**2, 0.0))
    way = line / gap[:, None]
    left = np.stack([-way[:, 1], way[:, 0]], axis=-1)
    return first + along[:, None] * way + aside[:, None] * left


def knee_raise(rig: Rig, drive: Drive) -> Poses:
    """One thigh rises by the control angle while the other leg stands."""
    posture = Posture(rig, drive.count)
    thigh, shank = posture.legs_m("left")
    rise = drive.angle_deg
    depth = np.clip(drive.depth, 0.0, 1.2)
    lean = -3.0 * smooth(depth) + drive.lean_deg
    posture.trunk(turn("y", lean), look=turn("y", 0.4 * lean))
    left_works = drive.side > 0
    hip_y = abs(rig.heads_m[INDEX["left_thigh"], 1])
    shift = -drive.side * 0.55 * hip_y * smooth(depth / 0.5)
    stand = 4.0 + drive.other_deg
    length = reach_length_m((thigh, shank), stand)
    hip = {s: posture["pelvis"] @ rig.offset_m(f"{s}_thigh") for s in SIDES}
    height = np.sqrt(length**2 - shift**2 - hip["left"][:, 0] ** 2)
    posture.root_m[:, 1] = shift
    posture.root_m[:, 2] = ankle_height_m(rig, "left") + height - hip["left"][:, 2]
    for side, sign in SIDES.items():
        ankle = np.array([0.0, sign * hip_y, ankle_height_m(rig, side)])
        posture.leg_to(side, ankle, pole=[1.0, sign * 0.12, 0.0], foot=turn("z", sign * 4.0))
        works = left_works == (sign > 0)
        free = Posture(rig, drive.count)
        level = posture[f"{side}_thigh"]
        bend = stand + 1.02 * rise * smooth(rise / 70.0)
        raised = turn("y", -rise) @ level
        free.leg(side, raised, np.minimum(bend, 105.0), foot_deg=14.0 * smooth(depth / 0.4))
        for part in ("thigh", "shank", "foot", "toes"):
            name = f"{side}_{part}"
            lifted = works & (rise > 1e-6)
            posture[name] = np.where(lifted[:, None, None], free[name], posture[name])
    set_arms(posture, drive)
    return posture.finish()


def trunk_rotation(rig: Rig, drive: Drive) -> Poses:
    """Feet and hips stay, the chest turns by the control angle to the working side."""
    posture = Posture(rig, drive.count)
    thigh, shank = posture.legs_m("left")
    turn_deg = drive.side * drive.angle_deg
    posture.trunk(
        turn("z", 0.08 * turn_deg) @ turn("y", drive.lean_deg), twist_deg=turn_deg, look=turn("z", 0.95 * turn_deg)
    )
    hip_y = abs(rig.heads_m[INDEX["left_thigh"], 1])
    posture.root_m[:, 2] = (
        ankle_height_m(rig, "left") + reach_length_m((thigh, shank), 9.0) - rig.offset_m("left_thigh")[2]
    )
    for side, sign in SIDES.items():
        ankle = np.array([0.0, sign * 1.25 * hip_y, ankle_height_m(rig, side)])
        posture.leg_to(side, ankle, pole=[1.0, sign * 0.15, 0.0], foot=turn("z", sign * 6.0))
    set_arms(posture, drive)
    return posture.finish()
