"""The table of what the pose model reads wrongly: how rows are found and how they are applied."""

from __future__ import annotations

import json
from importlib.resources import files

import numpy as np
import pytest

from cuebook.motion.bias import (
    AHEAD_DEG,
    FEWEST_CLIPS,
    FURTHEST_AHEAD,
    IDLE_ARM_SPREAD_DEG,
    LARGEST_CORRECTION_DEG,
    PUBLISHED_SPREAD_DEG,
    BiasRow,
    bias_row,
    corrected,
    features,
    movement_keys,
    start_weight,
    view_bin,
)
from cuebook.movements import list_movements, load_movement

SQUAT = load_movement("squat")
ROWS = json.loads(files("cuebook.motion").joinpath("bias_table.json").read_text(encoding="utf-8"))["rows"]


def row(coefficients=(0.0,) * 8, spread=(1.0, 1.0, 1.0), bodies: int = 10_000, weight: float = 1.0) -> BiasRow:
    return BiasRow(weight=weight, coefficients=np.array(coefficients), spread=np.array(spread), clips=20_000,
                   bodies=bodies)  # fmt: skip


@pytest.mark.parametrize(("off", "name"), [(0, "side"), (21.9, "side"), (22, "slant"), (42, "oblique"), (65, "across"),
                                           (90, "across")])  # fmt: skip
def test_views_fall_into_ranges(off: float, name: str) -> None:
    assert view_bin(off) == name


def test_features_are_both_readings_their_squares_their_product_and_where_the_camera_stands() -> None:
    terms = features(np.array([50.0]), np.array([40.0]), -10.0)
    np.testing.assert_allclose(terms, [[1.0, 0.5, 0.4, 0.25, 0.16, 0.2, -0.5, -0.25]])
    bounded = features(np.array([900.0]), np.array([-5.0]), 90.0)
    np.testing.assert_allclose(bounded, [[1.0, 2.0, 0.0, 4.0, 0.0, 0.0, FURTHEST_AHEAD, 2.0 * FURTHEST_AHEAD]])


def test_a_camera_ahead_of_the_side_view_changes_the_correction() -> None:
    ahead = row((0, 0, 0, 0, 0, 0, 4.0, 10.0))
    reading = np.array([50.0])
    value, _ = corrected(ahead, reading, reading, "knee_flexion", ahead_deg=AHEAD_DEG)
    assert value[0] == pytest.approx(50.0 + 4.0 + 5.0)
    value, _ = corrected(ahead, reading, reading, "knee_flexion", ahead_deg=-AHEAD_DEG)
    assert value[0] == pytest.approx(50.0 - 4.0 - 5.0)


def test_no_correction_leaves_the_weighted_reading() -> None:
    value, _ = corrected(row(weight=0.25), np.array([100.0]), np.array([80.0]), "knee_flexion")
    assert value[0] == pytest.approx(85.0)


def test_a_correction_is_added_and_bounded() -> None:
    value, _ = corrected(row((5.0, *[0] * 7)), np.array([60.0]), np.array([60.0]), "knee_flexion")
    assert value[0] == pytest.approx(65.0)
    value, _ = corrected(row((500.0, *[0] * 7)), np.array([60.0]), np.array([60.0]), "knee_flexion")
    assert value[0] == pytest.approx(60.0 + LARGEST_CORRECTION_DEG)


def test_the_spread_is_never_below_the_published_one() -> None:
    for joint, floor in PUBLISHED_SPREAD_DEG.items():
        _, spread = corrected(row(spread=(0.1,) * 3), np.array([10.0, 60.0, 110.0]), np.full(3, 60.0), joint)
        np.testing.assert_allclose(spread, floor)


def test_idle_arms_are_less_sure_than_working_ones() -> None:
    for joint, floors in IDLE_ARM_SPREAD_DEG.items():
        for ahead in (0.0, 30.0, -50.0, 80.0):
            _, spread = corrected(row(), np.array([20.0]), np.array([20.0]), joint, ahead_deg=ahead, arms_work=False)
            assert spread[0] == floors[view_bin(abs(ahead))] >= PUBLISHED_SPREAD_DEG[joint]


def test_the_spread_follows_the_angle_and_widens_with_few_bodies() -> None:
    many = corrected(row(spread=(6.0, 8.0, 10.0)), np.array([15.0, 50.0, 75.0, 100.0]), np.zeros(4), "knee_flexion")[1]
    np.testing.assert_allclose(many, [6.0, 8.0, 9.0, 10.0], rtol=1e-3)
    few = corrected(row(spread=(6.0,) * 3, bodies=4), np.array([50.0]), np.zeros(1), "knee_flexion")[1]
    assert few[0] == pytest.approx(6.0 * np.sqrt(2.0))
    by_length = corrected(row(spread=(6.0,) * 3, bodies=4), np.array([50.0]), np.zeros(1), "knee_flexion",
                          by_length=True)[1]  # fmt: skip
    assert by_length[0] == pytest.approx(6.0 * np.sqrt(1.25)), "the length is unsure beside this one"


@pytest.mark.parametrize(("bodies", "student"), [(5, 2.78), (10, 2.26), (15, 2.14), (20, 2.09)])
def test_few_bodies_widen_as_much_as_students_t(bodies: int, student: float) -> None:
    """JCGM 100:2008, table G.2: t at 95 % for n - 1 degrees of freedom, against 1.96."""
    spread = corrected(row(spread=(10.0,) * 3, bodies=bodies), np.array([50.0]), np.zeros(1), "knee_flexion")[1]
    assert spread[0] / 10.0 == pytest.approx(student / 1.96, rel=0.06)


def test_from_the_side_the_picture_decides_and_from_the_front_the_leg_that_shortens() -> None:
    assert start_weight("side", "hip_flexion") == start_weight("side", "knee_flexion") == 1.0
    assert start_weight("across", "hip_flexion") == 0.0
    assert start_weight("across", "knee_flexion", "raised") == 0.0
    assert start_weight("across", "knee_flexion") > start_weight("across", "elbow_flexion")


def test_a_movement_finds_its_own_row_then_wider_ones() -> None:
    keys = movement_keys(SQUAT)
    assert keys == ("squat", "standing-squat", "standing", "any")
    from dataclasses import replace

    own = bias_row("knee_flexion", SQUAT, "side", "near")
    wider = bias_row("knee_flexion", replace(SQUAT, name="my-own"), "side", "near")
    assert own is not None
    assert wider is not None
    assert wider.clips >= own.clips
    assert bias_row("toe_flexion", SQUAT, "side", "near") is None


def test_thin_rows_are_passed_over() -> None:
    for name in list_movements():
        for joint in PUBLISHED_SPREAD_DEG:
            for view in ("side", "slant", "oblique", "across"):
                for limb in ("near", "far", "raised"):
                    found = bias_row(joint, load_movement(name), view, limb)
                    assert found is None or found.clips >= FEWEST_CLIPS


def test_every_row_of_the_table_is_whole() -> None:
    assert len(ROWS) > 100
    for key, values in ROWS.items():
        joint, _, view, limb = key.split("/")
        assert joint in PUBLISHED_SPREAD_DEG
        assert view in ("side", "slant", "oblique", "across")
        assert limb in ("near", "far", "raised")
        assert len(values["coefficients"]) == 8
        assert 1 <= values["bodies"] <= values["clips"]
        assert values["bodies"] <= values["witnesses"] <= values["clips"]
        assert len(values["spread"]) == 3
        assert min(values["spread"]) > 0
        assert 0.0 <= values["weight"] <= 1.0
