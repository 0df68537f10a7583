"""What is drawn on frames: lines, angle, text; compared as meaning, not pixel by pixel."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cuebook.model import LANDMARKS, landmark_index
from cuebook.report import angle_mark, lettering, moment, overlay, placement, skeleton
from cuebook.report.band import Band
from cuebook.report.choice import signal_of

SIZE = (360, 640)


def _frame(review, place):
    """One untouched frame."""
    return next(picture for _, picture in review.clip.frames(start=place, stop=place + 1))


def _marks(review):
    return skeleton.landmarks_at(review.track, review.clip.times_s, SIZE)


def _at(review, time_s):
    return int(np.argmin(np.abs(review.clip.times_s - time_s)))


def _near(picture, point, colour, reach=9):
    """Whether a colour is found close to a point."""
    x, y = (round(v) for v in point)
    part = picture[max(0, y - reach) : y + reach + 1, max(0, x - reach) : x + reach + 1].astype(int)
    return bool((np.abs(part - np.array(colour)).sum(axis=2) < 60).any())


def test_landmarks_are_scaled_and_interpolated_between_frames(review):
    times = review.clip.times_s
    middle = (times[:-1] + times[1:]) / 2
    half = skeleton.landmarks_at(review.track, middle, (SIZE[0] // 2, SIZE[1] // 2))
    raw = (review.track.xy_px[:-1] + review.track.xy_px[1:]) / 4
    np.testing.assert_allclose(half, raw, atol=1.5)


def test_no_lines_where_nobody_was_seen_for_a_while(review):
    xy = review.track.xy_px.copy()
    xy[20:40] = np.nan
    marks = skeleton.landmarks_at(replace(review.track, xy_px=xy), review.clip.times_s, SIZE)
    assert np.isnan(marks[24:36]).all()
    assert np.isfinite(marks[:20]).all()
    assert np.isfinite(marks[40:]).all()


def test_an_empty_track_draws_nothing(empty):
    picture = _frame(empty, 0).copy()
    before = picture.copy()
    skeleton.draw_skeleton(picture, _marks(empty)[0], near=None)
    np.testing.assert_array_equal(picture, before)


def test_the_near_side_is_stronger_than_the_far_side(review):
    marks = _marks(review)[_at(review, 4.5)]
    picture = np.zeros((SIZE[1], SIZE[0], 3), np.uint8)
    skeleton.draw_skeleton(picture, marks, near="left")
    for name in ("shoulder", "hip", "knee", "ankle"):
        assert _near(picture, marks[landmark_index(f"left_{name}")], skeleton.NEAR, reach=2)
    swapped = np.zeros_like(picture)
    skeleton.draw_skeleton(swapped, marks, near="right")
    blue = [int((np.abs(p.astype(int) - skeleton.NEAR).sum(axis=2) < 60).sum()) for p in (picture, swapped)]
    assert min(blue) > 300


def test_a_doubtful_joint_is_hollow_and_its_bones_are_dashed(review):
    marks = _marks(review)[_at(review, 4.5)]
    knee = landmark_index("left_knee")
    sure, doubt = (np.zeros((SIZE[1], SIZE[0], 3), np.uint8) for _ in range(2))
    skeleton.draw_joint(sure, marks[knee], radius_px=5, colour=skeleton.NEAR, hollow=False)
    skeleton.draw_joint(doubt, marks[knee], radius_px=5, colour=skeleton.NEAR, hollow=True)
    x, y = (round(v) for v in marks[knee])
    assert sure[y, x].sum() > 300
    assert doubt[y, x].sum() == 0
    whole, dashed = (np.zeros_like(sure) for _ in range(2))
    for picture, doubtful in ((whole, ()), (dashed, (knee,))):
        skeleton.draw_skeleton(picture, marks, near="left", doubtful=doubtful)
    hip = marks[landmark_index("left_hip")]
    along = [np.round(hip + s * (marks[knee] - hip)).astype(int) for s in np.linspace(0.15, 0.85, 60)]
    covered = [sum(np.abs(p[y, x] - np.array(skeleton.NEAR)).sum() < 90 for x, y in along) for p in (whole, dashed)]
    assert covered[0] == 60
    assert 15 < covered[1] < 50


@pytest.mark.parametrize("name", ["left_knee_flexion", "left_hip_flexion", "trunk_inclination"])
def test_the_number_stands_beside_the_joint_and_never_on_it(review, name):
    signal = review.motion.signals[name]
    marks = _marks(review)
    mark = angle_mark.angle_mark(signal, marks, near="left", frame_px=SIZE)
    joint = landmark_index("left_knee" if "knee" in name else "left_hip")
    for place in range(0, len(marks), 7):
        picture = np.zeros((SIZE[1], SIZE[0], 3), np.uint8)
        angle_mark.draw_angle(picture, mark, place, float(review.clip.times_s[place]))
        assert picture.any()
        x, y = (round(v) for v in marks[place, joint])
        plate = (picture == np.array(skeleton.CASING, np.uint8)).all(axis=2)
        rows = plate[max(0, y - 3) : y + 4, max(0, x - 3) : x + 4]
        assert rows.mean() < 0.6


def test_the_arc_is_as_wide_as_the_angle(review):
    """The arc runs from the lengthened thigh to the shank, so its ends lie on both rays at the same distance."""
    signal, marks = review.motion.signals["left_knee_flexion"], _marks(review)
    mark = angle_mark.angle_mark(signal, marks, near="left", frame_px=SIZE)
    for time_s in (2.5, 4.5, 16.5):
        place = _at(review, time_s)
        zero, corner, limb = mark.rays[place]
        a, b = zero - corner, limb - corner
        drawn = np.degrees(np.arccos(a @ b / np.hypot(*a) / np.hypot(*b)))
        assert drawn == pytest.approx(signal.values[place], abs=2.0)


def test_the_number_goes_to_the_side_with_room(review):
    signal, marks = review.motion.signals["left_knee_flexion"], _marks(review)
    left = marks - np.array([np.nanmin(marks[:, landmark_index("left_knee"), 0]) - 10, 0])
    right = marks + np.array([SIZE[0] - 10 - np.nanmax(marks[:, landmark_index("left_knee"), 0]), 0])
    found = [angle_mark.angle_mark(signal, m, near="left", frame_px=SIZE).toward for m in (left, right)]
    assert found == [(1, 0), (-1, 0)]


def test_beside_a_body_that_lies_level_the_number_goes_above_or_below():
    count = 5
    marks = np.full((count, 33, 2), np.nan)
    names = ("shoulder", "elbow", "wrist", "hip", "knee", "ankle", "heel", "foot_index")
    for i, name in enumerate(names):
        for side in ("left", "right"):
            marks[:, landmark_index(f"{side}_{name}")] = [60 + 62 * i, 180]
    rays = marks[:, [landmark_index(f"left_{n}") for n in ("shoulder", "hip", "knee")]]
    toward = placement.free_direction(rays, marks, gap_px=np.full(count, 20.0), plate_px=(90, 20), frame_px=(640, 360))
    assert toward in ((0, 1), (0, -1))
    hidden = placement.free_direction(
        np.full_like(rays, np.nan), marks, gap_px=np.zeros(count), plate_px=(90, 20), frame_px=(640, 360)
    )
    assert hidden in placement.DIRECTIONS


@pytest.mark.parametrize("toward", placement.DIRECTIONS)
def test_a_plate_keeps_its_gap(toward):
    x, y = placement.plate_corner(np.array([100.0, 100.0]), toward, gap_px=10.0, plate_px=(40, 20))
    expected = {(1, 0): (110, 90), (-1, 0): (50, 90), (0, -1): (80, 70), (0, 1): (80, 110)}
    assert (x, y) == expected[toward]


def test_an_angle_that_was_not_measured_is_not_written(review):
    knee = review.motion.signals["left_knee_flexion"]
    gone = replace(knee, values=np.full_like(knee.values, np.nan))
    mark = angle_mark.angle_mark(gone, _marks(review), near="left", frame_px=SIZE)
    picture = np.zeros((SIZE[1], SIZE[0], 3), np.uint8)
    angle_mark.draw_angle(picture, mark, 60, 4.0)
    assert not picture.any()
    assert angle_mark.value_at(knee, 99.0) == (None, None)


def test_a_signal_without_a_corner_is_written_at_the_chest(review):
    turned = replace(review.motion.signals["left_knee_flexion"], name="trunk_rotation")
    mark = angle_mark.angle_mark(turned, _marks(review), near="left", frame_px=SIZE)
    assert np.isfinite(mark.rays[:, 1]).all()
    assert np.isnan(mark.rays[:, 0]).all()


def test_text_is_cut_at_a_word_and_fits():
    text = "Sit down until the chair would touch you"
    short = lettering.fitted(text, 20, 200)
    assert short.endswith(" …")
    assert lettering.width_px(short, 20) <= 200
    assert lettering.fitted(text, 20, 2000) == text
    assert lettering.fitted("Unbreakable", 20, 5) == "Unbreakable"


def test_text_outside_the_picture_is_cut_off():
    picture = np.full((20, 30, 3), 200, np.uint8)
    for at in ((-10, -5), (25, 15), (100, 100), (-500, 0)):
        assert lettering.lay(picture, "abc", at, 14) > 0
    assert (picture != 200).any()


def test_the_phase_runs_against_the_prescription(review):
    found = moment.stretches(review)
    assert [s.phase for s in found[:4]] == ["eccentric", "long_hold", "concentric", "short_hold"]
    texts = [moment.running_text(review, moment.stretch_at(found, t), t) for t in (3.3, 4.5, 5.3, 6.5)]
    assert texts == ["lowering 2.1 of 3 s", "bottom pause 0.7 of 1 s", "lifting 0.3 s, fast", "top pause 0.6 s"]
    assert moment.stretch_at(found, 0.5) is None
    assert moment.stretch_at(found, 25.3).phase == "short_hold"


def test_phases_without_a_prescription_and_order_of_a_lift_first_movement(doubtful):
    stretch = moment.stretch_at(moment.stretches(doubtful), 3.3)
    assert moment.running_text(doubtful, stretch, 3.3) == "lowering 2.1 s"
    driver = replace(doubtful.movement.driver, first="concentric")
    order = moment.phase_order(replace(doubtful.movement, driver=driver))
    assert order == ("concentric", "short_hold", "eccentric", "long_hold")


def test_a_repetition_without_a_start_has_no_running_phase(review):
    first = replace(review.repetitions[0], start_s=None)
    cut = replace(review, repetitions=(first,))
    assert moment.stretches(cut) == ()
    assert moment.decided_at(cut, first) == first.end_s


def test_outcomes_are_told_after_the_way_back_and_in_words(review):
    rep = review.repetitions[3]
    assert rep.turn_s < moment.decided_at(review, rep) < rep.end_s
    lines = moment.outcome_lines(review, rep, "depth")
    assert lines == (
        "○ Depth: not met, 84° ± 4° (asked 95° or more)",
        "● Lower slowly: met, 2.6 ± 0.1 s",
        "– not measurable: knees apart",
    )
    assert moment.outcome_lines(review, rep, "lower-slowly")[0].startswith("● Lower slowly")


def test_an_outcome_waits_for_its_own_event(review):
    """The second turn comes after the way back: until then nothing is said of it, then it is named first."""
    rep = review.repetitions[0]
    late = rep.end_s - 0.3
    depth = next(v for v in review.verdicts if v.cue == "depth" and v.repetition == rep.number)
    verdicts = tuple(replace(v, at_s=late) if v.cue == "lower-slowly" else v for v in review.verdicts)
    late_review = replace(review, verdicts=verdicts)
    decided = moment.decided_at(review, rep)
    early = moment.outcome_lines(late_review, rep, "depth", time_s=decided + 0.1)
    assert [line[:9] for line in early] == ["● Depth: ", "– not mea"]
    after = moment.outcome_lines(late_review, rep, "depth", time_s=late + 0.1)
    assert after[0].startswith("● Lower slowly: met")
    assert moment.known_at(review, rep, depth) == decided
    band = Band(late_review, width=540, short_side=540)
    assert (band.at(decided + 0.1) != band.at(late + 0.1)).any()


def test_a_hold_in_the_second_part_is_told_once_it_is_over(review):
    rep = review.repetitions[0]
    cue = replace(review.movement.cues[1], measure="inverted_v_hold_s")
    movement = replace(review.movement, cues=(review.movement.cues[0], cue))
    held = next(v for v in review.verdicts if v.cue == cue.name and v.repetition == rep.number)
    middle = moment.decided_at(review, rep) + 1.0
    held = replace(held, at_s=middle, value=1.4)
    assert moment.known_at(replace(review, movement=movement), rep, held) == pytest.approx(middle + 0.7)


def test_a_repetition_that_does_not_count_says_so(review):
    rep = replace(review.repetitions[0], complete=False, counted=False)
    assert moment.outcome_lines(review, rep, None)[0] == "not counted: not complete"
    other = replace(review.repetitions[0], counted=False)
    assert moment.outcome_lines(review, other, None)[0] == "not counted: other side"


@pytest.mark.parametrize(("width", "short"), [(360, 360), (640, 360), (200, 200)])
def test_the_band_is_redrawn_only_when_its_text_changes(review, width, short):
    band = Band(review, width=width, short_side=short)
    first = band.at(3.31)
    assert first.shape == (band.height, width, 3)
    assert band.height % 2 == 0
    assert band.at(3.33) is first
    assert (band.at(3.5) != first).any()
    assert (first.mean(axis=2) < 90).any()


def test_the_band_of_an_empty_clip_says_how_to_film(empty):
    band = Band(empty, width=540, short_side=540)
    assert band.at(0.0) is band.at(10.0)
    assert (band.at(0.0) < 90).any()


def test_the_band_names_what_is_hard_to_see(doubtful):
    band = Band(doubtful, width=540, short_side=540)
    assert moment.doubt_text(doubtful, 4.5) == "hard to see here: left leg"
    assert moment.doubt_text(doubtful, 6.5) is None
    assert (band.at(4.5) != band.at(6.5)).any()


@pytest.mark.parametrize(("width", "height"), [(360, 640), (640, 360), (200, 200)])
def test_an_overlay_leaves_the_picture_above_the_band(make_review, width, height):
    review = make_review(width=width, height=height, doubtful=True)
    drawing = overlay.Overlay(review, review.clip.times_s, width=width, height=height)
    place = _at(review, 4.5)
    frame = _frame(review, place)
    kept = frame.copy()
    out = drawing.draw(frame, place)
    np.testing.assert_array_equal(frame, kept)
    assert out.shape == (drawing.height, width, 3)
    changed = (out[:height] != frame).any(axis=2)
    assert 0.002 < changed.mean() < 0.2
    knee = skeleton.landmarks_at(review.track, review.clip.times_s, (width, height))[place, landmark_index("left_knee")]
    assert _near(out, knee, angle_mark.ANGLE, reach=60)
    np.testing.assert_array_equal(out[height:], Band(review, width=width, short_side=min(width, height)).at(4.5))


def test_doubts_name_their_landmarks(doubtful):
    named = {LANDMARKS[i] for i in overlay.doubtful_at(doubtful, 4.5)}
    assert named == {"left_knee", "left_ankle", "left_heel", "left_foot_index"}
    assert overlay.doubtful_at(doubtful, 8.0) == frozenset()


def test_near_side_follows_the_view(review, empty):
    assert overlay.near_side(review) == "left"
    assert overlay.near_side(empty) is None
    assert signal_of(review, None).name == "left_knee_flexion"


def test_the_second_part_shows_the_angle_it_is_judged_on(review, monkeypatch):
    drawn = []
    monkeypatch.setattr(overlay, "draw_angle", lambda _picture, mark, *_place: drawn.append(mark.signal.name))
    hip = replace(review.movement.cues[2], measure="hip_flexion", event="second_turn")
    judged = tuple(replace(v, cue=hip.name) for v in review.verdicts if v.cue == "depth")
    movement = replace(review.movement, cues=(*review.movement.cues[:2], hip))
    others = tuple(v for v in review.verdicts if v.cue != hip.name)
    two_parts = replace(review, movement=movement, verdicts=(*others, *judged))
    drawing = overlay.Overlay(two_parts, review.clip.times_s, width=SIZE[0], height=SIZE[1])
    first = review.repetitions[0]
    for time_s in (first.turn_s, first.end_s - 0.2):
        drawing.draw(_frame(review, _at(review, time_s)), _at(review, time_s))
    assert drawn == ["left_knee_flexion", "left_hip_flexion"]


def test_the_arc_moves_to_the_side_that_works(in_turn, monkeypatch):
    drawn = []
    monkeypatch.setattr(overlay, "draw_angle", lambda _picture, mark, *_place: drawn.append(mark.signal.name))
    drawing = overlay.Overlay(in_turn, in_turn.clip.times_s, width=SIZE[0], height=SIZE[1])
    for time_s in (0.2, *(r.turn_s for r in in_turn.repetitions)):
        place = _at(in_turn, time_s)
        drawing.draw(_frame(in_turn, place), place)
    left, right = "left_knee_flexion", "right_knee_flexion"
    assert drawn == [left, left, right, left, right]
