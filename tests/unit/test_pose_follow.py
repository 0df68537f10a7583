"""One of two people is followed from a point on them, and refused from where the other comes too near."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from cuebook.clip import read_clip
from cuebook.errors import PoseError
from cuebook.model import Clip
from cuebook.pose import Pointed, follow_person, parse_pointed, track_pose
from tests.inbox_samples import write_take

DEMO = Path(__file__).parents[2] / "clips_demo"
RATE_HZ, HEIGHT_PX, WIDTH_PX = 10.0, 480, 270


def pictures(name: str) -> list[np.ndarray]:
    """Return four seconds of a rendered athlete who is in place."""
    return [picture for _, picture in read_clip(DEMO / f"{name}.mp4").frames(HEIGHT_PX, 90, 210, step=3)]


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Clip]:
    """Two rendered athletes: each alone, side by side, and one sliding over the other after two seconds."""
    folder = tmp_path_factory.mktemp("two")
    left, right = pictures("squat"), pictures("squat-shallow")
    beside = [np.concatenate(pair, axis=1) for pair in zip(left, right, strict=True)]
    crossing = []
    for number, picture in enumerate(beside):
        moved = int(np.clip((number - 20) / 12, 0, 1) * WIDTH_PX)
        shown = picture.copy()
        shown[:, WIDTH_PX - moved : 2 * WIDTH_PX - moved] = right[number]
        shown[:, 2 * WIDTH_PX - moved :] = right[number][:, -1:]
        crossing.append(shown)
    takes = {"left": left, "right": right, "beside": beside, "crossing": crossing}
    return {name: read_clip(write_take(folder / f"{name}.mp4", take, rate=RATE_HZ)) for name, take in takes.items()}


@pytest.mark.parametrize(("text", "point"), [("320,400@2.5", (320, 400, 2.5)), (" 12.5 , 7 @ 0 ", (12.5, 7, 0))])
def test_a_point_is_read(text: str, point: tuple[float, float, float]) -> None:
    assert parse_pointed(text) == Pointed(x_px=point[0], y_px=point[1], at_s=point[2])


@pytest.mark.parametrize("text", ["", "320,400", "left@2", "320,400@-1", "1,2,3@4"])
def test_anything_else_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(PoseError, match="such as 320,400@2"):
        parse_pointed(text)


@pytest.mark.slow
@pytest.mark.backend
@pytest.mark.parametrize(("name", "offset"), [("left", 0), ("right", WIDTH_PX)])
def test_each_of_two_is_followed_as_if_alone(two: dict[str, Clip], name: str, offset: int) -> None:
    """Truth: the same athlete in a clip without the other; 5 px are about 1.5 % of the body's 350."""
    alone = track_pose(two[name], workers=1)
    pointed = Pointed(x_px=float(np.nanmedian(alone.xy("left_hip")[18:22, 0])) + offset, y_px=240, at_s=2.0)
    track = follow_person(two["beside"], pointed)
    away = np.linalg.norm(track.xy_px - np.array([offset, 0]) - alone.xy_px, axis=2)
    assert track.found.all()
    assert track.others_seen
    assert np.median(away) < 5


@pytest.mark.slow
@pytest.mark.backend
def test_from_where_they_cross_nothing_is_followed(two: dict[str, Clip]) -> None:
    track = follow_person(two["crossing"], Pointed(x_px=1.5 * WIDTH_PX, y_px=240, at_s=1.0))
    assert track.found[:15].all()
    assert not track.found[28:].any()


@pytest.mark.slow
@pytest.mark.backend
@pytest.mark.parametrize(
    ("point", "says"),
    [((5, 5, 1), "Nobody is found at 5,5"), ((5000, 5, 1), "lies outside"), ((5, 5, 90), "lasts 3.9 s")],
)
def test_a_point_on_nobody_is_refused(two: dict[str, Clip], point: tuple[float, float, float], says: str) -> None:
    with pytest.raises(PoseError, match=says):
        follow_person(two["beside"], Pointed(x_px=point[0], y_px=point[1], at_s=point[2]))
