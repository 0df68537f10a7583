"""Reading joint angles off the pure side view: legs that are unshortened, arms that push, a foot on a box."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cuebook.model import landmark_index
from cuebook.motion import measure_motion
from cuebook.motion.folding import arm_fold_deg
from cuebook.motion.geometry import bend_deg
from cuebook.motion.joints import KNEES_OUT_DEG, raw_angle
from cuebook.motion.smooth import smooth_track
from cuebook.motion.stance import raised_leg
from cuebook.movements import load_movement
from cuebook.synthetic import Camera, ClipSpec, landmarks
from tests.stick_samples import stick


def picture_bend(smooth, side: str, *parts: str) -> np.ndarray:
    return np.abs(bend_deg(*(smooth.xy(landmark_index(f"{side}_{p}")) for p in parts)))


@pytest.mark.parametrize("azimuth", [60.0, 70.0, 110.0, 120.0])
@pytest.mark.parametrize("joint", ["knee_flexion", "hip_flexion"])
def test_a_leg_off_the_side_view_is_read_nearer_to_the_truth_than_the_picture_shows_it(
    azimuth: float, joint: str
) -> None:
    """The figure's true angles are the reference, at the deepest point, where shortening costs most."""
    track, truth = stick("squat", azimuth, reps=1)
    smooth = smooth_track(track)
    turn = truth.repetitions[0]["turn_s"]
    name = f"left_{joint.replace('hip_flexion', 'hip_included')}"
    true = np.interp(turn, truth.times_s, truth.angles_deg[name])
    parts = ("hip", "knee", "ankle") if joint == "knee_flexion" else ("shoulder", "hip", "knee")
    read = raw_angle(smooth, joint, "left", hand=-1.0, azimuth_deg=azimuth, outward_deg=KNEES_OUT_DEG).plane
    miss = abs(np.interp(turn, track.times_s, read) - true)
    plain = abs(np.interp(turn, track.times_s, picture_bend(smooth, "left", *parts)) - true)
    assert miss < max(0.8 * plain, 7.0)


def test_in_the_pure_side_view_nothing_is_stretched_but_for_the_turned_out_knee() -> None:
    track, _ = stick("squat", 90.0, reps=1)
    smooth = smooth_track(track)
    read = raw_angle(smooth, "knee_flexion", "left", hand=-1.0, azimuth_deg=90.0, outward_deg=KNEES_OUT_DEG).plane
    np.testing.assert_allclose(read, picture_bend(smooth, "left", "hip", "knee", "ankle"), atol=1e-6)


@pytest.mark.parametrize("azimuth", [70.0, 90.0, 110.0, 125.0])
def test_a_pushing_elbow_is_read_from_the_arm_that_gets_shorter(azimuth: float) -> None:
    track, truth = stick("push-up", azimuth, reps=1)
    smooth = smooth_track(track)
    turn = truth.repetitions[0]["turn_s"]
    true = np.interp(turn, truth.times_s, truth.angles_deg["left_elbow_flexion"])
    read = arm_fold_deg(smooth, "left", picture_bend(smooth, "left", "shoulder", "elbow", "wrist"))
    assert np.interp(turn, track.times_s, read) == pytest.approx(true, abs=9.0)
    assert np.median(read[:10]) < 25.0


def test_bent_arms_at_the_top_do_not_read_straight() -> None:
    track, truth = stick("push-up", 90.0, reps=2, faults=("bent_arms",))
    smooth = smooth_track(track)
    read = arm_fold_deg(smooth, "left", picture_bend(smooth, "left", "shoulder", "elbow", "wrist"))
    true = np.interp(track.times_s, truth.times_s, truth.angles_deg["left_elbow_flexion"])
    inside = np.interp(track.times_s, truth.times_s, truth.in_set.astype(float)) > 0.99
    top = inside & (true < np.percentile(true[inside], 20))
    assert true[top].min() > 20.0
    assert np.median(read[top]) == pytest.approx(np.median(true[top]), abs=12.0)


def test_a_foot_on_a_box_is_found_and_two_feet_on_the_floor_are_not() -> None:
    box, truth = stick("rear-foot-elevated-split-squat-with-rotation", 40.0)
    assert raised_leg(box) == {"left": "right", "right": "left"}[truth.spec.side]
    for movement in ("squat", "split-squat", "standing-knee-raise"):
        assert raised_leg(stick(movement, 60.0)[0]) is None


@pytest.mark.parametrize("azimuth", [-32.0, -20.0, 20.0, 32.0])
@pytest.mark.parametrize("dragged", [0.0, 0.06])
def test_a_straight_leg_put_aside_is_never_surely_bent(azimuth: float, dragged: float) -> None:
    """Drawn lunges off the front, the hip mark slid along the leg: the true knee is at 5 degrees, the limit is 15."""
    spec = ClipSpec(name="lunge", body="ash", movement="lateral-lunge", side="left", reps=2, seed=3,
                    camera=Camera(azimuth_deg=azimuth, height_m=1.1))  # fmt: skip
    track, truth = landmarks(spec)
    xy = track.xy_px.copy()
    hip, ankle = landmark_index("right_hip"), landmark_index("right_ankle")
    aside = np.interp(track.times_s, truth.times_s, truth.angles_deg["left_knee_flexion"]) / 100.0
    xy[:, hip] += dragged * np.clip(aside, 0.0, 1.0)[:, None] * (xy[:, ankle] - xy[:, hip])
    motion = measure_motion(replace(track, xy_px=xy), load_movement("lateral-lunge"))
    signal = motion.signals["right_knee_flexion"]
    at = [int(np.argmin(np.abs(track.times_s - r["turn_s"]))) for r in truth.repetitions]
    surely_bent = signal.measured[at] & ((signal.values[at] - 15.0) / signal.sigma[at] > 1.28)
    assert not surely_bent.any()
