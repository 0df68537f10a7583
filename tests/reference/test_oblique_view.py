"""What a camera off the side, or off the front, does to angles: plane geometry, no source needed."""

from __future__ import annotations

import numpy as np
import pytest

from cuebook.motion.geometry import bend_deg, inclination_deg
from cuebook.motion.rotation import GAIN_SPREAD, turn_posterior

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
    flat = np.array([np.cos(np.radians(yaw)), 1.0])  # horizontal lengths shrink, upright ones do not
    flexion = abs(bend_deg(a * flat, (0.0, 0.0), c * flat))
    assert 180.0 - flexion == pytest.approx(seen, abs=0.005)


@pytest.mark.parametrize(("yaw", "seen"), [(10, 44.561451), (20, 43.219179), (30, 40.893395), (45, 35.26439)])
def test_a_lean_of_45_degrees_seen_obliquely(yaw: float, seen: float) -> None:
    top = (np.cos(np.radians(yaw)), -1.0)
    assert inclination_deg((0.0, 0.0), top) == pytest.approx(seen, abs=5e-7)


def _turn(ratio: float, depth: float, *, camera: float = 0.0, ratio_u: float = 0.01, depth_u: float = 12.0):
    """Turn and its uncertainty from one width, with a depth that is right but weak, and no opinion beforehand."""
    mean, spread = turn_posterior(
        np.array([ratio]),
        np.array([depth]),
        camera_deg=camera,
        ratio_u=ratio_u,
        camera_u_deg=0.0,
        depth_gain=1.0,
        depth_u=depth_u,
        prior_u=1e6,
    )
    return float(mean[0]), float(spread[0])


@pytest.mark.parametrize(("ratio", "turn"), [(0.9, 25.841933), (0.866, 30.002911), (0.707, 45.008652), (0.5, 60.0)])
@pytest.mark.parametrize("sign", [-1.0, 1.0])
def test_turn_from_the_shoulders_width_seen_from_the_front(ratio: float, turn: float, sign: float) -> None:
    seen, _ = _turn(ratio, sign * turn)
    assert seen == pytest.approx(sign * turn, abs=0.3)


F1 = [(30.0, 0.03, 3.44), (30.0, 0.05, 5.73), (45.0, 0.03, 2.43), (45.0, 0.05, 4.05)]


@pytest.mark.parametrize(("turn", "ratio_u", "u"), F1)
def test_what_a_ratio_is_worth_in_degrees_f1(turn: float, ratio_u: float, u: float) -> None:
    # u(turn) = u(ratio) / sin(turn); joined with a depth of 12 degrees, and of its share's spread, by inverse variances
    assert np.degrees(ratio_u / np.sin(np.radians(turn))) == pytest.approx(u, abs=0.005)
    _, spread = _turn(np.cos(np.radians(turn)), turn, ratio_u=ratio_u)
    assert spread == pytest.approx(1.0 / np.hypot(1.0 / u, 1.0 / np.hypot(12.0, GAIN_SPREAD * turn)), rel=0.12)


def test_below_15_degrees_the_width_from_the_front_says_next_to_nothing_f1() -> None:
    _, alone = _turn(1.0, 0.0, ratio_u=0.05, depth_u=1e6)
    assert alone > 8.0
    _, joined = _turn(np.cos(np.radians(10.0)), 10.0, ratio_u=0.05, depth_u=6.0)
    assert 4.0 < joined < 6.5


@pytest.mark.parametrize("camera", [-60.0, -40.0, -20.0, 20.0, 40.0, 60.0])
@pytest.mark.parametrize("size", [0.0, 10.0, 25.0])
def test_turning_away_from_the_camera_is_read_from_the_width(camera: float, size: float) -> None:
    away = -np.sign(camera) * size
    ratio = np.cos(np.radians(camera - away)) / np.cos(np.radians(camera))
    seen, _ = _turn(float(ratio), away, camera=camera)
    assert seen == pytest.approx(away, abs=1.5)


def test_an_unsure_camera_makes_the_turn_unsure() -> None:
    values = [
        float(
            turn_posterior(
                np.array([0.75]),
                np.array([-15.0]),
                camera_deg=40.0,
                ratio_u=0.02,
                camera_u_deg=u,
                depth_gain=1.0,
                depth_u=30.0,
                prior_u=1e6,
            )[1][0]
        )
        for u in (0.0, 4.0, 8.0)
    ]
    assert values[0] < values[1] < values[2]
