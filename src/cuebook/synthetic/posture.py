"""Puts a posture together over time: trunk first, then arms and legs by angle or by where they must reach."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .skeleton import INDEX, SEGMENTS, Rig, Rotations, blend, joints, reach, turn, unit

SIDES: dict[str, float] = {"left": 1.0, "right": -1.0}
"""Sign of y on each side."""

_TWIST_SHARE = np.cumsum([0.08, 0.17, 0.25, 0.25, 0.25])
_BEND_SHARE = np.cumsum([0.20, 0.20, 0.20, 0.20, 0.20])


@dataclass(frozen=True, slots=True, eq=False)
class Poses:
    """Postures over time.

    Attributes
    ----------
    rotations : ndarray, shape (T, 24, 3, 3)
        World rotation of every segment from its canonical posture.
    root_m : ndarray, shape (T, 3)
        Where the pelvis begins.
    """

    rotations: Rotations
    root_m: NDArray[np.float64]

    def moved(self, offset_m: NDArray[np.float64]) -> Poses:
        """Return the same postures shifted by (T, 3) or (3,) metres."""
        return Poses(self.rotations, self.root_m + offset_m)


class Posture:
    """A posture under construction; every value may change over time.

    Parameters
    ----------
    rig : Rig
        Whose joints.
    count : int
        Number of instants T.
    """

    def __init__(self, rig: Rig, count: int) -> None:
        self.rig = rig
        self.count = count
        self.rotations = np.tile(np.eye(3), (count, len(SEGMENTS), 1, 1))
        self.root_m = np.zeros((count, 3))

    def __getitem__(self, name: str) -> Rotations:
        return self.rotations[:, INDEX[name]]

    def __setitem__(self, name: str, value: Rotations) -> None:
        self.rotations[:, INDEX[name]] = value

    def many(self, value: ArrayLike) -> NDArray[np.float64]:
        """Return a number or (T,) numbers as (T,)."""
        return np.broadcast_to(np.asarray(value, dtype=float), (self.count,))

    def point(self, name: str) -> NDArray[np.float64]:
        """Return where a segment begins, (T, 3), with what is set so far."""
        return joints(self.rig, self.rotations, self.root_m)[:, INDEX[name]]

    def trunk(
        self, pelvis: Rotations, *, bend_deg: ArrayLike = 0.0, twist_deg: ArrayLike = 0.0, look: Rotations | None = None
    ) -> None:
        """Set pelvis, spine, neck and head.

        Parameters
        ----------
        pelvis : ndarray, shape (T, 3, 3) or (3, 3)
        bend_deg, twist_deg : array_like, shape (T,) or ()
            Forward bend and turn to the left, spread over the spine from low to high.
        look : ndarray, shape (T, 3, 3) or (3, 3), optional
            Rotation of the head in the world; the neck stands half way. Without it the head follows the chest.
        """
        self["pelvis"] = np.broadcast_to(pelvis, (self.count, 3, 3))
        bend, twist = self.many(bend_deg), self.many(twist_deg)
        for i in range(5):
            step = turn("z", twist * _TWIST_SHARE[i]) @ turn("y", bend * _BEND_SHARE[i])
            self[f"spine{i + 1}"] = self["pelvis"] @ step
        chest = self["spine5"]
        head = chest if look is None else np.broadcast_to(look, chest.shape)
        self["neck"] = blend(chest, head, 0.5)
        self["head"] = head
        for side in SIDES:
            for part in ("clavicle", "upper_arm", "forearm", "hand"):
                self[f"{side}_{part}"] = chest

    def _lift_clavicle(self, side: str, direction: NDArray[np.float64]) -> None:
        """Let the shoulder girdle follow an arm that points along `direction` (T, 3)."""
        chest = self["spine5"]
        local = np.einsum("tji,tj->ti", chest, unit(direction))
        raised = np.degrees(np.arccos(np.clip(-local[:, 2], -1.0, 1.0)))
        forward = np.degrees(np.arcsin(np.clip(local[:, 0], -1.0, 1.0)))
        lift = turn("x", SIDES[side] * 0.2 * np.maximum(raised - 30.0, 0.0))
        self[f"{side}_clavicle"] = chest @ turn("z", -SIDES[side] * 0.10 * forward) @ lift

    def arm(
        self,
        side: str,
        *,
        flexion_deg: ArrayLike = 0.0,
        out_deg: ArrayLike = 8.0,
        turn_deg: ArrayLike = 0.0,
        elbow_deg: ArrayLike = 10.0,
        across_deg: ArrayLike = 0.0,
    ) -> None:
        """Set an arm by angles against the chest: swing forward, away from the body, about itself, elbow bend.

        `across_deg` then swings the whole arm about the chest's long axis, positive away from the other arm.
        """
        s = SIDES[side]
        upper = (
            self["spine5"]
            @ turn("z", s * self.many(across_deg))
            @ turn("y", -self.many(flexion_deg))
            @ turn("x", s * self.many(out_deg))
            @ turn("z", s * self.many(turn_deg))
        )
        self._lift_clavicle(side, -upper[:, :, 2])
        self[f"{side}_upper_arm"] = upper
        self[f"{side}_forearm"] = upper @ turn("y", -self.many(elbow_deg))
        self[f"{side}_hand"] = self[f"{side}_forearm"]

    def arm_to(self, side: str, wrist_m: ArrayLike, *, pole: ArrayLike, hand: Rotations | None = None) -> None:
        """Set an arm so that the wrist comes to `wrist_m` (T, 3) with the elbow towards `pole`."""
        target = np.broadcast_to(np.asarray(wrist_m, dtype=float), (self.count, 3))
        self[f"{side}_clavicle"] = self["spine5"]
        self._lift_clavicle(side, target - self.point(f"{side}_upper_arm"))
        start = self.point(f"{side}_upper_arm")
        lengths = (self.length(side, "upper_arm", "forearm"), self.length(side, "forearm", "hand"))
        pole = np.broadcast_to(np.asarray(pole, dtype=float), (self.count, 3))
        upper, lower = reach(start, target, lengths, pole, bends=-1.0)
        self[f"{side}_upper_arm"], self[f"{side}_forearm"] = upper, lower
        self[f"{side}_hand"] = lower if hand is None else np.broadcast_to(hand, lower.shape)

    def in_chest(self, offset_m: ArrayLike) -> NDArray[np.float64]:
        """Return the world place (T, 3) of a point given from mid-shoulder in the chest's frame."""
        middle = 0.5 * (self._rest_shoulder("left") + self._rest_shoulder("right"))
        return middle + np.einsum("tij,...j->ti", self["spine5"], np.asarray(offset_m, dtype=float))

    def _rest_shoulder(self, side: str) -> NDArray[np.float64]:
        base = self.point(f"{side}_clavicle")
        return base + self["spine5"] @ self.rig.offset_m(f"{side}_upper_arm")

    def leg(self, side: str, thigh: Rotations, knee_deg: ArrayLike, *, foot_deg: ArrayLike = 0.0) -> None:
        """Set a leg by the rotation of its thigh, the knee bend and how far the toes point down."""
        self[f"{side}_thigh"] = np.broadcast_to(thigh, (self.count, 3, 3))
        self[f"{side}_shank"] = self[f"{side}_thigh"] @ turn("y", self.many(knee_deg))
        self[f"{side}_foot"] = self[f"{side}_shank"] @ turn("y", self.many(foot_deg))
        self[f"{side}_toes"] = self[f"{side}_foot"]

    def leg_to(
        self, side: str, ankle_m: ArrayLike, *, pole: ArrayLike, foot: Rotations, toes: Rotations | None = None
    ) -> None:
        """Set a leg so that the ankle comes to `ankle_m` (T, 3) with the knee towards `pole`."""
        target = np.broadcast_to(np.asarray(ankle_m, dtype=float), (self.count, 3))
        pole = np.broadcast_to(np.asarray(pole, dtype=float), (self.count, 3))
        lengths = (self.length(side, "thigh", "shank"), self.length(side, "shank", "foot"))
        upper, lower = reach(self.point(f"{side}_thigh"), target, lengths, pole, bends=1.0)
        self[f"{side}_thigh"], self[f"{side}_shank"] = upper, lower
        self[f"{side}_foot"] = np.broadcast_to(foot, upper.shape)
        self[f"{side}_toes"] = self[f"{side}_foot"] if toes is None else np.broadcast_to(toes, upper.shape)

    def length(self, side: str, first: str, second: str) -> float:
        """Return the length of a bone, metres."""
        return self.rig.length_m(f"{side}_{first}", f"{side}_{second}")

    def legs_m(self, side: str) -> tuple[float, float]:
        """Return the lengths of thigh and shank, metres."""
        return self.length(side, "thigh", "shank"), self.length(side, "shank", "foot")

    def finish(self) -> Poses:
        """Return the finished postures."""
        return Poses(self.rotations, self.root_m)


def mixed(first: Poses, second: Poses, share: ArrayLike) -> Poses:
    """Return postures on the way from `first` (share 0) to `second` (share 1); share has shape (T,)."""
    amount = np.asarray(share, dtype=float)
    rotations = blend(first.rotations, second.rotations, amount[:, None])
    return Poses(rotations, first.root_m + amount[:, None] * (second.root_m - first.root_m))


def picked(poses: Poses, rows: ArrayLike) -> Poses:
    """Return the postures of some instants."""
    return Poses(poses.rotations[rows], poses.root_m[rows])
