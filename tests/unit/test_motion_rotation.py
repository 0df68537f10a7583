"""Trunk rotation from the width of the shoulder line: the posterior against the closed form, and whole clips."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cuebook.model import Track, landmark_index
from cuebook.motion import measure_motion
from cuebook.motion.rotation import (
    DEPTH_GAIN,
    GRID_DEG,
    TOWARDS_GAIN,
    TOWARDS_WIDTH,
    depth_turn,
    neutral_frames,
    shown_width,
    turn_posterior,
)
from cuebook.motion.smooth import smooth_track
from cuebook.movements import load_movement
from tests.stick_samples import stick

AZIMUTH = -45.0


def shown(turn_deg: float, camera_deg: float) -> float:
    """Width of a line turned by so much over its width unturned: cos(c - r) / cos(c)."""
    return float(np.cos(np.radians(camera_deg - turn_deg)) / np.cos(np.radians(camera_deg)))


def posterior(ratio: float, depth: float = 0.0, **options) -> tuple[float, float]:
    known = {"camera_deg": 45.0, "ratio_u": 0.03, "camera_u_deg": 0.0, "depth_gain": DEPTH_GAIN, "depth_u": 1e4,
             "prior_u": 1e4} | options  # fmt: skip
    turn, spread = turn_posterior(np.array([ratio]), np.array([depth]), **known)
    return float(turn[0]), float(spread[0])


@pytest.mark.parametrize("turn", [-30.0, -20.0, -10.0, 0.0])
def test_width_alone_gives_back_the_turn_where_only_one_fits(turn: float) -> None:
    # turned away from a camera at 45 degrees the width falls steadily: r = c - arccos(ratio cos c)
    closed = 45.0 - np.degrees(np.arccos(shown(turn, 45.0) * np.cos(np.radians(45.0))))
    assert closed == pytest.approx(turn, abs=1e-9)
    found, _ = posterior(shown(turn, 45.0), depth=DEPTH_GAIN * turn, depth_u=10.0)
    assert found == pytest.approx(turn, abs=1.5)


def test_its_spread_is_that_of_the_slope() -> None:
    # du = ratio_u |cos c / sin(c - r)| for a turn of -20 from a camera at 45 degrees
    expected = np.degrees(0.03 * np.cos(np.radians(45.0)) / np.sin(np.radians(65.0)))
    _, spread = posterior(shown(-20.0, 45.0), depth=DEPTH_GAIN * -20.0, depth_u=8.0)
    assert spread == pytest.approx(expected, rel=0.25)


def test_without_width_and_depth_the_prior_is_left() -> None:
    turn, spread = posterior(1.0, ratio_u=1e3, prior_u=20.0)
    assert turn == pytest.approx(0.0, abs=0.5)
    assert spread == pytest.approx(20.0, rel=0.03)


def test_two_turns_of_one_width_are_told_apart_by_the_depth() -> None:
    # at a camera of 30 degrees, turns of 10 and of 50 show the same width
    assert shown(10.0, 30.0) == pytest.approx(shown(50.0, 30.0))
    options = {"camera_deg": 30.0, "prior_u": 35.0, "depth_u": 3.0}
    small, _ = posterior(shown(10.0, 30.0), depth=DEPTH_GAIN * 10.0, **options)
    large, _ = posterior(shown(50.0, 30.0), depth=DEPTH_GAIN * 50.0, **options)
    assert small < 22.0
    assert large > 34.0


def test_an_unsure_camera_makes_an_unsure_turn() -> None:
    sharp = posterior(shown(-25.0, 45.0), prior_u=35.0)[1]
    vague = posterior(shown(-25.0, 45.0), prior_u=35.0, camera_u_deg=12.0)[1]
    assert vague > sharp
    assert np.all(np.diff(GRID_DEG) == 2.0)


def test_mirror_pictures_turn_the_other_way() -> None:
    one = posterior(0.8, depth=-8.0, depth_u=5.0, prior_u=35.0)
    other = posterior(0.8, depth=8.0, depth_u=5.0, prior_u=35.0, camera_deg=-45.0)
    assert one[0] == pytest.approx(-other[0], abs=1e-9)
    assert one[1] == pytest.approx(other[1], abs=1e-9)


@pytest.mark.parametrize("turn", [15.0, 30.0])
def test_what_the_model_hides_of_a_turn_towards_the_camera_is_given_back(turn: float) -> None:
    options = {"depth_u": 3.0, "prior_u": 35.0, "towards": True}
    shrunk = 1.0 + TOWARDS_WIDTH * (shown(turn, 45.0) - 1.0)
    assert posterior(shrunk, depth=TOWARDS_GAIN * turn, **options)[0] == pytest.approx(turn, abs=3.0)
    # a turn away is read as before
    away = posterior(shown(-turn, 45.0), depth=DEPTH_GAIN * -turn, **options)[0]
    assert away == pytest.approx(-turn, abs=2.0)


def test_missing_widths_stay_missing() -> None:
    assert np.isnan(posterior(np.nan)[0])


def with_model_depth(track: Track) -> Track:
    """Return a track whose own 3D shows only the share of every turn that a pose model shows."""
    world = np.array(track.world_m)
    left, right, left_hip, right_hip = (
        landmark_index(n) for n in ("left_shoulder", "right_shoulder", "left_hip", "right_hip")
    )
    hips = world[:, left_hip] - world[:, right_hip]
    turned = np.arctan2(hips[:, 2], hips[:, 0]) + DEPTH_GAIN * np.radians(depth_turn(smooth_track(track)))
    middle, half = (world[:, left] + world[:, right]) / 2, np.linalg.norm(world[:, left] - world[:, right], axis=1) / 2
    line = half[:, None] * np.stack([np.cos(turned), np.zeros(len(turned)), np.sin(turned)], axis=1)
    world[:, left], world[:, right] = middle + line, middle - line
    return replace(track, world_m=world)


def test_a_drawn_turn_has_its_sign_its_size_and_a_stillness_before() -> None:
    drawn, truth = stick("standing-trunk-rotation", AZIMUTH)
    track = with_model_depth(drawn)
    signal = measure_motion(track, load_movement("standing-trunk-rotation")).signals["trunk_rotation"]
    for true in truth.repetitions:
        k = int(np.argmin(np.abs(track.times_s - true["turn_s"])))
        expected = true["at_turn_deg"]["trunk_rotation"]
        assert np.sign(signal.values[k]) == np.sign(expected)
        assert abs(signal.values[k] - expected) <= 3.0 * signal.sigma[k]
        assert signal.sigma[k] < 15.0
    still = track.times_s < 0.8
    assert np.abs(signal.values[still]).max() < 8.0
    assert signal.method == "shoulder width"


def test_the_neutral_stance_is_before_the_first_turn_and_after_the_last() -> None:
    track, truth = stick("standing-trunk-rotation", AZIMUTH)
    smooth = smooth_track(track)
    quiet = neutral_frames(track, smooth, shown_width(smooth, "shoulder"))
    first, last = truth.repetitions[0]["edges_s"][0], truth.repetitions[-1]["edges_s"][3]
    moving = (track.times_s > first + 0.3) & (track.times_s < last - 0.3)
    assert quiet.sum() >= 5
    assert not (quiet & moving).any()


def test_perfect_depth_shows_the_turn_itself() -> None:
    track, truth = stick("standing-trunk-rotation", AZIMUTH)
    turned = depth_turn(smooth_track(track))
    for true in truth.repetitions:
        k = int(np.argmin(np.abs(track.times_s - true["turn_s"])))
        assert turned[k] == pytest.approx(true["at_turn_deg"]["trunk_rotation"], abs=6.0)


@pytest.mark.parametrize(
    ("movement", "azimuth", "words"),
    [("standing-trunk-rotation", 90.0, "cannot be seen turning"), ("push-up", 80.0, "cannot be seen turning"),
     ("side-lying-thoracic-rotation", -80.0, "cover each other")],
)  # fmt: skip
def test_where_it_cannot_be_seen_it_says_why_and_where_to_film(movement: str, azimuth: float, words: str) -> None:
    track, _ = stick(movement, azimuth)
    signal = measure_motion(track, load_movement(movement)).signals["trunk_rotation"]
    assert not signal.measured.any()
    assert words in str(signal.why_not)
    assert signal.refilm
