"""Angles from points: what must not change them, and how the forms agree with each other."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cuebook.motion.geometry import (
    angle_sigma_deg,
    bend_deg,
    flexion_deg,
    frame_from,
    inclination_deg,
    included_deg,
    unit,
    zxy_deg,
)

patient = settings(deadline=None, max_examples=60)
"""A busy machine is no defect."""

coordinate = st.floats(-1000, 1000, allow_nan=False)
angle = st.floats(-180, 180, allow_nan=False)


def points(axes: int) -> st.SearchStrategy[np.ndarray]:
    """Three points (3, axes) whose segments are long enough for an angle."""
    rows = st.lists(st.lists(coordinate, min_size=axes, max_size=axes), min_size=3, max_size=3)
    return rows.map(np.array).filter(lambda p: np.linalg.norm(p[0] - p[1]) > 1 and np.linalg.norm(p[2] - p[1]) > 1)


def turned(angle_deg: float) -> np.ndarray:
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return np.array([[c, -s], [s, c]])


def apart_deg(first: float, second: float) -> float:
    """Distance of two angles on the circle."""
    return abs((first - second + 180.0) % 360.0 - 180.0)


@patient
@given(points(2), coordinate, coordinate, st.floats(0.01, 100), angle)
def test_shift_scale_and_turn_leave_a_bend_alone(p: np.ndarray, x: float, y: float, scale: float, by: float) -> None:
    moved = scale * p @ turned(by).T + [x, y]
    assert apart_deg(bend_deg(*moved), bend_deg(*p)) < 1e-5
    assert included_deg(*moved) == pytest.approx(included_deg(*p), abs=1e-5)


@patient
@given(points(3), st.floats(0.01, 100), angle, angle, angle)
def test_shift_scale_and_turn_leave_an_angle_in_space_alone(
    p: np.ndarray, scale: float, a: float, b: float, c: float
) -> None:
    rotation = zxy(a, b, c)
    moved = scale * p @ rotation.T + [3.0, -7.0, 11.0]
    assert included_deg(*moved) == pytest.approx(included_deg(*p), abs=1e-4)


@patient
@given(points(2))
def test_mirror_picture_changes_the_sign_only(p: np.ndarray) -> None:
    mirrored = p * [-1.0, 1.0]
    assert apart_deg(bend_deg(*mirrored), -bend_deg(*p)) < 1e-9
    assert flexion_deg(*mirrored) == pytest.approx(flexion_deg(*p), abs=1e-9)


@patient
@given(points(2))
def test_signed_and_unsigned_flexion_have_the_same_size(p: np.ndarray) -> None:
    assert abs(bend_deg(*p)) == pytest.approx(flexion_deg(*p), abs=2e-5)


@patient
@given(points(2))
def test_reading_a_limb_from_its_other_end_changes_the_sign_only(p: np.ndarray) -> None:
    assert apart_deg(bend_deg(*p[::-1]), -bend_deg(*p)) < 1e-9


def test_positive_bend_is_clockwise_on_the_screen() -> None:
    # y grows downwards: down, then to the left
    assert bend_deg((0, 0), (0, 1), (-1, 1)) == pytest.approx(90.0)
    assert bend_deg((0, 0), (0, 1), (1, 1)) == pytest.approx(-90.0)
    assert bend_deg((0, 0), (0, 1), (0, 2)) == 0.0


def test_many_frames_at_once_equal_one_by_one(rng_points: np.ndarray) -> None:
    together = bend_deg(*rng_points)
    single = [float(bend_deg(*rng_points[:, i])) for i in range(rng_points.shape[1])]
    assert together == pytest.approx(single)


@pytest.fixture
def rng_points() -> np.ndarray:
    return np.random.default_rng(3).normal(size=(3, 20, 2))


@patient
@given(angle)
def test_inclination_is_the_turn_from_upright(lean: float) -> None:
    top = (math.sin(math.radians(lean)), -math.cos(math.radians(lean)))
    assert apart_deg(inclination_deg((0.0, 0.0), top), lean) < 1e-9


def test_missing_points_stay_missing() -> None:
    nan = (math.nan, math.nan)
    assert math.isnan(bend_deg(nan, (0, 0), (1, 1)))
    assert math.isnan(included_deg((0, 1), (0, 0), nan))
    assert math.isnan(inclination_deg((0, 0), nan))


def test_unit_of_nothing_is_missing() -> None:
    assert np.isnan(unit([0.0, 0.0, 0.0])).all()
    assert unit([0.0, 3.0, 4.0]) == pytest.approx([0.0, 0.6, 0.8])


def zxy(a: float, b: float, g: float) -> np.ndarray:
    ca, cb, cg = (math.cos(math.radians(v)) for v in (a, b, g))
    sa, sb, sg = (math.sin(math.radians(v)) for v in (a, b, g))
    rz = np.array([[ca, -sa, 0], [sa, ca, 0], [0, 0, 1]])
    rx = np.array([[1, 0, 0], [0, cb, -sb], [0, sb, cb]])
    ry = np.array([[cg, 0, sg], [0, 1, 0], [-sg, 0, cg]])
    return rz @ rx @ ry


@patient
@given(angle, st.floats(-89, 89), angle)
def test_three_angles_come_back_from_their_matrix(a: float, b: float, g: float) -> None:
    found = zxy_deg(zxy(a, b, g))
    for wanted, got in zip((a, b, g), found, strict=True):
        assert apart_deg(got, wanted) < 1e-6


@patient
@given(st.lists(st.floats(-2, 2), min_size=12, max_size=12))
def test_body_frame_is_a_right_handed_rotation(values: list[float]) -> None:
    left, right, low, high = np.array(values).reshape(4, 3)
    across, long = right - left, high - low
    assume(np.linalg.norm(across) > 0.1 and np.linalg.norm(np.cross(across, long)) > 0.05)
    frame = frame_from(left, right, low, high)
    assert frame.T @ frame == pytest.approx(np.eye(3), abs=1e-9)
    assert np.linalg.det(frame) == pytest.approx(1.0, abs=1e-9)
    assert frame[:, 2] == pytest.approx(across / np.linalg.norm(across), abs=1e-9)
    assert frame[:, 1] @ long > 0.0


def test_body_frame_of_an_upright_body() -> None:
    frame = frame_from((0, 1, -0.2), (0, 1, 0.2), (0, 0, 0), (0, 1, 0))
    assert frame == pytest.approx(np.eye(3))


@patient
@given(st.floats(10, 500), st.floats(10, 500), st.floats(0, 180), st.floats(0.1, 5))
def test_angle_noise_grows_with_pixel_noise_and_shrinks_with_length(a: float, c: float, at: float, s: float) -> None:
    u = angle_sigma_deg(a, c, at, s)
    assert angle_sigma_deg(a, c, at, 2 * s) == pytest.approx(2 * u)
    assert angle_sigma_deg(2 * a, 2 * c, at, s) == pytest.approx(u / 2)
    assert angle_sigma_deg(c, a, at, s) == pytest.approx(u)
    assert u > 0
