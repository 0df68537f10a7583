"""Quality words, each with its figure: found where it is made so, silent where it is not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cuebook.inbox.assign import Belongs
from cuebook.inbox.entries import REASONS, UNKNOWN, Facts, Finding, Known
from cuebook.inbox.framing import TILT_DEG, findings_of_pose, findings_of_view, standing_lean_deg
from cuebook.inbox.pace import beat_s
from cuebook.inbox.pictures import Looks
from cuebook.inbox.quality import findings_of_pictures, findings_of_statements
from cuebook.inbox.study import study_track
from cuebook.likeness import recognise
from cuebook.model import Track, landmark_index
from cuebook.movements import load_movement
from tests.stick_samples import clip_of, spoilt, stick

FACTS = Facts(duration_s=20.0, frames=600, width_px=720, height_px=1280, rate_hz=30.0, variable_rate=False,
              rotation_deg=0, codec="h264", slow_motion=False, capture_rate_hz=None)  # fmt: skip
LOOKS = Looks(light=0.5, bright_share=0.0, moved_share=0.01, shake_share=0.002, grid=np.zeros((12, 16, 16), np.uint8))


@pytest.fixture(scope="module")
def squat() -> Track:
    return stick("squat", 80.0, reps=3)[0]


def words(findings: list[Finding]) -> list[tuple[str, str]]:
    assert all(f.reason is None or f.reason in REASONS for f in findings)
    assert all(f.sentence.endswith((".", "?")) for f in findings)
    return [(f.word, f.weight) for f in findings]


def shifted(track: Track, *, x: float = 0.0, y: float = 0.0, size: float = 1.0, turn_deg: float = 0.0) -> Track:
    """Return the track as a camera elsewhere would see it: moved, further away, tilted about the picture's middle."""
    middle = np.array([track.width_px, track.height_px]) / 2
    cosine, sine = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))

    def change(xy: np.ndarray) -> None:
        xy[:] = (xy - middle) * size @ np.array([[cosine, sine], [-sine, cosine]]) + middle + np.array([x, y])

    return spoilt(track, change)


def test_a_good_clip_has_nothing_against_it(squat: Track) -> None:
    assert findings_of_pose(squat, person_known=False) == []
    assert findings_of_view(squat, load_movement("squat")) == []
    assert findings_of_pictures(FACTS, LOOKS, ()) == []


def test_feet_below_the_picture_are_cut_off_and_the_rest_is_judged(squat: Track) -> None:
    feet = squat.xy("left_heel")[:, 1].max()
    found = findings_of_pose(shifted(squat, y=squat.height_px - feet + 60), person_known=False)
    assert words(found) == [("feet cut off", "part")]
    assert found[0].reason == "feet_missing"
    assert found[0].value == pytest.approx(1.0, abs=0.05)


def test_hands_beside_the_picture_are_cut_off(squat: Track) -> None:
    def change(xy: np.ndarray) -> None:
        xy[:, landmark_index("left_wrist"), 0] = -20.0

    assert words(findings_of_pose(spoilt(squat, change), person_known=False)) == [("hands cut off", "part")]


def test_somebody_far_away_is_too_far(squat: Track) -> None:
    far = findings_of_pose(shifted(squat, size=0.2), person_known=False)
    assert words(far) == [("too far", "part")]


def test_a_tilted_phone_is_measured_on_somebody_who_stands(squat: Track) -> None:
    upright, tilted = standing_lean_deg(squat), standing_lean_deg(shifted(squat, turn_deg=12.0, size=0.7))
    assert upright is not None
    assert tilted is not None
    assert abs(upright) < TILT_DEG / 2
    assert tilted - upright == pytest.approx(12.0, abs=0.5)
    assert words(findings_of_pose(shifted(squat, turn_deg=12.0, size=0.7), person_known=False)) == [("tilted", "part")]


def test_nobody_stands_in_a_push_up() -> None:
    assert standing_lean_deg(stick("push-up", 80.0)[0]) is None


def test_a_second_person_is_asked_about_until_somebody_pointed(squat: Track) -> None:
    two = replace(squat, others_seen=True)
    assert words(findings_of_pose(two, person_known=False)) == [("two people", "asks")]
    assert words(findings_of_pose(two, person_known=True)) == [("two people", "note")]


@pytest.mark.parametrize(("share", "weight"), [(1.0, "note"), (0.7, "part"), (0.3, "blocks")])
def test_where_the_one_pointed_at_is_lost_beside_another_is_said(squat: Track, share: float, weight: str) -> None:
    xy, world_m = squat.xy_px.copy(), squat.world_m.copy()
    xy[int(share * len(xy)) :] = world_m[int(share * len(xy)) :] = np.nan
    found = findings_of_pose(replace(squat, xy_px=xy, world_m=world_m, others_seen=True), person_known=True)
    assert words(found) == [("two people", weight)]
    assert found[0].reason == "two_people"
    assert found[0].value == pytest.approx(share, abs=0.02)


def test_nobody_for_most_of_the_clip_is_filmed_again(squat: Track) -> None:
    gone = np.arange(len(squat.times_s)) > 0.3 * len(squat.times_s)

    def empty(values: np.ndarray) -> np.ndarray:
        out = np.array(values)
        out[gone] = np.nan
        return out

    lost = replace(squat, xy_px=empty(squat.xy_px), world_m=empty(squat.world_m), score=empty(squat.score))
    assert words(findings_of_pose(lost, person_known=False)) == [("nobody there for most of it", "blocks")]


@pytest.mark.parametrize(
    ("movement", "azimuth", "weights"),
    [("squat", 80.0, []), ("squat", 0.0, ["part"]), ("split-squat", 0.0, ["blocks"]), ("lateral-lunge", 5.0, []),
     ("push-up", 85.0, [])],
)  # fmt: skip
def test_a_view_from_which_cues_cannot_be_judged_is_named(movement: str, azimuth: float, weights: list[str]) -> None:
    found = findings_of_view(stick(movement, azimuth)[0], load_movement(movement))
    assert [f.weight for f in found] == weights
    assert all(f.reason == "wrong_view" and f.value > 20 for f in found)


@pytest.mark.parametrize(
    ("changes", "word", "weight", "reason"),
    [
        ({"light": 0.05}, "too dark", "blocks", "too_dark"),
        ({"light": 0.15}, "too dark", "part", "too_dark"),
        ({"light": 0.4, "bright_share": 0.3}, "against the light", "part", "too_dark"),
        ({"moved_share": 0.12}, "moved camera", "part", "moved_camera"),
        ({"shake_share": 0.02}, "shaky", "part", "moved_camera"),
    ],
)
def test_what_pictures_show(changes: dict, word: str, weight: str, reason: str) -> None:
    (found,) = findings_of_pictures(FACTS, replace(LOOKS, **changes), ())
    assert (found.word, found.weight, found.reason) == (word, weight, reason)
    assert found.limit is not None
    assert found.value in changes.values()


def test_what_cannot_be_told_from_the_pictures_is_not_said() -> None:
    assert findings_of_pictures(FACTS, replace(LOOKS, moved_share=None, shake_share=None), ()) == []


@pytest.mark.parametrize(("length_s", "weight"), [(1.5, "blocks"), (4.0, "part"), (200.0, "note"), (30.0, None)])
def test_length(length_s: float, weight: str | None) -> None:
    found = findings_of_pictures(replace(FACTS, duration_s=length_s), LOOKS, ())
    assert [f.weight for f in found] == ([weight] if weight else [])


def test_a_side_is_unknown_until_somebody_said_whether_it_is_mirrored() -> None:
    lunge, squat = load_movement("split-squat"), load_movement("squat")
    said = Belongs(mirrored=Known(value="no", by="answer"))
    assert words(findings_of_statements(FACTS, Belongs(), lunge)) == [("side unknown", "part")]
    assert findings_of_statements(FACTS, said, lunge) == []
    assert findings_of_statements(FACTS, Belongs(), squat) == []
    assert findings_of_statements(FACTS, Belongs(), None) == []


def test_slow_motion_that_the_camera_wrote_down_is_only_a_note() -> None:
    slow = replace(FACTS, slow_motion=True, capture_rate_hz=240.0)
    assert words(findings_of_statements(slow, Belongs(), None)) == [("slow motion", "note")]


def test_the_beat_is_the_duration_of_a_repetition() -> None:
    track, truth = stick("squat", 80.0, reps=4)
    starts = [r["start_s"] for r in truth.repetitions]
    assert beat_s(track) == pytest.approx(float(np.median(np.diff(starts))), abs=0.5)


def test_a_clip_eight_times_too_slow_looks_like_slow_motion_until_the_rate_is_known(squat: Track) -> None:
    slow = replace(squat, times_s=squat.times_s * 8)
    movement, guess = load_movement("squat"), recognise(squat)
    found = study_track(clip_of(slow), slow, guess=guess, movement=movement, belongs=Belongs()).findings
    assert words(list(found)) == [("slow motion", "part")]
    said = Belongs(capture_rate=Known(value="240", by="answer"))
    assert study_track(clip_of(slow), slow, guess=guess, movement=movement, belongs=said).findings == ()
    assert study_track(clip_of(squat), squat, guess=guess, movement=movement, belongs=Belongs()).findings == ()


def test_unknown_is_empty() -> None:
    assert not UNKNOWN
    assert Known(value="x", by="manifest")
