"""Joint angles against definitions and worked values.

Sources beside each check: Winter, D. A. (2009), Biomechanics and Motor Control of Human Movement, 4th ed., chapter 3
(segment angles, Table A.1); Wu et al. 2002, J Biomech 35:543-548, and 2005, J Biomech 38:981-992 (axes and the order
Z, X, Y; quoted from memory, the arithmetic is exact). Where no source stands, the value is plane geometry.
"""

from __future__ import annotations

import csv

import numpy as np
import pytest

from cuebook.motion.geometry import bend_deg, flexion_deg, frame_from, inclination_deg, included_deg, zxy_deg
from tests.reference.published import data_file


def _flipped(*point: float) -> tuple[float, float]:
    """A point with y up, as the picture has it: y down."""
    return point[0], -point[1]


@pytest.mark.parametrize(
    ("hip", "knee", "ankle", "included"),
    [((0, 1), (0, 0), (1, 0), 90.0), ((0, 1), (0, 0), (0.5, -0.8660254), 150.0)],
    ids=["A1", "A2"],
)
def test_flexion_is_what_is_missing_to_straight(hip: tuple, knee: tuple, ankle: tuple, included: float) -> None:
    assert included_deg(hip, knee, ankle) == pytest.approx(included, abs=1e-6)
    assert flexion_deg(hip, knee, ankle) == pytest.approx(180.0 - included, abs=1e-6)


def test_trunk_thigh_angle_a3() -> None:
    # shoulder above the hip, knee 20 degrees above the horizontal: 110 degrees of flexion
    assert flexion_deg((0, 1), (0, 0), (0.9396926, 0.3420201)) == pytest.approx(110.0, abs=1e-5)


def test_extension_keeps_its_sign_in_the_picture_a4() -> None:
    shoulder, hip, knee = _flipped(0, 1), _flipped(0, 0), _flipped(-0.1736482, -0.9848078)
    # facing right, the thigh 10 degrees behind the trunk's line: hip flexion -10, turning clockwise on the screen
    assert bend_deg(shoulder, hip, knee) == pytest.approx(10.0, abs=1e-5)
    assert flexion_deg(shoulder, hip, knee) == pytest.approx(10.0, abs=1e-5)
    ahead = _flipped(0.1736482, -0.9848078)
    assert bend_deg(shoulder, hip, ahead) == pytest.approx(-10.0, abs=1e-5)


def _turn(axis: str, angle_deg: float) -> np.ndarray:
    c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    return {
        "x": np.array([[1, 0, 0], [0, c, -s], [0, s, c]]),
        "y": np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]]),
        "z": np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]]),
    }[axis]


PRINTED_A5 = np.array(
    [[0.860436, 0.172987, 0.479297], [-0.107468, 0.981060, -0.161156], [-0.498097, 0.087156, 0.862730]]
)


def test_rotation_matrix_splits_into_flexion_bend_and_turn_a5() -> None:
    assert _turn("z", -10) @ _turn("x", 5) @ _turn("y", 30) == pytest.approx(PRINTED_A5, abs=5e-7)
    flexion, bend, turn = zxy_deg(PRINTED_A5)
    assert (flexion, bend, turn) == (
        pytest.approx(-10.0, abs=1e-4), pytest.approx(5.0, abs=1e-4), pytest.approx(30.0, abs=1e-4),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("lean_deg", "heading_deg"), [(0, 30.0), (30, 26.565), (45, 22.208), (60, 16.102), (90, 0.0)], ids=lambda v: str(v)
)
def test_turn_of_a_bent_trunk_is_not_its_heading_over_the_floor_a6(lean_deg: float, heading_deg: float) -> None:
    # X forward, Y up, Z right; leaning forward is a negative rotation about Z
    trunk = _turn("z", -lean_deg) @ _turn("y", 30.0)
    left, right = trunk @ [0.0, 0.0, -0.18], trunk @ [0.0, 0.0, 0.18]
    line = right - left
    assert np.degrees(np.arctan2(line[0], line[2])) == pytest.approx(heading_deg, abs=5e-4)
    pelvis = frame_from((0, 0, -0.1), (0, 0, 0.1), (0, 0, 0), (0, 1, 0))
    chest = frame_from(left, right, (0, 0, 0), trunk @ [0.0, 0.5, 0.0])
    flexion, _, turn = zxy_deg(pelvis.T @ chest)
    assert turn == pytest.approx(30.0, abs=1e-9)
    assert flexion == pytest.approx(-lean_deg, abs=1e-9)


def _winter_rows() -> list[dict[str, float]]:
    with data_file("winter_a1_excerpt.csv").open(encoding="utf-8") as file:
        return [{key: float(value) for key, value in row.items()} for row in csv.DictReader(file)]


def _knee(row: dict[str, float], *, leg_from: str) -> float:
    """Knee angle as thigh less leg, the leg drawn from the fibula head or from the knee."""
    hip, knee, ankle, top = (
        np.array(_flipped(row[f"{name}_x_cm"], row[f"{name}_y_cm"])) for name in ("hip", "knee", "ankle", leg_from)
    )
    return float(bend_deg(hip, knee, knee + ankle - top))


@pytest.mark.parametrize(("frame", "degrees"), [(28, 0.97), (1, 47.13), (7, 67.95)])
def test_knee_of_winters_subject_as_difference_of_segment_angles_a7(frame: int, degrees: float) -> None:
    row = next(r for r in _winter_rows() if r["frame"] == frame)
    assert _knee(row, leg_from="fibula") == pytest.approx(degrees, abs=0.01)


@pytest.mark.parametrize(("frame", "degrees"), [(28, 2.97), (1, 43.47), (7, 61.20)])
def test_the_same_knee_drawn_through_the_knee_marker_a8(frame: int, degrees: float) -> None:
    row = next(r for r in _winter_rows() if r["frame"] == frame)
    assert _knee(row, leg_from="knee") == pytest.approx(degrees, abs=0.01)


def test_every_frame_of_the_excerpt() -> None:
    rows = _winter_rows()
    assert len(rows) == 12
    for row in rows:
        assert _knee(row, leg_from="fibula") == pytest.approx(row["knee_flexion_winter_deg"], abs=0.01)
        hip, knee, ankle = ((row[f"{n}_x_cm"], row[f"{n}_y_cm"]) for n in ("hip", "knee", "ankle"))
        assert flexion_deg(hip, knee, ankle) == pytest.approx(row["knee_flexion_included_deg"], abs=0.01)
        # Winter measures segments from the right horizontal, we measure leans from the vertical
        lean = inclination_deg(_flipped(*knee), _flipped(*hip))
        assert 90.0 - lean == pytest.approx(row["thigh_deg"], abs=0.01)


SIDE_VIEW = {"shoulder": (430, 330), "hip": (340, 560), "knee": (520, 570), "ankle": (470, 760)}


@pytest.mark.parametrize(
    ("points", "degrees"),
    [(("shoulder", "hip", "knee"), 108.190792), (("hip", "knee", "ankle"), 101.563733)],
    ids=["hip", "knee"],
)
def test_squat_bottom_in_the_picture(points: tuple[str, ...], degrees: float) -> None:
    corner = [SIDE_VIEW[p] for p in points]
    assert flexion_deg(*corner) == pytest.approx(degrees, abs=5e-7)
    assert abs(bend_deg(*corner)) == pytest.approx(degrees, abs=5e-7)


def test_leans_in_the_picture() -> None:
    trunk = inclination_deg(SIDE_VIEW["hip"], SIDE_VIEW["shoulder"])
    shank = inclination_deg(SIDE_VIEW["ankle"], SIDE_VIEW["knee"])
    assert trunk == pytest.approx(21.370622, abs=5e-7)
    assert shank == pytest.approx(14.743563, abs=5e-7)
    thigh = 90.0 - inclination_deg(SIDE_VIEW["hip"], SIDE_VIEW["knee"])  # below the horizontal
    assert thigh == pytest.approx(-3.17983, abs=5e-6)


def test_other_picture_angles() -> None:
    assert flexion_deg((412, 300), (520, 430), (470, 590)) == pytest.approx(57.072784, abs=5e-7)
    assert abs(bend_deg((600, 500), (585, 680), (605, 860))) == pytest.approx(11.103833, abs=5e-7)
