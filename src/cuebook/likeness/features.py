"""What a movement looks like in a few figures: how the body lies, which limbs move, in step or in turn, how far."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cuebook.model import Track

Array = NDArray[np.float64]

FEATURES: dict[str, str] = {
    "upright": "how upright the trunk is",
    "upright_low": "how far the trunk tips over",
    "upright_high": "how far the trunk comes up",
    "chest_up": "whether the chest faces the ceiling or the floor",
    "chest_swing": "how much the chest turns towards the ceiling",
    "knee_swing": "how much the busier knee bends",
    "knee_swing_other": "how much the other knee bends",
    "knee_most": "how far the busier knee bends",
    "knee_least": "how bent the other knee stays",
    "hip_swing": "how much the busier hip bends",
    "hip_swing_other": "how much the other hip bends",
    "hip_most": "how far the busier hip bends",
    "hip_least": "how bent the other hip stays",
    "hip_open": "how far the hips open",
    "in_step": "whether the legs bend together or in turn",
    "thighs_apart": "how far the thighs are apart",
    "thighs_apart_most": "how far the thighs come apart",
    "feet_across": "how wide the feet stand",
    "feet_along": "how far one foot stands in front",
    "feet_height": "whether one foot is higher",
    "feet_height_most": "how far one foot is lifted",
    "hips_travel": "how far the hips go up and down",
    "hips_height": "how high the hips are over the feet",
    "elbow_swing": "how much the elbows bend",
    "elbow_most": "how far the elbows bend",
    "hands_height": "where the hands are, from the feet up",
    "hands_apart": "how far the hands are apart",
    "hands_apart_swing": "how much the hands come apart",
    "shoulder_swing": "how much the arms lift",
    "trunk_turn": "how much the shoulders turn against the hips",
    "shoulders_yaw": "how much the shoulders turn about the vertical",
}
"""Name and words of every figure. Lengths are in trunk lengths, angles in right angles (90 degrees = 1)."""

SWINGS = (
    *("knee_swing", "knee_swing_other", "hip_swing", "hip_swing_other", "elbow_swing", "shoulder_swing"),
    *("trunk_turn", "shoulders_yaw", "chest_swing", "hips_travel"),
)
"""The figures that say which limbs move."""

LEAST_FRAMES = 30

MIDDLE = 0.7
"""Share of the clip that is looked at, in its middle: getting into place and out of it lie at the ends."""


def movement_features(track: Track) -> Array | None:
    """Return the figures of a clip in the order of `FEATURES`; None if somebody is seen in too few frames.

    Parameters
    ----------
    track : Track
        Raw landmarks; the model's own 3D is used, so that a figure hardly depends on where the camera stands.

    Notes
    -----
    Left and right are exchanged where the right leg moves more, and swings are distances between the 10th and 90th
    percentile, so that walking into the picture and single wrong frames do not count.
    """
    seen = track.found & np.isfinite(track.world_m).all(axis=(1, 2))
    if seen.sum() < LEAST_FRAMES:
        return None
    begin, end = np.quantile(track.times_s[seen], [(1.0 - MIDDLE) / 2, (1.0 + MIDDLE) / 2])
    seen &= (track.times_s >= begin) & (track.times_s <= end)
    body = _Body(track, seen)
    values = {**_trunk(body), **_legs(body), **_feet(body), **_arms(body)}
    return np.array([values[name] for name in FEATURES])


class _Body:
    """Points of the body over the frames with somebody in them, in trunk lengths from the hips."""

    def __init__(self, track: Track, seen: NDArray[np.bool_]) -> None:
        def middle(part: str) -> Array:
            return (track.world(f"left_{part}")[seen] + track.world(f"right_{part}")[seen]) / 2

        self._track, self._seen = track, seen
        self.scale = float(np.median(np.linalg.norm(middle("shoulder") - middle("hip"), axis=1)))
        self.trunk = (middle("shoulder") - middle("hip")) / self.scale

    def point(self, name: str) -> Array:
        """Return a landmark (F, 3): right, down, away from the camera."""
        return self._track.world(name)[self._seen] / self.scale

    def line(self, a: str, b: str) -> Array:
        """Return the way from one landmark to another (F, 3)."""
        return self.point(b) - self.point(a)

    def bend(self, side: str, parts: tuple[str, str, str]) -> Array:
        """Return how far a joint is away from straight, in right angles (F,)."""
        a, b, c = (self.point(f"{side}_{part}") for part in parts)
        return 2.0 - _angle(a - b, c - b)


def _trunk(body: _Body) -> dict[str, float]:
    up = -_unit(body.trunk)[:, 1]
    across = body.line("right_shoulder", "left_shoulder")
    hips = body.line("right_hip", "left_hip")
    front = np.cross(_unit(across + hips), _unit(body.trunk))
    chest_front = _unit(np.cross(_unit(across), _unit(body.trunk)))
    axis = _unit(body.trunk)
    turn = _signed_angle(_without(hips, axis), _without(across, axis), axis)
    yaw = np.unwrap(np.arctan2(across[:, 2], across[:, 0])) / (np.pi / 2)
    return {
        "upright": _mid(up),
        "upright_low": _low(up),
        "upright_high": _high(up),
        "chest_up": _mid(-_unit(front)[:, 1]),
        "chest_swing": _swing(-chest_front[:, 1]),
        "trunk_turn": _swing(turn),
        "shoulders_yaw": min(2.0, _swing(yaw)),
    }


def _legs(body: _Body) -> dict[str, float]:
    knee = {s: body.bend(s, ("hip", "knee", "ankle")) for s in ("left", "right")}
    hip = {s: 2.0 - _angle(body.trunk, body.line(f"{s}_hip", f"{s}_knee")) for s in ("left", "right")}
    busy, calm = sorted(("left", "right"), key=lambda s: _swing(knee[s]) + _swing(hip[s]), reverse=True)
    thighs = _angle(body.line("left_hip", "left_knee"), body.line("right_hip", "right_knee"))
    return {
        "knee_swing": _swing(knee[busy]),
        "knee_swing_other": _swing(knee[calm]),
        "knee_most": _high(knee[busy]),
        "knee_least": _low(knee[calm]),
        "hip_swing": _swing(hip[busy]),
        "hip_swing_other": _swing(hip[calm]),
        "hip_most": _high(hip[busy]),
        "hip_least": _low(hip[calm]),
        "hip_open": _low(hip[busy]),
        "in_step": _together(hip["left"] + knee["left"], hip["right"] + knee["right"]),
        "thighs_apart": _mid(thighs),
        "thighs_apart_most": _high(thighs),
    }


def _feet(body: _Body) -> dict[str, float]:
    gap = body.line("right_ankle", "left_ankle")
    left = _unit(body.line("right_hip", "left_hip"))
    across = np.abs((gap * left).sum(axis=1))
    along = np.linalg.norm(_without(gap, left) * np.array([1.0, 0.0, 1.0]), axis=1)
    ankles = (body.point("left_ankle") + body.point("right_ankle")) / 2
    lowest = np.maximum(body.point("left_ankle")[:, 1], body.point("right_ankle")[:, 1])
    return {
        "feet_across": _mid(across),
        "feet_along": _mid(along),
        "feet_height": _mid(np.abs(gap[:, 1])),
        "feet_height_most": _high(np.abs(gap[:, 1])),
        "hips_travel": _swing(lowest),
        "hips_height": _mid(ankles[:, 1]),
    }


def _arms(body: _Body) -> dict[str, float]:
    elbow = (body.bend("left", ("shoulder", "elbow", "wrist")) + body.bend("right", ("shoulder", "elbow", "wrist"))) / 2
    lift = sum(2.0 - _angle(body.trunk, body.line(f"{s}_shoulder", f"{s}_elbow")) for s in ("left", "right")) / 2
    wrists = (body.point("left_wrist") + body.point("right_wrist")) / 2
    ankles = np.maximum(body.point("left_ankle")[:, 1], body.point("right_ankle")[:, 1])
    apart = np.linalg.norm(body.line("left_wrist", "right_wrist"), axis=1)
    return {
        "elbow_swing": _swing(elbow),
        "elbow_most": _high(elbow),
        "hands_height": _mid(ankles - wrists[:, 1]),
        "hands_apart": _mid(apart),
        "hands_apart_swing": _swing(apart),
        "shoulder_swing": _swing(lift),
    }


def _unit(vectors: Array) -> Array:
    return vectors / np.maximum(np.linalg.norm(vectors, axis=-1, keepdims=True), 1e-9)


def _without(vectors: Array, axis: Array) -> Array:
    """Return the part of vectors across an axis."""
    return vectors - (vectors * axis).sum(axis=-1, keepdims=True) * axis


def _angle(a: Array, b: Array) -> Array:
    """Return the angle between vectors in right angles."""
    return np.arccos(np.clip((_unit(a) * _unit(b)).sum(axis=-1), -1.0, 1.0)) / (np.pi / 2)


def _signed_angle(a: Array, b: Array, axis: Array) -> Array:
    return np.arctan2((np.cross(a, b) * axis).sum(axis=-1), (a * b).sum(axis=-1)) / (np.pi / 2)


def _together(a: Array, b: Array) -> float:
    """Return 1 where two courses rise together by as much, 0 where only one moves, -1 where they alternate."""
    x, y = a - a.mean(), b - b.mean()
    largest = max(float(x @ x), float(y @ y))
    return float(x @ y) / largest if largest > 0 else 0.0


def _mid(values: Array) -> float:
    return float(np.median(values))


def _low(values: Array) -> float:
    return float(np.percentile(values, 10))


def _high(values: Array) -> float:
    return float(np.percentile(values, 90))


def _swing(values: Array) -> float:
    low, high = np.percentile(values, [10, 90])
    return float(high - low)
