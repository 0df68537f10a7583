"""A mark at a free place hangs on its joint by an offset in trunk lengths, so it moves and grows with the athlete."""

from __future__ import annotations

import numpy as np
import pytest

from cuebook.errors import ModelError
from cuebook.model import LANDMARKS, Mark
from cuebook.report.angle_mark import ANGLE
from cuebook.report.marks import draw_marks
from tests.report_samples import make_review

TRUNK_PX = 100.0


def athlete(knee: tuple[float, float], trunk_px: float = TRUNK_PX) -> np.ndarray:
    """Landmarks (33, 2) of somebody upright with one knee where it is wanted."""
    points = np.full((len(LANDMARKS), 2), np.nan)
    for side in ("left", "right"):
        points[LANDMARKS.index(f"{side}_shoulder")] = (200.0, 100.0)
        points[LANDMARKS.index(f"{side}_hip")] = (200.0, 100.0 + trunk_px)
    points[LANDMARKS.index("left_knee")] = knee
    return points


def drawn(points: np.ndarray, mark: Mark) -> np.ndarray:
    """Where a mark's light pixels lie, (N, 2), x and y."""
    picture = np.full((500, 500, 3), 90, np.uint8)
    draw_marks(picture, points, [mark], make_review())
    y, x = np.nonzero((np.abs(picture.astype(int) - np.array(ANGLE)).max(axis=2)) < 12)
    return np.stack([x, y], axis=1)


def test_a_circle_lies_at_its_free_place_and_moves_with_the_joint() -> None:
    circle = Mark(id="m", kind="circle", at_s=1.0, joints=("left_knee",), to=(0.5, -0.3), size=0.2)
    for knee, trunk in (((250.0, 300.0), 100.0), ((180.0, 330.0), 100.0), ((250.0, 300.0), 140.0)):
        found = drawn(athlete(knee, trunk), circle)
        centre = (found.max(axis=0) + found.min(axis=0)) / 2
        np.testing.assert_allclose(centre, [knee[0] + 0.5 * trunk, knee[1] - 0.3 * trunk], atol=2.0)
        assert np.ptp(found[:, 0]) == pytest.approx(2 * 0.2 * trunk, abs=5)


def test_an_arrow_ends_at_its_free_place() -> None:
    arrow = Mark(id="m", kind="arrow", at_s=1.0, joints=("left_knee",), to=(1.2, 0.0))
    found = drawn(athlete((250.0, 300.0)), arrow)
    assert found[:, 0].max() == pytest.approx(250 + 120, abs=3)
    assert found[:, 0].min() == pytest.approx(250, abs=3)


def test_a_free_place_far_outside_is_refused() -> None:
    with pytest.raises(ModelError, match="within 6 trunk lengths"):
        Mark(id="m", kind="circle", at_s=1.0, joints=("left_knee",), to=(0.0, 7.0))


def test_a_flexion_is_drawn_from_where_the_first_limb_would_go_on() -> None:
    """A knee bent by 90 degrees: its flexion turns from the thigh's own line, dashed, to the shank; 0 is straight."""
    points = athlete((200.0, 300.0))
    points[LANDMARKS.index("left_ankle")] = (300.0, 300.0)
    angle = Mark(id="m", kind="angle", at_s=1.0, joints=("left_hip", "left_knee", "left_ankle"))
    found = drawn(points, angle)
    below, above = (found[(found[:, 0] > 215) & side] for side in (found[:, 1] > 312, found[:, 1] < 288))
    radius = np.hypot(*(below - [200.0, 300.0]).T)
    radius = radius[radius < 48.0]  # further out is the number
    assert np.median(radius) == pytest.approx(40.0, abs=3.0)
    assert len(above) == 0
    assert ((np.abs(found[:, 0] - 200) < 3) & (found[:, 1] > 330)).any(), "the dashed line goes on below the knee"
