"""A coach's marks drawn on a still: lines, plumb lines, angles, arrows, circles and words, tied to joints."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from cuebook.assess.mark_angle import is_from_straight, mark_angle
from cuebook.model import LANDMARKS, Mark, ReviewData, landmark_index

from .angle_mark import ANGLE
from .lettering import height_px, lay, width_px
from .skeleton import CASING, draw_line
from .words import angle_words

Point = NDArray[np.float64]

SAME_INSTANT_S = 0.012
"""A mark belongs to the frame this near to its instant."""
CIRCLE_TRUNKS = 0.15
TEXT_TO = (0.2, 0.0)
_TIP_DEG = 149.0


def draw_marks(picture: NDArray[np.uint8], points: Point, marks: Sequence[Mark], data: ReviewData) -> None:
    """Draw marks into an RGB picture in place; a mark whose joint was not seen is left out.

    Parameters
    ----------
    picture : ndarray, shape (H, W, 3) uint8
        RGB.
    points : ndarray, shape (33, 2)
        Landmarks in pixels of the picture, NaN where unknown.
    marks : sequence of Mark
        Those of this instant.
    data : ReviewData
        Gives the numbers of angles.
    """
    unit = max(1.0, min(picture.shape[:2]) / 360.0)
    trunk = float(np.hypot(*(joint_at(points, "mid_shoulder") - joint_at(points, "mid_hip"))))
    trunk = trunk if np.isfinite(trunk) and trunk > 1.0 else picture.shape[0] / 4
    for mark in marks:
        joints = [joint_at(points, j) for j in mark.joints]
        if np.isfinite(joints).all():
            _DRAWN[mark.kind](picture, joints, mark, trunk, unit)
            _write_words(picture, joints, mark, trunk, unit, data)


def joint_at(points: Point, joint: str) -> Point:
    """Return a joint, or the middle of a girdle, shape (2,), from landmarks of shape (33, 2)."""
    if joint in LANDMARKS:
        return points[landmark_index(joint)]
    part = joint.removeprefix("mid_")
    return (points[landmark_index(f"left_{part}")] + points[landmark_index(f"right_{part}")]) / 2


def marks_at(data: ReviewData, at_s: float) -> tuple[Mark, ...]:
    """Return the coach's marks on the frame at an instant, seconds."""
    if data.corrections is None:
        return ()
    return tuple(m for m in data.corrections.state.marks if abs(m.at_s - at_s) <= SAME_INSTANT_S)


def _stroke(picture: NDArray[np.uint8], a: Point, b: Point, unit: float, *, dash_px: float = 0.0) -> None:
    """Draw a light line with a dark edge, readable on any picture."""
    light = max(2, round(2.2 * unit))
    draw_line(picture, a, b, colour=CASING, width_px=light + max(2, round(2.2 * unit)), dash_px=dash_px)
    draw_line(picture, a, b, colour=ANGLE, width_px=light, dash_px=dash_px)


def _path(picture: NDArray[np.uint8], points: Point, unit: float) -> None:
    """Draw a light curve through points of shape (N, 2), with a dark edge."""
    import cv2

    fixed = [np.round(points * 8).astype(np.int32)]
    light = max(2, round(2.2 * unit))
    cv2.polylines(picture, fixed, False, CASING, light + max(2, round(2.2 * unit)), cv2.LINE_AA, 3)
    cv2.polylines(picture, fixed, False, ANGLE, light, cv2.LINE_AA, 3)


def _line(picture: NDArray[np.uint8], joints: list[Point], mark: Mark, trunk: float, unit: float) -> None:
    _stroke(picture, joints[0], joints[1], unit)


def _plumb(picture: NDArray[np.uint8], joints: list[Point], mark: Mark, trunk: float, unit: float) -> None:
    x = joints[0][0]
    _stroke(picture, np.array([x, 0.0]), np.array([x, picture.shape[0] - 1.0]), unit, dash_px=9 * unit)


def _angle(picture: NDArray[np.uint8], joints: list[Point], mark: Mark, trunk: float, unit: float) -> None:
    one, corner, other = joints
    _stroke(picture, one, corner, unit)
    _stroke(picture, corner, other, unit)
    start, turn, radius = _arc(joints, mark)
    if is_from_straight(mark):
        way = np.array([np.cos(start), np.sin(start)])
        _stroke(picture, corner, corner + 1.25 * radius * way, unit, dash_px=6 * unit)
    steps = start + np.linspace(0.0, turn, 40)
    _path(picture, corner + radius * np.stack([np.cos(steps), np.sin(steps)], axis=1), unit)


def _arc(joints: list[Point], mark: Mark) -> tuple[float, float, float]:
    """Return where the arc of an angle starts, how far it turns, both in radians, and its radius in pixels.

    A flexion that is 0 where the limbs are in line starts where the first limb would go on.
    """
    one, corner, other = joints
    first = corner - one if is_from_straight(mark) else one - corner
    start = float(np.arctan2(first[1], first[0]))
    end = float(np.arctan2(other[1] - corner[1], other[0] - corner[0]))
    turn = (end - start + np.pi) % (2 * np.pi) - np.pi
    return start, turn, 0.4 * float(min(np.hypot(*(one - corner)), np.hypot(*(other - corner))))


def _arrow(picture: NDArray[np.uint8], joints: list[Point], mark: Mark, trunk: float, unit: float) -> None:
    tail, tip = joints[0], _tip(joints, mark, trunk)
    _stroke(picture, tail, tip, unit)
    way = float(np.arctan2(tip[1] - tail[1], tip[0] - tail[0]))
    for turn in np.radians([_TIP_DEG, -_TIP_DEG]):
        _stroke(picture, tip, tip + 13 * unit * np.array([np.cos(way + turn), np.sin(way + turn)]), unit)


def _tip(joints: list[Point], mark: Mark, trunk: float) -> Point:
    return joints[1] if len(joints) > 1 else joints[0] + trunk * np.array(mark.to or (0.0, 0.0))


def _circle(picture: NDArray[np.uint8], joints: list[Point], mark: Mark, trunk: float, unit: float) -> None:
    steps = np.linspace(0.0, 2 * np.pi, 60)
    radius = (mark.size or CIRCLE_TRUNKS) * trunk
    _path(picture, _centre(joints, mark, trunk) + radius * np.stack([np.cos(steps), np.sin(steps)], axis=1), unit)


def _centre(joints: list[Point], mark: Mark, trunk: float) -> Point:
    return joints[0] + trunk * np.array(mark.to or (0.0, 0.0))


def _text(picture: NDArray[np.uint8], joints: list[Point], mark: Mark, trunk: float, unit: float) -> None:
    """Words alone have nothing but their label."""


def _write_words(picture: NDArray[np.uint8], joints: list[Point], mark: Mark, trunk: float, unit: float,
                 data: ReviewData) -> None:  # fmt: skip
    """Write what belongs to a mark beside it: the number of an angle, and the coach's words."""
    said = [mark.text] if mark.text else []
    beside = joints[0] + 14 * unit * np.array([1.0, 0.0])
    if mark.kind == "angle":
        number = mark_angle(data, mark)
        said.insert(0, "not measured" if number is None else angle_words(number.value, number.uncertainty))
        start, turn, radius = _arc(joints, mark)
        middle = start + turn / 2
        beside = joints[1] + (radius + 10 * unit) * np.array([np.cos(middle), np.sin(middle)])
    elif mark.kind == "text":
        beside = joints[0] + trunk * np.array(mark.to or TEXT_TO)
    elif mark.kind == "arrow":
        beside = _tip(joints, mark, trunk) + np.array([10.0 * unit, 0.0])
    elif mark.kind == "circle":
        beside = _centre(joints, mark, trunk) + np.array([(mark.size or CIRCLE_TRUNKS) * trunk + 8 * unit, 0.0])
    elif mark.kind == "line":
        beside = (joints[0] + joints[1]) / 2 + np.array([10.0 * unit, 0.0])
    for row, text in enumerate(said):
        _label(picture, text, beside, row, unit, leftward=beside[0] < joints[len(joints) // 2][0])


def _label(picture: NDArray[np.uint8], text: str, at: Point, row: int, unit: float, *, leftward: bool) -> None:
    """Write one line on a dark plate, kept inside the picture."""
    size, pad = max(14, round(15 * unit)), round(4 * unit)
    width, height = width_px(text, size, bold=True) + 2 * pad, height_px(size)
    x = int(at[0] - width if leftward else at[0])
    y = int(at[1] - height / 2 + row * (height + 2))
    x = min(max(0, x), max(0, picture.shape[1] - width))
    y = min(max(0, y), max(0, picture.shape[0] - height))
    lay(picture, text, (x, y), size, bold=True, colour=ANGLE, paper=CASING, pad_px=pad)


_DRAWN = {"line": _line, "plumb": _plumb, "angle": _angle, "arrow": _arrow, "circle": _circle, "text": _text}
