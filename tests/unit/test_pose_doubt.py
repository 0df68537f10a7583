"""What is doubted in a track: jumps, swaps, gaps, bones that shrink in a flash, but not a good bend seen well."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cuebook.model import Track, landmark_index
from cuebook.pose import find_doubts
from cuebook.pose.doubt import stretches
from tests.stick_samples import FILMED, said, spoilt, stick

LEG = ("knee", "ankle", "heel", "foot_index")


def index(side: str, parts: tuple[str, ...]) -> list[int]:
    return [landmark_index(f"{side}_{p}") for p in parts]


def squat() -> Track:
    return stick("squat", 85.0, rate_hz=30.0)[0]


def hidden(track: Track, start_s: float, end_s: float) -> Track:
    gone = (track.times_s >= start_s) & (track.times_s < end_s)
    xy, world, score = np.array(track.xy_px), np.array(track.world_m), np.array(track.score)
    xy[gone], world[gone], score[gone] = np.nan, np.nan, np.nan
    return replace(track, xy_px=xy, world_m=world, score=score)


@pytest.mark.parametrize("movement", ["squat", "split-squat", "standing-knee-raise", "glute-bridge"])
def test_a_far_but_slow_bend_is_not_doubtful(movement: str) -> None:
    side, azimuth = FILMED[movement]
    track, _ = stick(movement, azimuth, rate_hz=30.0)
    near = "left" if side == "both" else side
    assert [d for d in find_doubts(track) if d.what == f"{near} leg"] == []


def test_a_leg_that_jumps_away_for_a_moment_is_doubted_there_and_only_there() -> None:
    track = squat()
    away = (track.times_s > 3.0) & (track.times_s < 3.3)

    def jump(xy: np.ndarray) -> None:
        xy[np.ix_(away, index("left", LEG))] += [140.0, -30.0]

    doubts = [d for d in find_doubts(spoilt(track, jump)) if d.what == "left leg"]
    assert any("jumped" in d.reason for d in doubts)
    jumped = [d for d in doubts if "jumped" in d.reason]
    assert min(d.start_s for d in jumped) == pytest.approx(3.0, abs=0.15)
    assert max(d.end_s for d in jumped) == pytest.approx(3.3, abs=0.15)
    assert set(jumped[0].landmarks) == {f"left_{p}" for p in LEG}
    assert [d for d in find_doubts(spoilt(track, jump)) if d.what == "right leg"] == []


def test_legs_that_change_places_are_doubted_on_both_sides() -> None:
    track, _ = stick("split-squat", 60.0, rate_hz=30.0)
    away = (track.times_s > 2.0) & (track.times_s < 2.4)

    def swap(xy: np.ndarray) -> None:
        left, right = np.ix_(away, index("left", LEG)), np.ix_(away, index("right", LEG))
        xy[left], xy[right] = xy[right].copy(), xy[left].copy()

    what = {d.what for d in find_doubts(spoilt(track, swap)) if "jumped" in d.reason}
    assert {"left leg", "right leg"} <= what


def test_a_body_that_leaps_is_somebody_else() -> None:
    track = squat()
    other = (track.times_s > 4.0) & (track.times_s < 5.0)

    def leap(xy: np.ndarray) -> None:
        xy[other] += [200.0, 0.0]

    leaps = [d for d in find_doubts(spoilt(track, leap)) if "leapt" in d.reason]
    assert [d.what for d in leaps] == ["whole body", "whole body"]
    assert [d.start_s for d in leaps] == pytest.approx([4.0, 5.0], abs=0.12)


def test_a_long_gap_is_said_and_a_short_one_is_bridged() -> None:
    track = squat()
    assert ("whole body", "nobody was found") in said(find_doubts(hidden(track, 3.0, 3.6)))
    assert ("whole body", "nobody was found") not in said(find_doubts(hidden(track, 3.0, 3.12)))


def test_nobody_at_all_leaves_nothing_to_doubt() -> None:
    track = squat()
    assert find_doubts(hidden(track, -1.0, 1e9)) == ()


def test_a_thigh_that_shrinks_in_a_flash_is_doubted() -> None:
    track = squat()
    stuck = (track.times_s > 3.0) & (track.times_s < 3.5)
    hip, knee = landmark_index("left_hip"), landmark_index("left_knee")

    def shrink(xy: np.ndarray) -> None:
        xy[stuck, knee] = xy[stuck, hip] + 0.55 * (xy[stuck, knee] - xy[stuck, hip])

    doubts = [d for d in find_doubts(spoilt(track, shrink)) if "shorter than it is" in d.reason]
    assert [d.what for d in doubts] == ["left leg"]
    assert doubts[0].start_s <= 3.05
    assert doubts[0].end_s >= 3.45


def test_doubts_come_in_order_of_time_and_inside_the_clip() -> None:
    track = hidden(hidden(squat(), 5.0, 5.5), 1.0, 1.5)
    doubts = find_doubts(track)
    starts = [d.start_s for d in doubts]
    assert starts == sorted(starts)
    assert all(track.times_s[0] <= d.start_s < d.end_s <= track.times_s[-1] for d in doubts)


def test_stretches_join_over_a_fifth_of_a_second_and_drop_what_is_too_short() -> None:
    track = squat()
    flags = np.zeros(len(track.times_s), bool)
    flags[30:36] = flags[40:46] = True  # 0.13 s apart at 30 a second
    flags[90] = True
    found = stretches(track, flags, what="left leg", reason="test", landmarks=("left_knee",))
    assert len(found) == 1
    assert found[0].start_s == pytest.approx(track.times_s[30] - 0.07)
    assert found[0].end_s == pytest.approx(track.times_s[45] + 0.07)
    assert stretches(track, np.zeros(len(flags), bool), what="", reason="", landmarks=()) == []
