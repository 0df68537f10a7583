"""Undoing a mirror picture."""

from __future__ import annotations

import numpy as np

from cuebook.motion import measure_motion, unmirrored
from cuebook.movements import load_movement
from tests.stick_samples import stick


def test_twice_is_nothing() -> None:
    track, _ = stick("squat", 80.0)
    twice = unmirrored(unmirrored(track))
    np.testing.assert_allclose(twice.xy_px, track.xy_px, atol=1e-9)
    np.testing.assert_allclose(twice.world_m, track.world_m, atol=1e-12)
    np.testing.assert_array_equal(twice.score, track.score)


def test_names_change_sides_and_heights_stay() -> None:
    track, _ = stick("squat", 30.0)
    turned = unmirrored(track)
    np.testing.assert_array_equal(turned.xy("left_knee")[:, 1], track.xy("right_knee")[:, 1])
    np.testing.assert_allclose(turned.xy("left_knee")[:, 0], track.width_px - 1 - track.xy("right_knee")[:, 0])
    np.testing.assert_array_equal(turned.world("left_ankle")[:, 0], -track.world("right_ankle")[:, 0])
    np.testing.assert_array_equal(turned.xy("nose")[:, 0], track.width_px - 1 - track.xy("nose")[:, 0])


def test_a_mirrored_clip_read_as_such_shows_the_side_that_worked() -> None:
    straight, _ = stick("split-squat", 80.0, side="left")
    mirrored, _ = stick("split-squat", 80.0, side="left", mirrored=True)
    movement = load_movement("split-squat")
    plain = measure_motion(mirrored, movement)
    undone = measure_motion(unmirrored(mirrored), movement)
    assert plain.view.facing == "right"
    assert undone.view.facing == "left"
    knee = "left_knee_flexion"
    expected = measure_motion(straight, movement).signals[knee].values
    np.testing.assert_allclose(undone.signals[knee].values, expected, atol=0.5)
