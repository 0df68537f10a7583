"""Limbs that bend towards the camera: flexion from length, and what can be known of it near straight."""

from __future__ import annotations

import numpy as np
import pytest

from cuebook.model import landmark_index
from cuebook.motion import measure_motion
from cuebook.motion.folding import (
    ARM_SHOWN,
    FOLDS_DEG,
    STRAIGHT_DEG,
    STRAIGHT_TIMES,
    folded,
    leg_fold,
    put_aside,
)
from cuebook.motion.smooth import smooth_track
from cuebook.motion.stance import standing_tall
from cuebook.movements import load_movement
from tests.stick_samples import stick


def drawn(ratio: float, share: float) -> np.ndarray:
    """Flexions that a length fits, drawn by rejection: straight ones likelier beforehand, the length with its noise.

    JCGM 101:2008, propagation of distributions by Monte Carlo.
    """
    draw = np.random.default_rng(5)
    flexion = draw.uniform(0.0, FOLDS_DEG[-1], 400_000)
    chance = np.exp(-0.5 * ((ratio - np.cos(np.radians(flexion / 2.0))) / share) ** 2)
    chance *= 1.0 + (STRAIGHT_TIMES - 1.0) * np.exp(-flexion / STRAIGHT_DEG)
    return flexion[draw.random(flexion.size) < chance / chance.max()]


@pytest.mark.parametrize("ratio", [1.03, 1.0, 0.97, 0.9, 0.7])
def test_a_length_says_as_much_as_flexions_drawn_at_random_that_fit_it(ratio: float) -> None:
    fitting = drawn(ratio, 0.03)
    value, spread = folded(np.array([ratio]), np.array([0.03]))
    assert value[0] == pytest.approx(np.median(fitting), abs=1.0)
    assert spread[0] == pytest.approx(np.std(fitting), abs=1.0)


def test_far_from_straight_it_is_the_first_order_uncertainty() -> None:
    # GUM 5.1.2: d(flexion) = 2 d(ratio) / sin(flexion / 2)
    value, spread = folded(np.array([np.cos(np.radians(45.0))]), np.array([0.02]))
    assert value[0] == pytest.approx(90.0, abs=1.0)
    assert spread[0] == pytest.approx(np.degrees(2.0 * 0.02 / np.sin(np.radians(45.0))), rel=0.1)


def test_a_straight_limb_is_known_to_be_nearly_straight() -> None:
    value, spread = folded(np.array([1.0, np.nan]), np.array([0.035, 0.035]))
    assert value[0] < 14.0
    assert 6.0 < spread[0] < 13.0
    assert np.isnan(value[1])


def test_the_picture_sharpens_what_the_length_of_an_arm_leaves_open() -> None:
    ratio, share = np.array([0.99]), np.array([0.03])
    open_value, open_spread = folded(ratio, share)
    for true in (5.0, 30.0):
        value, spread = folded(ratio, share, seen=np.array([ARM_SHOWN * true]))
        assert spread[0] < open_spread[0]
        assert abs(value[0] - true) < abs(open_value[0] - true)


@pytest.mark.parametrize("azimuth", [-12.0, 0.0, 12.0])
def test_both_legs_of_a_lunge_from_the_front_are_stated_and_hold_the_truth(azimuth: float) -> None:
    track, truth = stick("lateral-lunge", azimuth, reps=2)
    motion = measure_motion(track, load_movement("lateral-lunge"))
    inside = np.interp(track.times_s, truth.times_s, truth.in_set.astype(float)) > 0.99
    for side in ("left", "right"):
        signal = motion.signals[f"{side}_knee_flexion"]
        true = np.interp(track.times_s, truth.times_s, truth.angles_deg[f"{side}_knee_flexion"])
        assert signal.measured[inside].mean() > 0.7
        error = np.abs(signal.values - true)[inside & signal.measured]
        assert np.mean(error <= 1.96 * signal.sigma[inside & signal.measured]) > 0.9


def test_the_hip_is_not_stated_from_the_front_while_a_leg_is_put_aside() -> None:
    track, _ = stick("lateral-lunge", 5.0, reps=2)
    smooth = smooth_track(track)
    standing = standing_tall(smooth)
    legs = [smooth.xy(landmark_index(f"{s}_hip")) - smooth.xy(landmark_index(f"{s}_ankle")) for s in ("left", "right")]
    aside = np.any([put_aside(leg, standing) for leg in legs], axis=0)
    motion = measure_motion(track, load_movement("lateral-lunge"))
    assert aside.any()
    for side in ("left", "right"):
        assert not motion.signals[f"{side}_hip_flexion"].measured[aside].any()


def test_without_a_frame_of_standing_nothing_is_folded() -> None:
    track, _ = stick("squat", 0.0, reps=1)
    value, spread = leg_fold(smooth_track(track), "left", np.zeros(len(track.times_s), bool))
    assert np.isnan(value).all()
    assert np.isnan(spread).all()
