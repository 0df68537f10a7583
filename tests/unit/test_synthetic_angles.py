"""True angles against the worked examples of the measurement sheet."""

import numpy as np
import pytest

from cuebook.synthetic.angles import included_deg, signed_hip_deg, true_angles
from cuebook.synthetic.skeleton import INDEX


def _points(*rows):
    return [np.array([[x, y, 0.0]]) for x, y in rows]


@pytest.mark.parametrize(
    ("first", "vertex", "last", "included"),
    [
        ((0, 1), (0, 0), (1, 0), 90.0),  # bm-A1
        ((0, 1), (0, 0), (0.5, -0.8660254), 150.0),  # bm-A2
        ((0, 1), (0, 0), (0.9396926, 0.3420201), 70.0),  # bm-A3
        ((0, 1), (0, 0), (-0.1736482, -0.9848078), 170.0),  # bm-A4
    ],
)
def test_included_angles(first, vertex, last, included):
    assert included_deg(*_points(first, vertex, last)) == pytest.approx([included], abs=1e-4)


def _standing(knee_forward_deg):
    """Joints of somebody whose left thigh is swung forward; shoulders stand wider than hips."""
    placed = np.zeros((1, 24, 3))
    angle = np.radians(knee_forward_deg)
    for side, s in (("left", 1.0), ("right", -1.0)):
        thigh = [0.4 * np.sin(angle), 0.0, -0.4 * np.cos(angle)] if side == "left" else [0.0, 0.0, -0.4]
        hip = np.array([0.0, 0.1 * s, 1.0])
        placed[0, INDEX[f"{side}_thigh"]] = hip
        placed[0, INDEX[f"{side}_shank"]] = hip + thigh
        placed[0, INDEX[f"{side}_foot"]] = hip + thigh - [0.0, 0.0, 0.4]
        placed[0, INDEX[f"{side}_upper_arm"]] = [0.0, 0.2 * s, 1.5]
        placed[0, INDEX[f"{side}_forearm"]] = [0.0, 0.2 * s, 1.2]
        placed[0, INDEX[f"{side}_hand"]] = [0.0, 0.2 * s, 0.95]
    return placed


@pytest.mark.parametrize("angle", [-10.0, 0.0, 30.0, 110.0, 135.0])
def test_hip_flexion_is_signed(angle):
    """Extension is negative, as bm-A4 asks for, and wide shoulders do not add to it."""
    assert signed_hip_deg(_standing(angle), "left") == pytest.approx([angle], abs=1e-6)


def test_all_angles_of_an_upright_body():
    angles = true_angles(_standing(0.0))
    assert angles["left_knee_flexion"] == pytest.approx([0.0], abs=1e-5)
    assert angles["right_elbow_flexion"] == pytest.approx([0.0], abs=1e-5)
    assert angles["trunk_rotation"] == pytest.approx([0.0], abs=1e-9)
    assert angles["left_hip_included"] == pytest.approx([np.degrees(np.arctan2(0.1, 0.5))])


def test_trunk_rotation_is_positive_to_the_left():
    placed = _standing(0.0)
    turn = np.radians(25.0)
    for side, s in (("left", 1.0), ("right", -1.0)):
        placed[0, INDEX[f"{side}_upper_arm"]] = [-0.2 * s * np.sin(turn), 0.2 * s * np.cos(turn), 1.5]
    assert true_angles(placed)["trunk_rotation"] == pytest.approx([25.0], abs=1e-6)
