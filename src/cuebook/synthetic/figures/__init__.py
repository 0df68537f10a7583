"""The ten movements as figures: control values in, postures out."""

from __future__ import annotations

from collections.abc import Callable

from ..posture import Poses
from ..skeleton import Rig
from .drive import Drive
from .floor import bridge, side_lying
from .plank import push_up
from .split import rear_foot_elevated, split_squat
from .standing import knee_raise, lateral_lunge, squat, trunk_rotation

FIGURES: dict[str, Callable[[Rig, Drive], Poses]] = {
    "squat": squat,
    "split-squat": split_squat,
    "rear-foot-elevated-split-squat-with-rotation": rear_foot_elevated,
    "lateral-lunge": lateral_lunge,
    "standing-knee-raise": knee_raise,
    "push-up": push_up,
    "push-up-to-inverted-v": push_up,
    "glute-bridge": bridge,
    "side-lying-thoracic-rotation": side_lying,
    "standing-trunk-rotation": trunk_rotation,
}

__all__ = ["FIGURES", "Drive"]
