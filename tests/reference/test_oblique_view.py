"""What a camera off the side, or off the front, does to angles: plane geometry, no source needed."""

from __future__ import annotations

import numpy as np
import pytest

from cuebook.motion.geometry import inclination_deg, stretched_bend_deg
from cuebook.motion.rotation import turn_from_width

YAWS = (10, 20, 30, 45, 60)
BISECTOR_LEVEL = {
    60: (60.76, 63.13, 67.38, 78.46, 98.21),
    90: (90.88, 93.56, 98.21, 109.47, 126.87),
    120: (120.76, 123.04, 126.87, 135.58, 147.80),
    150: (150.44, 151.73, 153.87, 158.54, 164.74),
}
BISECTOR_UPRIGHT = {
    90: (89.12, 86.44, 81.79, 70.53, 53.13),
    120: (119.24, 116.87, 112.62, 101.54, 81.79),
    150: (149.56, 148.17, 145.62, 138.49, 123.63),
}
ONE_ARM_UPRIGHT = {
    60: (59.62, 58.43, 56.31, 50.77, 40.89),
    90: (90.0, 90.0, 90.0, 90.0, 90.0),
    120: (120.38, 121.57, 123.69, 129.23, 139.11),
    150: (150.38, 151.52, 153.43, 157.79, 163.90),
}
TABLE = [
    (start, true, yaw, seen)
    for start, rows in ((-0.5, BISECTOR_LEVEL), (90.0, BISECTOR_UPRIGHT), (None, ONE_ARM_UPRIGHT))
    for true, row in rows.items()
    for yaw, seen in zip(YAWS, row, strict=True)
]


def _direction(angle_deg: float) -> np.ndarray:
    return np.array([np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))])


def _arms(start: float | None, true: float) -> tuple[np.ndarray, np.ndarray]:
    """Both arms of an angle: bisector level, bisector upright, or one arm upright."""
    if start is None:
        return _direction(90.0), _direction(90.0 - true)
    middle = 0.0 if start < 0 else 90.0
    return _direction(middle - true / 2), _direction(middle + true / 2)


@pytest.mark.parametrize(("start", "true", "yaw", "seen"), TABLE)
def test_an_angle_seen_obliquely(start: float | None, true: float, yaw: float, seen: float) -> None:
    a, c = _arms(start, true)
    flexion = abs(stretched_bend_deg(a, (0.0, 0.0), c, factor=np.cos(np.radians(yaw))))
    assert 180.0 - flexion == pytest.approx(seen, abs=0.005)


@pytest.mark.parametrize(
    ("yaw", "seen"), [(10, 44.561451), (20, 43.219179), (30, 40.893395), (45, 35.26439)]
)
def test_a_lean_of_45_degrees_seen_obliquely(yaw: float, seen: float) -> None:
    top = (np.cos(np.radians(yaw)), -1.0)
    assert inclination_deg((0.0, 0.0), top) == pytest.approx(seen, abs=5e-7)


@pytest.mark.parametrize(("ratio", "turn"), [(0.9, 25.841933), (0.866, 30.002911), (0.707, 45.008652), (0.5, 60.0)])
def test_turn_from_the_shoulders_width_seen_from_the_front(ratio: float, turn: float) -> None:
    seen, _, _ = turn_from_width(np.array([ratio]), 0.0, np.array([False]))
    assert abs(seen[0]) == pytest.approx(turn, abs=5e-7)


F1 = [(0.9848, 9.90, 16.50), (0.9397, 5.03, 8.38), (0.8660, 3.44, 5.73), (0.7071, 2.43, 4.05)]


@pytest.mark.parametrize(("ratio", "u_for_3", "u_for_5"), F1, ids=["F1a", "F1b", "F1c", "F1d"])
def test_what_a_ratio_is_worth_in_degrees(ratio: float, u_for_3: float, u_for_5: float) -> None:
    _, per_ratio, _ = turn_from_width(np.array([ratio]), 0.0, np.array([False]))
    # the ratio is printed to four places, which near 10 degrees is worth a hundredth
    assert 0.03 * per_ratio[0] == pytest.approx(u_for_3, abs=0.03)
    assert 0.05 * per_ratio[0] == pytest.approx(u_for_5, abs=0.05)


@pytest.mark.parametrize("camera", [-60.0, -40.0, -20.0, 20.0, 40.0, 60.0])
@pytest.mark.parametrize("turn", [-25.0, -10.0, 0.0, 10.0])
def test_turn_from_width_undoes_the_projection(camera: float, turn: float) -> None:
    away = -np.sign(camera) * abs(turn)
    ratio = np.cos(np.radians(camera - away)) / np.cos(np.radians(camera))
    seen, per_ratio, per_degree = turn_from_width(np.array([ratio]), camera, np.array([False]))
    assert seen[0] == pytest.approx(away, abs=1e-9)
    step = 1e-6
    moved, _, _ = turn_from_width(np.array([ratio + step]), camera, np.array([False]))
    assert per_ratio[0] == pytest.approx(abs(moved[0] - seen[0]) / step, rel=1e-3)
    turned, _, _ = turn_from_width(np.array([ratio]), camera + step, np.array([False]))
    assert per_degree[0] == pytest.approx(abs(turned[0] - seen[0]) / step, rel=1e-3, abs=1e-3)
