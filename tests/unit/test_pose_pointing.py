"""Points named on the command line: for the only clip, or for one among several."""

from __future__ import annotations

import pytest

from cuebook.errors import PoseError
from cuebook.pose import points_of_clips

CLIPS = ["Maud/front room.mp4", "Fenn/front room.mp4", "Fenn/IMG_0042.MP4"]


def test_a_point_without_a_name_is_for_the_only_clip() -> None:
    assert points_of_clips(["320,400@2.5"], ["squat.mp4"]) == {"squat.mp4": "320,400@2.5"}
    assert points_of_clips([], CLIPS) == {}


def test_a_clip_is_named_by_its_path_or_its_last_part_in_any_case() -> None:
    said = ["fenn\\front room.mp4=1,2@3", "img_0042.mp4 = 4,5@6"]
    assert points_of_clips(said, CLIPS) == {"Fenn/front room.mp4": "1,2@3", "Fenn/IMG_0042.MP4": "4,5@6"}


@pytest.mark.parametrize(
    ("said", "names", "says"),
    [
        (["320,400"], ["a.mp4"], "is no point"),
        (["320,400@1"], ["a.mp4", "b.mp4"], "in which of 2 clips: write a.mp4=320,400@1"),
        (["c.mp4=320,400@1"], ["a.mp4"], "There is no clip c.mp4"),
        (["front room.mp4=1,2@3"], CLIPS, "2 clips are called front room.mp4"),
        (["a.mp4=1,2@3", "A.MP4=4,5@6"], ["a.mp4", "b.mp4"], "Two points are named for a.mp4"),
        (["1,2@3"], [], "There is no clip for the point"),
    ],
)
def test_what_cannot_be_meant_is_refused_in_a_sentence(said: list[str], names: list[str], says: str) -> None:
    with pytest.raises(PoseError, match=says):
        points_of_clips(said, names)
