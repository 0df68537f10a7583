"""The ten movements: drivers hold, feet stay, sides mirror, nothing sinks into the floor."""

import numpy as np
import pytest

from cuebook.errors import ModelError, UnknownName
from cuebook.synthetic.angles import true_angles
from cuebook.synthetic.bodies import load_body
from cuebook.synthetic.catalogue import PLANS, plan_of
from cuebook.synthetic.figures import FIGURES, Drive
from cuebook.synthetic.scenario import ClipSpec
from cuebook.synthetic.schedule import drive_at, make_schedule
from cuebook.synthetic.skeleton import INDEX, joints
from cuebook.synthetic.truth import driver_deg

_BODIES = ("ash", "elder", "larch", "yew")
_LEGS = ("left_foot", "right_foot")


def _act(movement, body, *, side=1.0, second=0.0, steps=21):
    plan = plan_of(movement)
    depth = np.linspace(0.0, 1.0, steps)
    drive = Drive(
        angle_deg=plan.start_deg + (plan.turn_deg - plan.start_deg) * depth, depth=depth, second=np.full(steps, second),
        side=np.full(steps, side), other_deg=np.full(steps, 5.0), lean_deg=np.zeros(steps),
    )  # fmt: skip
    rig = load_body(body).rig
    poses = FIGURES[movement](rig, drive)
    return joints(rig, poses.rotations, poses.root_m)


@pytest.mark.parametrize("body", _BODIES)
@pytest.mark.parametrize("movement", sorted(PLANS))
def test_driver_runs_over_its_range(movement, body):
    plan = plan_of(movement)
    driver = np.abs(driver_deg(plan, true_angles(_act(movement, body)), "left"))
    swing = abs(driver[-1] - driver[0])
    assert swing > 1.2 * plan.smallest_deg if movement != "glute-bridge" else swing > plan.smallest_deg
    assert np.isfinite(driver).all()
    steps = np.diff(driver)
    assert (steps > 0).all() if driver[-1] > driver[0] else (steps < 0).all()


@pytest.mark.parametrize(
    "movement", ["squat", "split-squat", "rear-foot-elevated-split-squat-with-rotation", "lateral-lunge"]
)
def test_knee_driver_is_exactly_what_was_asked_for(movement):
    plan = plan_of(movement)
    driver = driver_deg(plan, true_angles(_act(movement, "thorn")), "left")
    assert driver == pytest.approx(np.linspace(plan.start_deg, plan.turn_deg, len(driver)), abs=0.01)


@pytest.mark.parametrize(
    "movement", ["squat", "lateral-lunge", "standing-trunk-rotation", "glute-bridge", "push-up", "split-squat"]
)
def test_planted_feet_stay_in_place(movement):
    placed = _act(movement, "birch")
    feet = ("left_foot",) if movement == "split-squat" else _LEGS
    for foot in feet:
        path = placed[:, INDEX[foot]]
        assert np.ptp(path, axis=0).max() < 0.004


@pytest.mark.parametrize("body", _BODIES)
@pytest.mark.parametrize("movement", sorted(PLANS))
def test_no_joint_sinks_into_the_floor(movement, body):
    assert _act(movement, body)[..., 2].min() > 0.0


@pytest.mark.parametrize("movement", [m for m, p in PLANS.items() if "left" in p.sides])
def test_left_and_right_are_mirror_images(movement):
    left, right = true_angles(_act(movement, "ash", side=1.0)), true_angles(_act(movement, "ash", side=-1.0))
    for name, values in left.items():
        other = name.replace("left", "@").replace("right", "left").replace("@", "right")
        sign = -1.0 if name == "trunk_rotation" else 1.0
        assert values == pytest.approx(sign * right[other], abs=1.5)


def test_straight_legs_stay_straight():
    trailing = true_angles(_act("lateral-lunge", "maple"))["right_knee_flexion"]
    standing = true_angles(_act("standing-knee-raise", "maple"))["right_knee_flexion"]
    assert trailing == pytest.approx(np.full(21, 5.0), abs=0.05)
    assert standing.max() < 10.0


def test_bridge_ends_in_a_line_with_bent_knees():
    angles = true_angles(_act("glute-bridge", "rowan"))
    assert abs(angles["left_hip_flexion"][-1]) < 6.0
    assert angles["left_knee_flexion"][-1] == pytest.approx(93.0, abs=1.0)


def test_inverted_v_lifts_the_hips_with_straight_arms():
    flat, raised = (true_angles(_act("push-up-to-inverted-v", "alder", second=v)) for v in (0.0, 1.0))
    assert abs(flat["left_hip_flexion"][0]) < 5.0
    assert 75.0 < raised["left_hip_flexion"][0] < 110.0
    assert raised["left_elbow_flexion"][0] < 20.0
    assert raised["left_shoulder_flexion"][0] > 145.0


def test_trunk_turns_towards_the_front_leg():
    left = true_angles(_act("rear-foot-elevated-split-squat-with-rotation", "ash", side=1.0, second=1.0))
    right = true_angles(_act("rear-foot-elevated-split-squat-with-rotation", "ash", side=-1.0, second=1.0))
    assert left["trunk_rotation"][-1] == pytest.approx(30.0, abs=2.0)
    assert right["trunk_rotation"][-1] == pytest.approx(-30.0, abs=2.0)


def test_unknown_movement_and_wrong_side_are_refused():
    with pytest.raises(UnknownName, match="squat"):
        plan_of("sqat")
    with pytest.raises(ModelError, match="side 'left'"):
        ClipSpec(name="x", body="ash", movement="squat", side="left")


def test_a_stop_half_way_keeps_the_driver_still():
    from cuebook.synthetic.scenario import Change

    spec = ClipSpec(name="x", body="ash", movement="squat", side="both", reps=1, tempo=(2.0, 0.5, 1.0, 0.5),
                    changes=(Change(number=1, stop_s=1.0),))  # fmt: skip
    schedule = make_schedule(spec)
    start = schedule.planned[0].start_s
    depth = drive_at(spec, schedule, start + np.array([1.05, 1.5, 1.95, 3.0])).depth
    assert depth == pytest.approx([0.5, 0.5, 0.5, 1.0], abs=0.01)
