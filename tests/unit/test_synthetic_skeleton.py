"""The jointed body: rotations, reach, and angles that hold exactly."""

import numpy as np
import pytest

from cuebook.errors import UnknownName
from cuebook.synthetic.angles import true_angles, trunk_rotation_deg
from cuebook.synthetic.bodies import body_names, load_body
from cuebook.synthetic.posture import Posture
from cuebook.synthetic.skeleton import INDEX, PARENTS, SEGMENTS, blend, frame_along, joints, reach, reach_length_m, turn


def test_turns_follow_the_right_hand():
    assert turn("z", 90.0) @ [1.0, 0.0, 0.0] == pytest.approx([0.0, 1.0, 0.0], abs=1e-12)
    assert turn("y", -90.0) @ [0.0, 0.0, -1.0] == pytest.approx([1.0, 0.0, 0.0], abs=1e-12)
    assert turn("x", 90.0) @ [0.0, 1.0, 0.0] == pytest.approx([0.0, 0.0, 1.0], abs=1e-12)


def test_blend_takes_half_the_way():
    half = blend(turn("z", [10.0]), turn("z", [70.0]), [0.5])
    assert half == pytest.approx(turn("z", [40.0]), abs=1e-9)


def test_frame_along_points_the_limb_and_keeps_it_a_rotation():
    frame = frame_along([1.0, 0.0, -1.0], [0.0, 1.0, 0.3])
    assert frame @ [0.0, 0.0, -1.0] == pytest.approx(np.array([1.0, 0.0, -1.0]) / np.sqrt(2.0))
    assert frame.T @ frame == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(frame) == pytest.approx(1.0)


@pytest.mark.parametrize(("flexion", "length"), [(0.0, 0.9), (90.0, np.sqrt(0.41)), (180.0, 0.1)])
def test_reach_length_follows_the_law_of_cosines(flexion, length):
    assert reach_length_m((0.5, 0.4), flexion) == pytest.approx(length)


def test_reach_ends_at_its_target_with_the_joint_towards_the_pole():
    start, target = np.array([[0.0, 0.0, 1.0]]), np.array([[0.2, 0.1, 0.4]])
    upper, lower = reach(start, target, (0.45, 0.42), np.array([1.0, 0.0, 0.0]), bends=1.0)
    knee = start[0] + 0.45 * (upper[0] @ [0.0, 0.0, -1.0])
    assert knee + 0.42 * (lower[0] @ [0.0, 0.0, -1.0]) == pytest.approx(target[0])
    assert knee[0] > 0.5 * (start[0, 0] + target[0, 0])


def test_reach_points_at_a_target_that_is_too_far():
    upper, lower = reach(
        np.zeros((1, 3)), np.array([[0.0, 0.0, -2.0]]), (0.4, 0.4), np.array([1.0, 0.0, 0.0]), bends=1.0
    )
    assert upper[0] @ [0.0, 0.0, -1.0] == pytest.approx([0.0, 0.0, -1.0], abs=1e-3)
    assert lower[0] @ [0.0, 0.0, -1.0] == pytest.approx([0.0, 0.0, -1.0], abs=1e-3)


def test_parents_stand_before_their_children():
    assert len(SEGMENTS) == 24
    assert all(parent < i for i, parent in enumerate(PARENTS) if i)
    assert SEGMENTS[PARENTS[INDEX["right_shank"]]] == "right_thigh"
    assert SEGMENTS[PARENTS[INDEX["left_clavicle"]]] == "spine5"


def test_bones_keep_their_length_in_any_posture():
    rig = load_body("ash").rig
    rotations = np.tile(turn("x", 25.0) @ turn("y", 40.0), (1, 24, 1, 1))
    placed = joints(rig, rotations, np.zeros((1, 3)))[0]
    for name, above in (("left_shank", "left_thigh"), ("right_hand", "right_forearm"), ("neck", "spine5")):
        now = np.linalg.norm(placed[INDEX[name]] - placed[INDEX[above]])
        assert now == pytest.approx(rig.length_m(name, above))


@pytest.mark.parametrize("angle", [0.0, 15.0, 90.0, 130.0])
def test_set_knee_and_elbow_angles_are_the_true_ones(angle):
    posture = Posture(load_body("elder").rig, 1)
    posture.trunk(turn("y", 20.0))
    for side in ("left", "right"):
        posture.arm(side, flexion_deg=40.0, elbow_deg=angle)
        posture.leg(side, turn("y", -30.0), angle)
    poses = posture.finish()
    angles = true_angles(joints(posture.rig, poses.rotations, poses.root_m))
    for side in ("left", "right"):
        assert angles[f"{side}_knee_flexion"] == pytest.approx([angle], abs=1e-4)
        assert angles[f"{side}_elbow_flexion"] == pytest.approx([angle], abs=1e-4)


@pytest.mark.parametrize("lean", [0.0, 30.0, 60.0, 90.0])
def test_trunk_rotation_does_not_depend_on_the_lean(lean):
    """The third angle of Z-X-Y stays 30 whatever the trunk's flexion (check bm-A6)."""
    posture = Posture(load_body("ash").rig, 1)
    posture.trunk(turn("y", [lean]), twist_deg=30.0)
    turned = trunk_rotation_deg(joints(posture.rig, posture.rotations, posture.root_m))
    assert turned == pytest.approx([30.0], abs=0.2)


def test_bodies_are_plausible_and_unlike_each_other():
    heights = {name: load_body(name).height_m for name in body_names()}
    assert len(heights) >= 12
    assert all(1.45 < h < 1.98 for h in heights.values())
    assert len({round(h, 3) for h in heights.values()}) == len(heights)


def test_body_weights_add_up_and_faces_are_within():
    body = load_body("yew")
    assert body.share.sum(1) == pytest.approx(1.0)
    assert body.faces.max() < len(body.vertices_m)
    assert body.marks_m.shape == (33, 3)


def test_unknown_body_names_those_that_exist():
    with pytest.raises(UnknownName, match="alder"):
        load_body("aldar")
